/** Samples given as several values of an instrument: the mean of those after ingrowth. */
import { spectrometricWindows, totalAlphaWindow } from '../counting/detector.ts';
import type { AveragedValues } from '../counting/reduced-values.ts';
import { averageValues, USUAL_INGROWTH_S } from '../counting/reduced-values.ts';
import { AppError } from '../errors.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { InstrumentRow, IntervalValueRow, SampleRow } from '../store/rows.ts';
import { type FillCells, fillOf } from './fill-of.ts';
import { ASSUMED_COMMON_U_REL } from './instruments.ts';

export interface AveragedSample<V extends ValueCells = IntervalValueRow> {
  /** null where no mean could be had: `problem` says why. */
  readonly averaged: AveragedValues | null;
  readonly problem: string | null;
  readonly values: readonly V[];
  /** Intervals that start sooner are left out; null where it is not known when ingrowth is over. */
  readonly ingrowthS: number | null;
  readonly notes: readonly string[];
}

const kept = new WeakMap<
  ReadableStore,
  { readonly revision: number; readonly found: ReadonlyMap<string, AveragedSample> }
>();

/** Every sample that carries interval values, by its id. */
export function averagesOf(store: ReadableStore): ReadonlyMap<string, AveragedSample> {
  const known = kept.get(store);
  if (known?.revision === store.revision) return known.found;
  const bySample = Map.groupBy(store.rows('interval_value'), (v) => v.sample_id);
  const instruments = new Map(store.rows('instrument').map((i) => [i.id, i]));
  const found = new Map(
    [...bySample].flatMap(([id, values]) => {
      const row = store.row('sample', id);
      if (row === undefined) return [];
      const byStart = values.toSorted((a, b) => a.start_s - b.start_s || (a.id < b.id ? -1 : 1));
      return [[id, averageOf(row, instruments.get(row.instrument_id ?? '') ?? null, byStart)] as const];
    }),
  );
  kept.set(store, { revision: store.revision, found });
  return found;
}

/** Cells of an interval value that go into the mean. */
export type ValueCells = Pick<
  IntervalValueRow,
  'start_s' | 'length_s' | 'live_s' | 'radon_kbq_per_m3' | 'u_kbq_per_m3'
>;

/** @param values - in order of their start */
export function averageOf<V extends ValueCells>(
  row: FillCells & Pick<SampleRow, 'ingrowth_s' | 'common_u_rel'>,
  instrument: InstrumentRow | null,
  values: readonly V[],
): AveragedSample<V> {
  const ingrowthS = row.ingrowth_s ?? usualIngrowth(instrument);
  const { fill, note } = fillOf(row, instrument);
  const calibrationURel = row.common_u_rel ?? instrument?.common_u_rel ?? ASSUMED_COMMON_U_REL;
  const isStated = row.common_u_rel !== null || (instrument?.common_u_rel ?? null) !== null;
  const notes = [
    ...(note === null ? [] : [note]),
    ...(isStated
      ? []
      : [`The calibration's uncertainty is not stated: ${100 * ASSUMED_COMMON_U_REL} % assumed.`]),
    'Given as values, not counts: what earlier samples left in the chamber is not taken off, and no limit of detection follows from them.',
  ];
  const base = { values, ingrowthS, notes };
  if (ingrowthS === null)
    return {
      ...base,
      averaged: null,
      problem:
        "It is not known when ingrowth is over: state it (column 'Ingrowth', 0 for an instrument that corrects for it), or name the instrument.",
    };
  try {
    const averaged = averageValues({
      fill,
      values: values.map((v) => ({
        startS: v.start_s,
        endS: v.start_s + v.length_s,
        ...(v.live_s === null ? {} : { liveS: v.live_s }),
        radonKBqPerM3: v.radon_kbq_per_m3,
        uKBqPerM3: v.u_kbq_per_m3,
      })),
      ingrowthS,
      window: ingrowthS === 0 ? null : windowOf(instrument),
      calibrationURel,
      decisionThresholdKBqPerM3: null,
      detectionLimitKBqPerM3: null,
    });
    return { ...base, averaged, problem: null };
  } catch (error) {
    // One sample that gives no mean must not take the others with it: its problem is told as a finding.
    if (!(error instanceof AppError)) throw error;
    return { ...base, averaged: null, problem: error.message };
  }
}

/** Null where the windows are the user's own: what they see of the progeny's ingrowth is theirs to state. */
function usualIngrowth(instrument: InstrumentRow | null): number | null {
  if (instrument?.detector === 'alpha') return USUAL_INGROWTH_S.alpha;
  return instrument?.detector === 'spectrum' ? USUAL_INGROWTH_S['Po-218'] : null;
}

function windowOf(instrument: InstrumentRow | null) {
  if (instrument?.detector === 'alpha') return totalAlphaWindow(instrument.counts_per_alpha ?? 1);
  if (instrument?.detector !== 'spectrum') return null;
  return spectrometricWindows(instrument.counts_per_alpha ?? 1)[0] ?? null;
}
