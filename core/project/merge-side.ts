/** What of a project goes into a merge: its rows, and each as a record that can be compared. */
import type { PositionNative } from '../geo/frame.ts';
import { convertTied } from '../geo/local-grid.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type {
  BackgroundRow,
  FieldDayRow,
  FieldEventRow,
  InstrumentRow,
  IntervalValueRow,
  KeepOutRow,
  ProbeRow,
  ReadingRow,
  RulingRow,
  SampleRow,
} from '../store/rows.ts';
import type { MergeCell, MergeCells, MergeRecord, MergeSample } from '../survey/merge-projects.ts';
import { gridTie, projectCrs } from './frame-of.ts';

/** A project's rows, places in the native system of the project that takes them in. */
export interface MergeRows {
  readonly probes: ReadonlyMap<string, ProbeRow>;
  readonly samples: ReadonlyMap<string, SampleRow>;
  readonly instruments: ReadonlyMap<string, InstrumentRow>;
  readonly keepOuts: ReadonlyMap<string, KeepOutRow>;
  readonly days: ReadonlyMap<string, FieldDayRow>;
  readonly readings: ReadonlyMap<string, readonly ReadingRow[]>;
  readonly values: ReadonlyMap<string, readonly IntervalValueRow[]>;
  readonly rulings: ReadonlyMap<string, RulingRow>;
  readonly backgrounds: ReadonlyMap<string, readonly BackgroundRow[]>;
  readonly events: ReadonlyMap<string, readonly FieldEventRow[]>;
}

export interface MergeParts {
  readonly rows: MergeRows;
  readonly probes: readonly MergeRecord[];
  readonly samples: readonly MergeSample[];
  readonly instruments: readonly MergeRecord[];
  readonly keepOuts: readonly MergeRecord[];
  readonly days: readonly MergeRecord[];
}

/** Positions of `from` in the native system of `to`. @throws AppError BAD_INPUT where no control points tie the two */
export function converter(from: ReadableStore, to: ReadableStore) {
  const [theirs, mine] = [projectCrs(from), projectCrs(to)];
  const tie = theirs.kind === 'local' && mine.kind !== 'local' ? gridTie(from) : gridTie(to);
  return (points: readonly PositionNative[]) => convertTied(theirs, mine, tie, points);
}

/**
 * @param toMine - positions of this project in those of the one that takes them in
 * @param metresPerUnit - of the latter's native unit
 */
export function readParts(
  store: ReadableStore,
  toMine: (points: readonly PositionNative[]) => PositionNative[],
  metresPerUnit: number,
): MergeParts {
  const rows = readRows(store, toMine);
  const inMetres = ([x, y]: PositionNative) => [x * metresPerUnit, y * metresPerUnit] as const;
  const probes = [...rows.probes.values()].map((row): MergeRecord => {
    const at = row.driven_x === null ? [row.planned_x, row.planned_y] : [row.driven_x, row.driven_y];
    const [x, y] = at;
    return {
      id: row.id,
      label: row.label,
      positionM: x == null || y == null ? null : inMetres([x, y]),
      cells: without(row, ['id', 'label', 'planned_x', 'planned_y', 'driven_x', 'driven_y']),
    };
  });
  return {
    rows,
    probes,
    samples: [...rows.samples.values()].map((row) => sampleRecord(rows, row)),
    instruments: [...rows.instruments.values()].map((row) => ({
      id: row.id,
      label: row.label,
      positionM: null,
      cells: {
        ...without(row, ['id', 'label']),
        backgrounds: listOf(rows.backgrounds.get(row.id), (b) => [b.window, b.counts, b.live_s, b.taken_utc]),
      },
    })),
    keepOuts: [...rows.keepOuts.values()].map((row) => ({
      id: row.id,
      label: row.label,
      positionM: null,
      cells: {
        shape: row.shape,
        buffer_m: row.buffer_m,
        blocks_walk: row.blocks_walk,
        // To the millimetre: a change of system leaves less than that behind.
        points: JSON.stringify(
          (JSON.parse(row.points_json) as PositionNative[]).map(inMetres).map(([x, y]) => [mm(x), mm(y)]),
        ),
      },
    })),
    days: [...rows.days.values()].map((row) => ({
      id: row.id,
      label: row.day,
      positionM: null,
      cells: {
        ...without(row, ['id', 'day', 'control_probe_id']),
        control_probe: labelOf(rows, row.control_probe_id),
        events: listOf(rows.events.get(row.id), (e) => [e.kind, e.at_utc, e.note]),
      },
    })),
  };
}

function readRows(
  store: ReadableStore,
  toMine: (points: readonly PositionNative[]) => PositionNative[],
): MergeRows {
  const moved = (x: number | null, y: number | null): readonly [number | null, number | null] =>
    x === null || y === null ? [x, y] : (toMine([[x, y]])[0] ?? [x, y]);
  const probes = store.rows('probe').map((row): ProbeRow => {
    const [plannedX, plannedY] = moved(row.planned_x, row.planned_y);
    const [drivenX, drivenY] = moved(row.driven_x, row.driven_y);
    return { ...row, planned_x: plannedX, planned_y: plannedY, driven_x: drivenX, driven_y: drivenY };
  });
  const keepOuts = store.rows('keep_out').map(
    (row): KeepOutRow => ({
      ...row,
      points_json: JSON.stringify(toMine(JSON.parse(row.points_json) as PositionNative[])),
    }),
  );
  return {
    probes: byId(probes),
    samples: byId(store.rows('sample')),
    instruments: byId(store.rows('instrument')),
    keepOuts: byId(keepOuts),
    days: byId(store.rows('field_day')),
    readings: Map.groupBy(store.rows('reading'), (r) => r.sample_id),
    values: Map.groupBy(store.rows('interval_value'), (v) => v.sample_id),
    rulings: new Map(store.rows('ruling').map((r) => [r.sample_id, r])),
    backgrounds: Map.groupBy(store.rows('background'), (b) => b.instrument_id),
    events: Map.groupBy(store.rows('field_event'), (e) => e.field_day_id),
  };
}

function sampleRecord(rows: MergeRows, row: SampleRow): MergeSample {
  const ruling = rows.rulings.get(row.id);
  return {
    id: row.id,
    probeId: row.probe_id,
    kind: row.kind,
    takenUtc: row.taken_utc,
    source:
      row.source_attachment === null || row.source_row === null
        ? null
        : { file: row.source_attachment, row: row.source_row },
    cells: {
      ...without(row, NOT_COMPARED),
      // Clocks of two hand-written sheets agree to the minute at best.
      taken_utc: row.taken_utc?.slice(0, 16) ?? null,
      instrument: rows.instruments.get(row.instrument_id ?? '')?.label ?? null,
      before: row.carry_over === 'named' ? labelOfSample(rows, row.previous_sample_id) : row.carry_over,
      readings: listOf(rows.readings.get(row.id), (r) => [
        r.window,
        r.start_s,
        r.length_s,
        r.counts,
        r.live_s,
      ]),
      values: listOf(rows.values.get(row.id), (v) => [
        v.start_s,
        v.length_s,
        v.radon_kbq_per_m3,
        v.u_kbq_per_m3,
      ]),
      ruling: ruling === undefined ? null : `${ruling.verdict}: ${ruling.reason}`,
    },
  };
}

/** Where a row came from, and what names other rows, which have other ids on the other side. */
const NOT_COMPARED = [
  'id',
  'probe_id',
  'kind',
  'source_attachment',
  'source_row',
  'entered_json',
  'instrument_id',
  'previous_sample_id',
  'carry_over',
] as const;

function labelOfSample(rows: MergeRows, id: string | null): string | null {
  const sample = rows.samples.get(id ?? '');
  return sample === undefined ? null : `${labelOf(rows, sample.probe_id)} ${sample.kind}`;
}

function labelOf(rows: MergeRows, probeId: string | null): string | null {
  return rows.probes.get(probeId ?? '')?.label ?? null;
}

function byId<R extends { readonly id: string }>(rows: readonly R[]): Map<string, R> {
  return new Map(rows.map((row) => [row.id, row]));
}

function without<R extends object>(row: R, columns: readonly (keyof R & string)[]): MergeCells {
  const left = new Set<string>(columns);
  return Object.fromEntries(Object.entries(row).filter(([name]) => !left.has(name))) as Record<
    string,
    MergeCell
  >;
}

/** A JSON list in an order that does not hang on the order of making. */
function listOf<R>(rows: readonly R[] | undefined, entry: (row: R) => readonly MergeCell[]): string {
  const entries = (rows ?? []).map((row) => JSON.stringify(entry(row))).sort();
  return `[${entries.join(',')}]`;
}

const mm = (metres: number) => Math.round(1000 * metres) / 1000;
