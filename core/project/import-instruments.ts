import type { DetectorKind, InstrumentBackground, InstrumentEntry } from '../contract/model.ts';
import type { InstrumentsReport } from '../contract/readings.ts';
import { AppError } from '../errors.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { CsvRow, TableOptions } from '../survey/csv-table.ts';
import { backgroundKey, checkWindows, entryOf, findWindow, toCells } from './instruments.ts';
import type { ColumnSpec } from './readings-table.ts';
import { FieldTable, MILLILITRES, openTable, PER_CENT_AS_SHARE, SECONDS } from './readings-table.ts';

const COLUMNS = {
  label: { names: ['instrument', 'label', 'name'] },
  detector: { names: ['detector', 'kind of detector'] },
  countsPerAlpha: { names: ['counts per alpha', 'efficiency'] },
  chamber: { names: ['chamber', 'chamber volume', 'cell volume'], units: MILLILITRES },
  line: { names: ['line', 'line volume', 'dead volume'], units: MILLILITRES },
  commonU: { names: ['common u', 'calibration u'], units: PER_CENT_AS_SHARE },
  calibrated: { names: ['calibrated', 'calibration date', 'calibrated on'] },
  certificate: { names: ['certificate', 'certificate no'] },
  gasLeft: { names: ['gas left', 'gas carried over'], units: PER_CENT_AS_SHARE },
  gasLeftU: { names: ['gas left u', 'gas carried over u'], units: PER_CENT_AS_SHARE },
  progenyLeft: { names: ['progeny left'], units: PER_CENT_AS_SHARE },
  clockOffset: { names: ['clock offset', 'clock less utc'], units: SECONDS },
  backgroundTime: { names: ['background time', 'background live'], units: SECONDS },
  backgroundCounts: { names: ['background counts'] },
  backgroundTaken: { names: ['background taken', 'background date'] },
  note: { names: ['note', 'remark'] },
} satisfies Record<string, ColumnSpec>;

type Field = keyof typeof COLUMNS;

const DETECTORS: Readonly<Record<string, Exclude<DetectorKind, 'windows'>>> = {
  alpha: 'alpha',
  'all alphas': 'alpha',
  spectrum: 'spectrum',
};

/**
 * Instruments of a table, one a row, in one change with the file. One of a label already there takes what the row
 * says; its empty cells change nothing. Rows with an error are named and left out.
 */
export function importInstruments(
  store: ProjectStore,
  path: string,
  options: TableOptions & { readonly dryRun?: boolean } = {},
): InstrumentsReport {
  const { bytes, table } = openTable(path, options);
  const fields = new FieldTable<Field>(table, COLUMNS, 'background counts', [
    'calibrated',
    'backgroundTaken',
  ]);
  fields.need('label', 'the instrument');
  const known = store.rows('instrument');
  const read = fields.rows.flatMap((source) => {
    const label = fields.text(source, 'label');
    if (label === null) {
      fields.error(source.row, 'label', 'names no instrument');
      return [];
    }
    const old = known.find((r) => r.label.toLowerCase() === label.toLowerCase());
    const before =
      old === undefined ? null : entryOf(old, store.rows('background', { instrument_id: old.id }));
    const entry = readEntry(fields, source, label, before);
    return entry === null ? [] : [{ source, id: old?.id ?? null, before, entry }];
  });
  const seen = new Set<string>();
  const good = read.filter(({ entry, source }) => {
    const key = entry.label.toLowerCase();
    if (seen.has(key)) fields.error(source.row, 'label', `'${entry.label}' stands in two rows`);
    seen.add(key);
    return !fields.hasError(source.row);
  });
  const fresh = (e: (typeof good)[number]) => {
    const old = new Set(e.before?.backgrounds.map(backgroundKey));
    return e.entry.backgrounds.filter((b) => !old.has(backgroundKey(b)));
  };
  const changed = good.filter((e) => JSON.stringify(e.before) !== JSON.stringify(e.entry));
  const report: InstrumentsReport = {
    file: table.file,
    instrumentsAdded: changed.filter((e) => e.id === null).length,
    instrumentsChanged: changed.filter((e) => e.id !== null).length,
    backgroundsAdded: changed.reduce((sum, e) => sum + fresh(e).length, 0),
    rowsKnown: good.length - changed.length,
    issues: fields.issues,
  };
  if (changed.length === 0 || options.dryRun === true) return report;
  store.change('instrument.import', `Import ${changed.length} instruments from ${table.file}`, (tx) => {
    const attachment = store.putAttachment(bytes, table.file, 'text/csv');
    for (const e of changed) {
      const cells = toCells(e.entry);
      if (e.id !== null) tx.update('instrument', e.id, cells);
      const id = e.id ?? tx.insert('instrument', cells);
      for (const b of fresh(e))
        tx.insert('background', {
          instrument_id: id,
          window: b.window,
          counts: b.counts,
          live_s: b.liveS,
          taken_utc: b.takenUtc,
          source_attachment: attachment,
          source_row: e.source.row,
        });
    }
  });
  return report;
}

function readEntry(
  fields: FieldTable<Field>,
  source: CsvRow,
  label: string,
  before: InstrumentEntry | null,
): InstrumentEntry | null {
  const word = fields.text(source, 'detector')?.toLowerCase() ?? null;
  const stated = word === null ? null : (DETECTORS[word] ?? null);
  if (word !== null && stated === null)
    return fields.error(source.row, 'detector', `'${word}' is neither alpha nor spectrum`);
  const number = (field: Field, low: number, high?: number) => fields.number(source, field, low, high);
  const chamberMl = number('chamber', Number.MIN_VALUE) ?? before?.chamberMl ?? null;
  if (chamberMl === null) return fields.error(source.row, 'chamber', `'${label}' has no chamber volume`);
  const detector = stated ?? before?.detector ?? 'alpha';
  const countsPerAlpha =
    number('countsPerAlpha', Number.MIN_VALUE, 1) ??
    (before?.detector === detector ? before.countsPerAlpha : null);
  if (countsPerAlpha === null && detector !== 'windows')
    return fields.error(
      source.row,
      'countsPerAlpha',
      `'${label}' needs its counts for each alpha, over 0 to 1`,
    );
  const entry: InstrumentEntry = {
    label: before?.label ?? label,
    detector,
    countsPerAlpha,
    windows: detector === 'windows' ? (before?.windows ?? null) : null,
    chamberMl,
    lineMl: number('line', 0) ?? before?.lineMl ?? null,
    commonURel: number('commonU', 0, 1) ?? before?.commonURel ?? null,
    calibratedOn: fields.day(source, 'calibrated') ?? before?.calibratedOn ?? null,
    certificate: fields.text(source, 'certificate') ?? before?.certificate ?? null,
    gasLeft: number('gasLeft', 0, 1) ?? before?.gasLeft ?? null,
    gasLeftU: number('gasLeftU', 0, 1) ?? before?.gasLeftU ?? null,
    progenyLeft: number('progenyLeft', 0, 1) ?? before?.progenyLeft ?? null,
    clockOffsetS: number('clockOffset', -86_400 * 366, 86_400 * 366) ?? before?.clockOffsetS ?? 0,
    note: fields.text(source, 'note') ?? before?.note ?? null,
    backgrounds: [],
  };
  const backgrounds = readBackgrounds(fields, source, entry);
  const old = before?.backgrounds ?? [];
  const oldKeys = new Set(old.map(backgroundKey));
  const all = {
    ...entry,
    backgrounds: [...old, ...backgrounds.filter((b) => !oldKeys.has(backgroundKey(b)))],
  };
  try {
    checkWindows(all);
    return all;
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    return fields.error(source.row, null, error.message);
  }
}

function readBackgrounds(
  fields: FieldTable<Field>,
  source: CsvRow,
  entry: InstrumentEntry,
): InstrumentBackground[] {
  const row = { ...toCells(entry), id: '' };
  const plainColumn = fields.column('backgroundCounts');
  const columns = [
    ...(plainColumn === undefined ? [] : [{ ...plainColumn, window: null }]),
    ...fields.windows,
  ];
  const liveS = fields.number(source, 'backgroundTime', Number.MIN_VALUE);
  const takenMs = fields.clock(source, 'backgroundTaken', null);
  return columns.flatMap((column) => {
    const counts = fields.counts(source, column);
    if (counts === null) return [];
    const window = findWindow(row, column.window);
    if (window === null) {
      fields.error(source.row, null, `column '${column.name}': '${entry.label}' has no such window`);
      return [];
    }
    if (liveS === null) {
      fields.error(source.row, 'backgroundTime', 'background counts need the time they were counted in');
      return [];
    }
    const takenUtc = takenMs === null ? null : utcText(takenMs - 1000 * entry.clockOffsetS);
    return [{ window, counts, liveS, takenUtc }];
  });
}

export function utcText(ms: number): string {
  return new Date(ms).toISOString().replace('.000Z', 'Z');
}
