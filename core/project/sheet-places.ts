/** Where a person put the parts of each sheet: kept in the project, one row a part. */
import type { PartChange, SheetChanges, SheetKind } from '../contract/sheet.ts';
import { checkHidden, checkPlace, partRule } from '../figure/sheet-parts.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { NewRow, SheetPartRow } from '../store/rows.ts';

/** What the project keeps for one sheet. */
export function readSheetChanges(store: ReadableStore, sheet: SheetKind): SheetChanges {
  return Object.fromEntries(store.rows('sheet_part', whereOf(sheet)).map((row) => [row.part, changeOf(row)]));
}

/** @throws AppError BAD_INPUT for a place off the paper, a part too small to read, or one that must not be hidden */
export function checkChanges(sheet: SheetKind, changes: SheetChanges): void {
  for (const [part, { place, hidden }] of Object.entries(changes)) {
    partRule(part);
    if (place !== null) checkPlace(part, place, sheet);
    if (hidden) checkHidden(part);
  }
}

/**
 * Keeps the changes beside those of other parts. A part neither moved nor hidden is as the template has it.
 * @throws AppError BAD_INPUT for a place off the paper, a part too small to read, or one that must not be hidden
 */
export function arrangeSheet(store: ProjectStore, sheet: SheetKind, changes: SheetChanges): void {
  checkChanges(sheet, changes);
  const before = readSheetChanges(store, sheet);
  const changed = Object.entries(changes).filter(
    ([part, change]) => JSON.stringify(before[part] ?? AS_IN_TEMPLATE) !== JSON.stringify(ordered(change)),
  );
  const [first] = changed;
  if (first === undefined) return;
  const what = changed.length === 1 ? summaryOf(...first, before) : `Arrange ${changed.length} parts`;
  store.change('sheet.arrange', `${what}: ${nameOf(sheet)}`, (tx) => {
    for (const [part, change] of changed) {
      const [row] = store.rows('sheet_part', { ...whereOf(sheet), part });
      if (row !== undefined) tx.remove('sheet_part', row.id);
      if (change.place !== null || change.hidden) tx.insert('sheet_part', rowOf(sheet, part, change));
    }
  });
}

/** Takes the changes of one part, or of all where `part` is null, off the sheet. */
export function resetSheet(store: ProjectStore, sheet: SheetKind, part: string | null): void {
  if (part !== null) partRule(part);
  const rows = store.rows('sheet_part', part === null ? whereOf(sheet) : { ...whereOf(sheet), part });
  if (rows.length === 0) return;
  const what = part === null ? 'All parts' : partRule(part).name;
  store.change('sheet.reset', `${what} as in the template: ${nameOf(sheet)}`, (tx) => {
    for (const row of rows) tx.remove('sheet_part', row.id);
  });
}

const AS_IN_TEMPLATE: PartChange = { place: null, hidden: false };

function whereOf({ template, page, orientation }: SheetKind) {
  return { template, page, orientation };
}

function nameOf({ template, page, orientation }: SheetKind): string {
  return `${template} sheet, ${page} ${orientation}`;
}

function ordered({ place, hidden }: PartChange): PartChange {
  if (place === null) return { place, hidden };
  const { page, xMm, yMm, widthMm, heightMm } = place;
  return { place: { page, xMm, yMm, widthMm, heightMm }, hidden };
}

function summaryOf(part: string, change: PartChange, before: SheetChanges): string {
  const { name } = partRule(part);
  const was = before[part] ?? AS_IN_TEMPLATE;
  if (change.hidden !== was.hidden) return `${change.hidden ? 'Hide' : 'Show'} ${name.toLowerCase()}`;
  return change.place === null ? `${name} as in the template` : `Place ${name.toLowerCase()}`;
}

function changeOf(row: SheetPartRow): PartChange {
  const { page_number: page, x_mm: xMm, y_mm: yMm, width_mm: widthMm, height_mm: heightMm } = row;
  const hidden = row.hidden === 1;
  if (page === null || xMm === null || yMm === null || widthMm === null || heightMm === null)
    return { place: null, hidden };
  return { place: { page, xMm, yMm, widthMm, heightMm }, hidden };
}

function rowOf(sheet: SheetKind, part: string, { place, hidden }: PartChange): NewRow<'sheet_part'> {
  return {
    ...whereOf(sheet),
    part,
    page_number: place?.page ?? null,
    x_mm: place?.xMm ?? null,
    y_mm: place?.yMm ?? null,
    width_mm: place?.widthMm ?? null,
    height_mm: place?.heightMm ?? null,
    hidden: hidden ? 1 : 0,
  };
}
