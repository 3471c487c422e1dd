/** Counting intervals typed in by hand: counts, and values that the instrument made of them. */
import type { EnteredReading, EnteredValue, SampleEntry, ValueMean } from '../contract/hand-entry.ts';
import { AppError } from '../errors.ts';
import type { Transaction } from '../store/change.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { InstrumentRow, SampleRow } from '../store/rows.ts';
import type { FillCells } from './fill-of.ts';
import { findWindow } from './instruments.ts';
import { averageOf } from './interval-values.ts';

const SAME_TIME_S = 1e-3;

export interface TypedIntervals {
  readonly readings: readonly EnteredReading[];
  readonly values: readonly EnteredValue[];
}

/**
 * The intervals of an entry, with each window's name as the instrument has it.
 * @param sampleId - what a file brought of it must not be overlapped; null for a new sample
 * @throws AppError BAD_INPUT naming the interval; NOT_FOUND for an instrument that is not there
 */
export function checkIntervals(
  store: ReadableStore,
  entry: SampleEntry,
  sampleId: string | null,
): TypedIntervals {
  const instrument = entry.instrumentId === null ? null : store.row('instrument', entry.instrumentId);
  if (instrument === undefined)
    throw new AppError('NOT_FOUND', `There is no instrument "${entry.instrumentId}" in this project.`);
  const of = { sample_id: sampleId ?? '' };
  const readings = entry.readings.map((reading, i) => checkWindow(instrument, reading, i));
  refuseOverlaps(
    'readings',
    readings,
    fromFile(store.rows('reading', of)).map((r) => ({
      window: r.window,
      startS: r.start_s,
      lengthS: r.length_s,
    })),
  );
  refuseOverlaps(
    'values',
    entry.values.map((v) => ({ ...v, window: null })),
    fromFile(store.rows('interval_value', of)).map((v) => ({
      window: null,
      startS: v.start_s,
      lengthS: v.length_s,
    })),
  );
  return { readings, values: entry.values };
}

interface Sourced {
  readonly source_attachment: string | null;
}
const isTyped = (row: Sourced) => row.source_attachment === null;

function fromFile<R extends Sourced>(rows: readonly R[]): R[] {
  return rows.filter((row) => !isTyped(row));
}

function checkWindow(
  instrument: InstrumentRow | null,
  reading: EnteredReading,
  index: number,
): EnteredReading {
  if (instrument === null) throw refusal('readings', index, 'counts need the instrument that made them.');
  const window = findWindow(instrument, reading.window);
  if (window === null)
    throw refusal(
      'readings',
      index,
      reading.window === null
        ? `${instrument.label} has several windows: say which.`
        : `${instrument.label} has no window '${reading.window}'.`,
    );
  return { ...reading, window };
}

interface Span {
  readonly window: string | null;
  readonly startS: number;
  readonly lengthS: number;
  readonly liveS?: number | null;
}

function refuseOverlaps(field: keyof TypedIntervals, typed: readonly Span[], known: readonly Span[]): void {
  const taken = [...known];
  typed.forEach((span, i) => {
    const { window, startS, lengthS, liveS } = span;
    if (liveS != null && liveS > lengthS * (1 + 1e-9))
      throw refusal(field, i, `a live time of ${liveS} s in an interval of ${lengthS} s.`);
    const endS = startS + lengthS;
    const clash = taken.find(
      (t) =>
        t.window === window && t.startS < endS - SAME_TIME_S && startS < t.startS + t.lengthS - SAME_TIME_S,
    );
    if (clash !== undefined)
      throw new AppError(
        'BAD_INPUT',
        `Interval ${i + 1} (${startS} to ${endS} s) overlaps ${clash.startS} to ${clash.startS + clash.lengthS} s${window === null ? '' : ' of the same window'}.`,
        { field, index: i },
      );
    taken.push(span);
  });
}

function refusal(field: keyof TypedIntervals, index: number, message: string): AppError {
  return new AppError('BAD_INPUT', `Interval ${index + 1}: ${message}`, { field, index });
}

/** Those of a sample that were typed, in order of their start. */
export function typedIntervals(store: ReadableStore, sampleId: string): TypedIntervals {
  const typed = <R extends Sourced & { readonly start_s: number }>(rows: readonly R[]) =>
    rows.filter(isTyped).toSorted((a, b) => a.start_s - b.start_s);
  return {
    readings: typed(store.rows('reading', { sample_id: sampleId })).map((r) => ({
      window: r.window,
      startS: r.start_s,
      lengthS: r.length_s,
      liveS: r.live_s,
      counts: r.counts,
    })),
    values: typed(store.rows('interval_value', { sample_id: sampleId })).map((v) => ({
      startS: v.start_s,
      lengthS: v.length_s,
      liveS: v.live_s,
      radonKBqPerM3: v.radon_kbq_per_m3,
      uKBqPerM3: v.u_kbq_per_m3,
    })),
  };
}

/** Within a change: those typed become those given; what a file brought stays. */
export function writeIntervals(
  store: ProjectStore,
  tx: Transaction,
  sampleId: string,
  wanted: TypedIntervals,
): void {
  const readings = wanted.readings.map((r) => ({ ...spanCells(r), counts: r.counts, window: r.window }));
  const values = wanted.values.map((v) => ({
    ...spanCells(v),
    radon_kbq_per_m3: v.radonKBqPerM3,
    u_kbq_per_m3: v.uKBqPerM3,
  }));
  const openReadings = new Map(readings.map((cells) => [JSON.stringify(cells), cells]));
  for (const old of store.rows('reading', { sample_id: sampleId })) {
    const { start_s, length_s, live_s, counts, window } = old;
    if (isTyped(old) && !openReadings.delete(JSON.stringify({ start_s, length_s, live_s, counts, window })))
      tx.remove('reading', old.id);
  }
  const openValues = new Map(values.map((cells) => [JSON.stringify(cells), cells]));
  for (const old of store.rows('interval_value', { sample_id: sampleId })) {
    const { start_s, length_s, live_s, radon_kbq_per_m3, u_kbq_per_m3 } = old;
    const key = JSON.stringify({ start_s, length_s, live_s, radon_kbq_per_m3, u_kbq_per_m3 });
    if (isTyped(old) && !openValues.delete(key)) tx.remove('interval_value', old.id);
  }
  for (const cells of openReadings.values()) tx.insert('reading', { sample_id: sampleId, ...cells });
  for (const cells of openValues.values()) tx.insert('interval_value', { sample_id: sampleId, ...cells });
}

const spanCells = (span: EnteredReading | EnteredValue) => ({
  start_s: span.startS,
  length_s: span.lengthS,
  live_s: span.liveS,
});

/**
 * The mean that values typed will give, those a file brought of the same sample included.
 * @throws AppError NOT_FOUND for an instrument or a sample that is not there
 */
export function averageTyped(
  store: ReadableStore,
  input: Pick<SampleEntry, 'instrumentId' | 'ingrowthS' | 'values'> & { readonly sampleId: string | null },
): ValueMean {
  const instrument = input.instrumentId === null ? null : store.row('instrument', input.instrumentId);
  const stored = input.sampleId === null ? NOTHING_STATED : store.row('sample', input.sampleId);
  if (instrument === undefined || stored === undefined)
    throw new AppError('NOT_FOUND', 'The instrument or the sample is not in this project any more.');
  const typed = input.values.map((v, index) => ({
    index,
    ...spanCells(v),
    radon_kbq_per_m3: v.radonKBqPerM3,
    u_kbq_per_m3: v.uKBqPerM3,
  }));
  const all = [
    ...typed,
    ...fromFile(store.rows('interval_value', { sample_id: input.sampleId ?? '' })).map((v) => ({
      ...v,
      index: null,
    })),
  ].toSorted((a, b) => a.start_s - b.start_s);
  const row = { ...stored, ingrowth_s: input.ingrowthS };
  const { averaged, problem, ingrowthS, notes } = averageOf(row, instrument, all);
  const isUsed = (v: { readonly start_s: number }) =>
    averaged !== null && v.start_s >= (ingrowthS ?? Number.POSITIVE_INFINITY);
  return {
    mean:
      averaged === null
        ? null
        : {
            radonKBqPerM3: averaged.estimateKBqPerM3,
            uKBqPerM3: Math.hypot(averaged.randomUKBqPerM3, averaged.commonURel * averaged.estimateKBqPerM3),
          },
    problem,
    used: typed.map(isUsed),
    ingrowthS,
    usedFromFile: all.filter((v) => v.index === null && isUsed(v)).length,
    notes: [...(averaged?.notes ?? []), ...notes],
  };
}

/** Of a sample that is not there yet nothing but its values is known. */
const NOTHING_STATED: FillCells & Pick<SampleRow, 'common_u_rel'> = {
  taken_utc: null,
  fill_start_utc: null,
  fill_end_utc: null,
  fill_s: null,
  fill_way: null,
  transit_s: null,
  pumped_ml: null,
  common_u_rel: null,
};
