/** Logs of days in the field from a table: one row a day, or several that each add a look at dryer or line. */
import type { DayEvent, DayEventKind, DayLogEntry, DaysReport, GroundSurface } from '../contract/quality.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { CsvRow, TableOptions } from '../survey/csv-table.ts';
import { parseYesNo } from '../survey/parse-cell.ts';
import { celsiusToFahrenheit, fahrenheitToCelsius } from '../units.ts';
import { emptyDayLog, eventKey, listDayLogs, writeDayLog } from './day-log.ts';
import { utcText } from './import-instruments.ts';
import type { ColumnSpec, Units } from './readings-table.ts';
import { FieldTable, MILLILITRES, openTable } from './readings-table.ts';

const MILLIMETRES: Units = { '': 1, mm: 1, cm: 10, in: 25.4 };
const HOURS: Units = { '': 1, h: 1, min: 1 / 60, d: 24 };
/** Of Fahrenheit the zero is another one too: see `airOf`. */
const DEGREES: Units = { '': 1, c: 1, '°c': 1, f: 1, '°f': 1 };
const HECTOPASCALS: Units = { '': 1, hpa: 1, mbar: 1, kpa: 10 };

const COLUMNS = {
  day: { names: ['day', 'date'] },
  crew: { names: ['crew', 'operator', 'sampler', 'who'] },
  rain: { names: ['rain', 'last rain'], units: MILLIMETRES },
  sinceRain: { names: ['hours since rain', 'since rain', 'rain ended'], units: HOURS },
  surface: { names: ['surface', 'ground surface'] },
  air: { names: ['air temperature', 'air', 'temperature'], units: DEGREES },
  pressure: { names: ['pressure', 'air pressure'], units: HECTOPASCALS },
  pumped: { names: ['pumped', 'pumped volume', 'purged'], units: MILLILITRES },
  line: { names: ['line', 'line volume', 'dead volume', 'system volume'], units: MILLILITRES },
  tape: { names: ['fresh tape', 'fresh thread tape', 'thread tape'] },
  opening: { names: ['opening background'] },
  closing: { names: ['closing background'] },
  control: { names: ['control probe', 'control'] },
  note: { names: ['note', 'remark'] },
  time: { names: ['time', 'looked at', 'time of look'] },
  look: { names: ['look', 'event', 'dryer or line'] },
} satisfies Record<string, ColumnSpec>;

type Field = keyof typeof COLUMNS;

const SURFACES: readonly GroundSurface[] = ['dry', 'moist', 'wet', 'frozen'];
const LOOKS: Readonly<Record<string, DayEventKind>> = {
  'dryer fresh': 'dryer-fresh',
  'dryer changed': 'dryer-fresh',
  'dryer spent': 'dryer-spent',
  'line held': 'leak-passed',
  'leak test passed': 'leak-passed',
  'line leaked': 'leak-failed',
  'leak test failed': 'leak-failed',
};

interface DayDraft {
  readonly id: string | null;
  readonly before: DayLogEntry;
  log: DayLogEntry;
}

/**
 * Logs of a table in one change with the file. A day that has a log takes what its rows say; empty cells change
 * nothing, looks are added. Rows with an error are named and left out.
 */
export function importDays(
  store: ProjectStore,
  path: string,
  options: TableOptions & { readonly dryRun?: boolean } = {},
): DaysReport {
  const { bytes, table } = openTable(path, options);
  const fields = new FieldTable<Field>(table, COLUMNS, 'window', ['day']);
  fields.need('day', 'the day');
  const known = new Map(listDayLogs(store).map((log) => [log.day, log]));
  const probes = new Map(store.rows('probe').map((p) => [p.label.toLowerCase(), p.id]));
  const drafts = new Map<string, DayDraft>();
  let rowsKnown = 0;
  for (const source of fields.rows) {
    const day = fields.day(source, 'day');
    if (day === null) {
      if (!fields.hasError(source.row)) fields.error(source.row, 'day', 'names no day');
      continue;
    }
    const stored = known.get(day);
    const { id, ...entry } = stored ?? { id: null, ...emptyDayLog(day) };
    const draft = drafts.get(day) ?? { id, before: entry, log: entry };
    const log = readRow(fields, source, draft, probes);
    if (fields.hasError(source.row)) continue;
    if (JSON.stringify(log) === JSON.stringify(draft.log) && stored !== undefined) rowsKnown++;
    drafts.set(day, { ...draft, log });
  }
  const changed = [...drafts.values()].filter(
    (d) => d.id === null || JSON.stringify(d.log) !== JSON.stringify(d.before),
  );
  const report: DaysReport = {
    file: table.file,
    daysAdded: changed.filter((d) => d.id === null).length,
    daysChanged: changed.filter((d) => d.id !== null).length,
    looksAdded: changed.reduce((sum, d) => sum + d.log.events.length - d.before.events.length, 0),
    rowsKnown,
    issues: fields.issues,
  };
  if (changed.length === 0 || options.dryRun === true) return report;
  store.change('day.import', `Import the logs of ${changed.length} days from ${table.file}`, (tx) => {
    store.putAttachment(bytes, table.file, 'text/csv');
    for (const { id, log } of changed) writeDayLog(store, tx, id, log);
  });
  return report;
}

function readRow(
  fields: FieldTable<Field>,
  source: CsvRow,
  { before, log }: DayDraft,
  probes: ReadonlyMap<string, string>,
): DayLogEntry {
  const number = (field: Field, low: number, high: number) => fields.number(source, field, low, high);
  const said = (field: Field) => {
    const cell = fields.text(source, field);
    const answer = cell === null ? null : parseYesNo(cell);
    return cell !== null && answer === null
      ? fields.error(source.row, field, `'${cell}' is neither yes nor no`)
      : answer;
  };
  const stated = {
    crew: fields.text(source, 'crew'),
    rainMm: number('rain', 0, 2000),
    hoursSinceRain: number('sinceRain', 0, 10_000),
    surface: surfaceOf(fields, source),
    airTemperatureC: airOf(fields, source),
    pressureHPa: number('pressure', 400, 1100),
    pumpedMl: number('pumped', Number.MIN_VALUE, 1e7),
    systemMl: number('line', Number.MIN_VALUE, 1e7),
    freshTape: said('tape'),
    openingBackground: said('opening'),
    closingBackground: said('closing'),
    controlProbeId: controlOf(fields, source, probes),
    note: fields.text(source, 'note'),
  };
  const merged: Record<string, unknown> = { ...log };
  for (const [key, value] of Object.entries(stated)) {
    if (value === null) continue;
    const earlier = log[key as keyof typeof stated];
    // Against the project a row is the newer word; against an earlier row of the file it is a contradiction.
    if (earlier !== null && earlier !== value && earlier !== before[key as keyof typeof stated])
      fields.error(source.row, null, `${log.day} has two values of ${key}: '${earlier}' and '${value}'`);
    merged[key] = value;
  }
  const event = eventOf(fields, source, log.day);
  const isNew = event !== null && !log.events.some((e) => eventKey(e) === eventKey(event));
  const events = isNew
    ? [...log.events, event].sort((a, b) => Date.parse(a.atUtc) - Date.parse(b.atUtc))
    : log.events;
  return { ...(merged as unknown as DayLogEntry), events };
}

function airOf(fields: FieldTable<Field>, source: CsvRow): number | null {
  if (!/\(\s*°?f\s*\)/i.test(fields.column('air')?.name ?? '')) return fields.number(source, 'air', -60, 60);
  const degreesF = fields.number(source, 'air', celsiusToFahrenheit(-60), celsiusToFahrenheit(60));
  return degreesF === null ? null : fahrenheitToCelsius(degreesF);
}

function surfaceOf(fields: FieldTable<Field>, source: CsvRow): GroundSurface | null {
  const cell = fields.text(source, 'surface');
  if (cell === null) return null;
  const found = SURFACES.find((s) => s === cell.toLowerCase());
  return found ?? fields.error(source.row, 'surface', `'${cell}' is none of ${SURFACES.join(', ')}`);
}

function controlOf(
  fields: FieldTable<Field>,
  source: CsvRow,
  probes: ReadonlyMap<string, string>,
): string | null {
  const cell = fields.text(source, 'control');
  if (cell === null) return null;
  const id = probes.get(cell.toLowerCase());
  return id ?? fields.error(source.row, 'control', `there is no probe '${cell}' in the project`);
}

function eventOf(fields: FieldTable<Field>, source: CsvRow, day: string): DayEvent | null {
  const cell = fields.text(source, 'look');
  const atMs = fields.clock(source, 'time', day);
  if (cell === null && atMs === null) return null;
  if (cell === null) return fields.error(source.row, 'look', 'does not say what was seen at the time');
  const kind = LOOKS[cell.toLowerCase()];
  if (kind === undefined)
    return fields.error(source.row, 'look', `'${cell}' is none of ${Object.keys(LOOKS).join(', ')}`);
  if (atMs === null) return fields.error(source.row, 'time', 'a look needs its time');
  return { kind, atUtc: utcText(atMs), note: null };
}
