import type { SheetField, SheetTexts } from '../contract/sheet.ts';
import { SHEET_FIELDS } from '../contract/sheet.ts';
import type { FigureSheet } from '../figure/figure-model.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';

const FIELD_WORDS: Record<SheetField, string> = {
  preparedBy: 'preparer',
  licenceNumber: 'licence number',
  organisation: 'organisation',
  reviewedBy: 'reviewer',
  client: 'client',
  address: 'address',
  jobNumber: 'job number',
  sheetNumber: 'sheet number',
  revision: 'revision of the sheet',
  date: 'date of the sheet',
  purpose: 'purpose',
  notes: 'notes',
};

/** People and texts that the project keeps for figure and report. */
export function readSheetTexts(store: ReadableStore): SheetTexts {
  const kept = new Map(store.rows('sheet_text').map((row) => [row.field, row.text]));
  return Object.fromEntries(
    SHEET_FIELDS.flatMap((field) => {
      const text = kept.get(field);
      return text === undefined ? [] : [[field, text]];
    }),
  );
}

/** Keeps the texts given and leaves the others; an empty one is taken away. */
export function setSheetTexts(store: ProjectStore, texts: SheetTexts): void {
  const before = readSheetTexts(store);
  const changed = SHEET_FIELDS.filter((field) => {
    const text = texts[field];
    return text !== undefined && text.trim() !== (before[field] ?? '');
  });
  if (changed.length === 0) return;
  const what = changed.map((field) => FIELD_WORDS[field]).join(', ');
  store.change('sheet.describe', `Sheet and report: ${what}`, (tx) => {
    for (const field of changed) {
      const text = (texts[field] ?? '').trim();
      const [row] = store.rows('sheet_text', { field });
      if (row === undefined) tx.insert('sheet_text', { field, text });
      else if (text === '') tx.remove('sheet_text', row.id);
      else tx.update('sheet_text', row.id, { text });
    }
  });
}

/** The texts the project keeps, and in their place those given for this one figure or report. */
export function sheetTextsOf(store: ReadableStore, given: SheetTexts): SheetTexts {
  const kept = readSheetTexts(store);
  return Object.fromEntries(
    SHEET_FIELDS.flatMap((field) => {
      const text = (given[field] ?? kept[field] ?? '').trim();
      return text === '' ? [] : [[field, text]];
    }),
  );
}

/** What the sheet prints of them beside the preparer. */
export function figureSheet(texts: SheetTexts): FigureSheet {
  const { preparedBy: _preparer, purpose: _purpose, ...sheet } = texts;
  return sheet;
}
