/** Rows of a table of counts or of an instrument's values, each in SI on UTC, before samples are found for them. */
import type { AirCorrectionChoice, FillWayName, SampleKind } from '../contract/model.ts';
import type { InstrumentRow } from '../store/rows.ts';
import type { CsvRow, CsvTable } from '../survey/csv-table.ts';
import { parseYesNo } from '../survey/parse-cell.ts';
import { type KnownCode, readCode } from '../survey/probe-code.ts';
import { findWindow } from './instruments.ts';
import type { ColumnSpec } from './readings-table.ts';
import { FieldTable, MILLILITRES, PER_CENT, PER_CENT_AS_SHARE, RADON, SECONDS } from './readings-table.ts';

const COLUMNS = {
  code: { names: ['code', 'probe code', 'sheet code', 'card code'] },
  probe: { names: ['probe', 'probe id', 'probe label', 'sample or probe', 'point', 'hole'] },
  kind: { names: ['kind', 'sample kind', 'type'] },
  ordinal: { names: ['sample', 'sample no'] },
  instrument: { names: ['instrument'] },
  background: { names: ['background'] },
  day: { names: ['date', 'day'] },
  start: { names: ['start', 'interval start', 'count start', 'start time'], units: SECONDS },
  end: { names: ['end', 'interval end', 'count end', 'end time'], units: SECONDS },
  length: { names: ['length', 'interval length', 'counting time', 'duration'], units: SECONDS },
  live: { names: ['live', 'live time'], units: SECONDS },
  window: { names: ['window'] },
  counts: { names: ['counts'] },
  radon: { names: ['radon', 'radon value', 'value'], units: RADON },
  radonU: { names: ['uncertainty', 'standard uncertainty', 'radon uncertainty', 'u'], units: RADON },
  coverage: { names: ['k', 'coverage factor'] },
  ingrowth: { names: ['ingrowth', 'ingrowth over after'], units: SECONDS },
  fillStart: { names: ['fill start', 'filled from'] },
  fillEnd: { names: ['fill end', 'filled', 'filled at', 'filled to'] },
  fillLength: { names: ['fill', 'fill time', 'fill length'], units: SECONDS },
  fillWay: { names: ['fill way', 'way of filling'] },
  transit: { names: ['transit', 'transit time', 'in syringe'], units: SECONDS },
  flush: { names: ['flush', 'flushed', 'flush time'], units: SECONDS },
  before: { names: ['before', 'sample before', 'probe before'] },
  pumped: { names: ['pumped', 'pumped volume', 'purged'], units: MILLILITRES },
  line: { names: ['line', 'line volume', 'dead volume'], units: MILLILITRES },
  soilGas: { names: ['soil gas', 'soil gas volume'], units: MILLILITRES },
  airLeft: { names: ['air left', 'residual air'], units: PER_CENT_AS_SHARE },
  tracer: { names: ['tracer', 'tracer in sample'], units: PER_CENT },
  shroud: { names: ['shroud', 'tracer under shroud'], units: PER_CENT },
  correction: { names: ['correction', 'air correction'] },
} satisfies Record<string, ColumnSpec>;

export type ReadingField = keyof typeof COLUMNS;
export type ReadingTable = FieldTable<ReadingField>;

/** What is said of a sample in any of its rows; null where it is not said. */
export interface HandlingDraft {
  readonly fillStartMs: number | null;
  readonly fillEndMs: number | null;
  readonly fillS: number | null;
  readonly fillWay: FillWayName | null;
  readonly transitS: number | null;
  readonly flushS: number | null;
  /** 'none' for a chamber known to be clean, else the label of a probe. */
  readonly before: string | null;
  readonly pumpedMl: number | null;
  readonly lineMl: number | null;
  readonly soilGasMl: number | null;
  readonly residualShare: number | null;
  readonly tracerPct: number | null;
  readonly shroudPct: number | null;
  readonly correction: AirCorrectionChoice | 'none' | null;
  readonly ingrowthS: number | null;
}

export interface ReadingDraft {
  readonly row: number;
  readonly isBackground: boolean;
  readonly label: string;
  readonly kind: SampleKind | null;
  readonly ordinal: number | null;
  /** null only for values of an instrument that the file does not name. */
  readonly instrument: InstrumentRow | null;
  /** One of the two: seconds from the end of the fill, or the time of the clock. */
  readonly start: { readonly s: number } | { readonly ms: number } | null;
  readonly lengthS: number;
  readonly liveS: number | null;
  readonly counts: readonly { readonly window: string; readonly counts: number }[];
  /** What the instrument made of the interval by itself. */
  readonly value: { readonly radonKBqPerM3: number; readonly uKBqPerM3: number | null } | null;
  readonly handling: HandlingDraft;
}

const KINDS: Readonly<Record<string, SampleKind>> = {
  grab: 'grab',
  duplicate: 'duplicate',
  dup: 'duplicate',
  repeat: 'repeat',
  rep: 'repeat',
  blank: 'blank',
};

const WAYS: Readonly<Record<string, FillWayName>> = {
  'at once': 'at-once',
  syringe: 'at-once',
  steady: 'steady',
  evacuated: 'steady',
  'flow through': 'flow-through',
  pumped: 'flow-through',
  'closed loop': 'closed-loop',
  loop: 'closed-loop',
};

const CORRECTIONS: Readonly<Record<string, AirCorrectionChoice | 'none'>> = {
  none: 'none',
  no: 'none',
  'plug flow': 'plug-flow',
  'well mixed': 'well-mixed',
  middle: 'middle',
  tracer: 'tracer',
};

/** @throws AppError BAD_INPUT where columns are missing or cannot be told apart */
export function openReadings(table: CsvTable): ReadingTable {
  const fields = new FieldTable<ReadingField>(table, COLUMNS, 'counts', [
    'day',
    'start',
    'fillStart',
    'fillEnd',
  ]);
  if (!fields.has('code')) fields.need('probe', 'the probe');
  if (!fields.has('radon') && !fields.has('counts') && fields.windows.length === 0)
    fields.need('counts', 'the counts or the radon of each interval');
  return fields;
}

/** null where the row has an error; it is then among the table's issues. */
export function draftReading(
  fields: ReadingTable,
  source: CsvRow,
  instruments: readonly InstrumentRow[],
  codes: readonly KnownCode[],
): ReadingDraft | null {
  const { row } = source;
  const kindWord = word(fields, source, 'kind');
  const mark = fields.text(source, 'background');
  const isMarked = mark === null ? false : parseYesNo(mark);
  if (isMarked === null) return fields.error(row, 'background', `'${mark}' is neither yes nor no`);
  const isBackground = isMarked || kindWord === 'background';
  const label = probeLabel(fields, source, codes);
  if (label === null) return null;
  if (label === '' && !isBackground) return fields.error(row, 'probe', 'names no probe');
  const kind = isBackground || kindWord === null ? null : (KINDS[kindWord] ?? null);
  if (kindWord !== null && kind === null && !isBackground)
    return fields.error(row, 'kind', `'${kindWord}' is not grab, repeat, duplicate, blank or background`);
  const value = isBackground ? null : readValue(fields, source);
  const instrument = instrumentOf(fields, source, instruments, value !== null);
  if (instrument === null && (value === null || fields.hasError(row))) return null;
  const offsetMs = 1000 * (instrument?.clock_offset_s ?? 0);
  const day = fields.day(source, 'day');
  const clock = (field: ReadingField) => {
    const ms = fields.clock(source, field, day);
    return ms === null ? null : ms - offsetMs;
  };
  const span = readSpan(fields, source, clock);
  const counts = instrument === null ? [] : readCounts(fields, source, instrument, value !== null);
  const ordinal = fields.number(source, 'ordinal', 1, 1000);
  const handling: HandlingDraft = {
    fillStartMs: clock('fillStart'),
    fillEndMs: clock('fillEnd'),
    fillS: fields.number(source, 'fillLength', 0, 86_400),
    fillWay: oneOf(fields, source, 'fillWay', WAYS),
    transitS: fields.number(source, 'transit', 0, 86_400),
    flushS: fields.number(source, 'flush', 0, 86_400),
    before: fields.text(source, 'before'),
    pumpedMl: fields.number(source, 'pumped', 0),
    lineMl: fields.number(source, 'line', 0),
    soilGasMl: fields.number(source, 'soilGas', Number.MIN_VALUE),
    residualShare: fields.number(source, 'airLeft', 0, 0.999),
    tracerPct: fields.number(source, 'tracer', 0, 100),
    shroudPct: fields.number(source, 'shroud', Number.MIN_VALUE, 100),
    correction: oneOf(fields, source, 'correction', CORRECTIONS),
    ingrowthS: fields.number(source, 'ingrowth', 0, 86_400),
  };
  if (span === null || fields.hasError(row)) return null;
  return { row, isBackground, label, kind, ordinal, instrument, ...span, counts, value, handling };
}

/** With its uncertainty brought to k = 1; null where the row has none. */
function readValue(fields: ReadingTable, source: CsvRow): ReadingDraft['value'] {
  const radonKBqPerM3 = fields.number(source, 'radon', Number.NEGATIVE_INFINITY);
  if (radonKBqPerM3 === null) return null;
  const stated = fields.number(source, 'radonU', 0);
  const coverage = fields.number(source, 'coverage', Number.MIN_VALUE, 10);
  if (stated !== null && coverage === null && !fields.hasError(source.row))
    fields.warn(source.row, 'radonU', "no column 'k' says at what coverage factor it stands; taken as k = 1");
  return { radonKBqPerM3, uKBqPerM3: stated === null ? null : stated / (coverage ?? 1) };
}

/** By the code where the row has one, whatever label stands beside it. null where the code names no probe, which is said. */
function probeLabel(fields: ReadingTable, source: CsvRow, codes: readonly KnownCode[]): string | null {
  const label = fields.text(source, 'probe') ?? '';
  const code = fields.text(source, 'code');
  if (code === null) return label;
  const read = readCode(code, codes);
  if ('problem' in read) return fields.error(source.row, 'code', read.problem);
  if (label !== '' && label.toLowerCase() !== read.label.toLowerCase())
    fields.warn(
      source.row,
      'code',
      `${code} is the code of probe '${read.label}', and the row says '${label}'; the code decides`,
    );
  return read.label;
}

function word(fields: ReadingTable, source: CsvRow, field: ReadingField): string | null {
  return (
    fields
      .text(source, field)
      ?.toLowerCase()
      .replace(/[\s_-]+/g, ' ') ?? null
  );
}

function oneOf<T>(
  fields: ReadingTable,
  source: CsvRow,
  field: ReadingField,
  words: Readonly<Record<string, T>>,
): T | null {
  const said = word(fields, source, field);
  if (said === null) return null;
  const found = Object.hasOwn(words, said) ? words[said] : undefined;
  return found ?? fields.error(source.row, field, `'${said}' is not ${Object.keys(words).join(', ')}`);
}

function instrumentOf(
  fields: ReadingTable,
  source: CsvRow,
  instruments: readonly InstrumentRow[],
  mayBeUnknown: boolean,
): InstrumentRow | null {
  const name = fields.text(source, 'instrument');
  const found =
    name === null
      ? instruments.length === 1
        ? instruments[0]
        : undefined
      : instruments.find((i) => i.label.toLowerCase() === name.toLowerCase());
  if (found !== undefined) return found;
  if (name === null && mayBeUnknown) return null;
  const register = instruments.map((i) => i.label).join(', ');
  if (instruments.length === 0)
    return fields.error(
      source.row,
      'instrument',
      'the project has no instrument yet: import or enter it first',
    );
  return fields.error(
    source.row,
    'instrument',
    name === null
      ? `names no instrument; there are ${register}`
      : `'${name}' is not in the register: ${register}`,
  );
}

/** Start and length from either a start and a length or a start and an end, in seconds or by the clock. */
function readSpan(
  fields: ReadingTable,
  source: CsvRow,
  clock: (field: ReadingField) => number | null,
): Pick<ReadingDraft, 'start' | 'lengthS' | 'liveS'> | null {
  const { row } = source;
  const point = (field: ReadingField): { s: number } | { ms: number } | null => {
    const cell = fields.text(source, field);
    if (cell === null) return null;
    if (/^[-+]?[\d.,]+$/.test(cell) && !/^\d{1,4}[.]\d{1,2}[.]\d/.test(cell)) {
      const s = fields.number(source, field, Number.NEGATIVE_INFINITY);
      return s === null ? null : { s };
    }
    const ms = clock(field);
    return ms === null ? null : { ms };
  };
  const start = point('start');
  const end = point('end');
  const stated = fields.number(source, 'length', Number.MIN_VALUE, 30 * 86_400);
  const liveS = fields.number(source, 'live', Number.MIN_VALUE);
  if (fields.hasError(row)) return null;
  const between =
    start === null || end === null
      ? null
      : 's' in start && 's' in end
        ? end.s - start.s
        : 'ms' in start && 'ms' in end
          ? (end.ms - start.ms) / 1000
          : Number.NaN;
  if (Number.isNaN(between))
    return fields.error(
      row,
      'end',
      'start and end are written in two ways, one as seconds and one as a time',
    );
  const lengthS = stated ?? between;
  if (lengthS === null)
    return fields.error(row, 'length', 'the interval has no length: give its length, or its start and end');
  if (!(lengthS > 0)) return fields.error(row, 'end', 'the interval ends before it starts');
  if (liveS !== null && liveS > lengthS * (1 + 1e-9))
    return fields.error(row, 'live', `a live time of ${liveS} s in an interval of ${lengthS} s`);
  return { start, lengthS, liveS };
}

function readCounts(
  fields: ReadingTable,
  source: CsvRow,
  instrument: InstrumentRow,
  mayBeEmpty: boolean,
): { window: string; counts: number }[] {
  const single = fields.column('counts');
  const columns = [
    ...(single === undefined ? [] : [{ ...single, window: fields.text(source, 'window') }]),
    ...fields.windows,
  ];
  const found = columns.flatMap((column) => {
    const counts = fields.counts(source, column);
    if (counts === null) return [];
    const window = findWindow(instrument, column.window);
    if (window !== null) return [{ window, counts }];
    fields.error(
      source.row,
      column.window === null ? 'window' : null,
      column.window === null
        ? `'${instrument.label}' has several windows: say which`
        : `'${instrument.label}' has no window '${column.window}'`,
    );
    return [];
  });
  if (found.length === 0 && !mayBeEmpty && !fields.hasError(source.row))
    fields.error(source.row, 'counts', 'holds no counts');
  const twice = found.find((c, i) => found.findIndex((o) => o.window === c.window) !== i);
  if (twice !== undefined) fields.error(source.row, null, `counts of window '${twice.window}' stand twice`);
  return found;
}
