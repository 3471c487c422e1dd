import { AppError } from '../errors.ts';
import { normalQuantile } from '../geostat/normal.ts';
import { ASSUMED_RELATIVE_U } from '../survey/thresholds.ts';
import type { CountingWindow } from './detector.ts';
import { countsOf } from './detector.ts';
import type { Fill } from './history.ts';
import { decaysPerBq } from './history.ts';
import { bestEstimate } from './iso-11929.ts';
import { RADON_CHAIN, radonLeft } from './nuclides.ts';
import type { ReducedSample } from './reduced-sample.ts';
import { toMeasured } from './reduced-sample.ts';

/** A value an instrument has already worked out for one interval. */
export interface IntervalValue {
  readonly startS: number;
  readonly endS: number;
  readonly liveS?: number;
  readonly radonKBqPerM3: number;
  /** Standard uncertainty (k = 1) of counting, without calibration; null where the instrument gives none. */
  readonly uKBqPerM3: number | null;
}

export interface ValueSeries {
  readonly fill: Fill;
  readonly values: readonly IntervalValue[];
  /**
   * Intervals that start sooner than this after the fill are left out: ingrowth of progeny is not over.
   * 0 for an instrument that corrects for it.
   */
  readonly ingrowthS: number;
  /** What the instrument counts, to work out how much ingrowth still lacks; null where unknown or corrected for. */
  readonly window: CountingWindow | null;
  readonly calibrationURel: number;
  /** As the instrument states them; null where it does not. */
  readonly decisionThresholdKBqPerM3: number | null;
  readonly detectionLimitKBqPerM3: number | null;
}

/**
 * Time until an instrument's value has settled, by what it counts: 15 min for Po-218 alone (96.6 %), 180 min for all
 * alphas. Bateman with the constants of `nuclides.ts`; the choice of share is common practice.
 */
export const USUAL_INGROWTH_S = { 'Po-218': 900, alpha: 10_800 } as const;

export interface AveragedValues extends ReducedSample {
  readonly usedIntervals: number;
  readonly leftOutIntervals: number;
  /** Mean share of full ingrowth in the intervals used; 1 where the instrument corrects for it. Not corrected for. */
  readonly meanIngrowth: number;
}

/**
 * Mean of an instrument's interval values by live time, brought back to the time the gas left the ground. Live time is
 * the weight: weights from each value's own uncertainty would punish high readings. The uncertainty is the larger of
 * the propagated one and the scatter of the intervals.
 * @throws AppError BAD_INPUT where no interval is left, or a value is not a number
 */
export function averageValues(series: ValueSeries): AveragedValues {
  const settledS = series.fill.endS + series.ingrowthS;
  series.values.forEach(checkValue);
  const used = series.values.filter((v) => v.startS >= settledS);
  const leftOut = series.values.length - used.length;
  if (used.length === 0)
    throw new AppError(
      'BAD_INPUT',
      `None of ${series.values.length} intervals starts ${series.ingrowthS / 60} min or more after the fill: ingrowth is not over in any`,
      { field: 'values' },
    );
  const live = used.map((v) => v.liveS ?? v.endS - v.startS);
  const total = live.reduce((a, b) => a + b, 0);
  const atGround = used.map(
    (v) => v.radonKBqPerM3 / radonLeft((v.startS + v.endS) / 2 - series.fill.endS + series.fill.transitS),
  );
  const weighted = (f: (i: number) => number) => used.reduce((sum, _, i) => sum + f(i), 0);
  const estimate = weighted((i) => ((live[i] ?? 0) * (atGround[i] ?? 0)) / total);
  const { u, basis } = uncertaintyOf(used, live, atGround, estimate);
  const best = bestEstimate(estimate, Math.hypot(u, series.calibrationURel * estimate), 0.95);
  const k = normalQuantile(0.975);
  const meanIngrowth =
    series.window === null ? 1 : ingrowthOf(series.window, series.fill, used, live) / total;
  return {
    path: 'values',
    measured: toMeasured(
      estimate,
      u,
      series.calibrationURel,
      series.decisionThresholdKBqPerM3,
      series.detectionLimitKBqPerM3,
      best.high,
    ),
    estimateKBqPerM3: estimate,
    randomUKBqPerM3: u,
    uBasis: basis,
    interval95KBqPerM3: [Math.max(0, estimate - k * u), Math.max(0, estimate + k * u)],
    intervalBasis: 'normal',
    best,
    commonURel: series.calibrationURel,
    decisionThresholdKBqPerM3: series.decisionThresholdKBqPerM3,
    detectionLimitKBqPerM3: series.detectionLimitKBqPerM3,
    fit: null,
    thoron: null,
    usedIntervals: used.length,
    leftOutIntervals: leftOut,
    meanIngrowth,
    notes: notesOf(series, used.length, leftOut, meanIngrowth, basis),
  };
}

function checkValue(v: IntervalValue, index: number): void {
  if (Number.isFinite(v.radonKBqPerM3) && v.endS > v.startS && (v.uKBqPerM3 === null || v.uKBqPerM3 >= 0))
    return;
  throw new AppError(
    'BAD_INPUT',
    `Interval ${index + 1} (${v.startS} to ${v.endS} s, ${v.radonKBqPerM3} kBq/m3) cannot be averaged`,
    { field: 'values', index },
  );
}

function uncertaintyOf(
  used: readonly IntervalValue[],
  live: readonly number[],
  atGround: readonly number[],
  mean: number,
): { u: number; basis: 'stated' | 'scatter' | 'assumed' } {
  const total = live.reduce((a, b) => a + b, 0);
  const shares = live.map((t) => t / total);
  const n = used.length;
  const scatter =
    n < 2
      ? 0
      : Math.sqrt(
          (n / (n - 1)) * shares.reduce((sum, w, i) => sum + (w * ((atGround[i] ?? 0) - mean)) ** 2, 0),
        );
  const allStated = used.every((v) => v.uKBqPerM3 !== null);
  if (allStated) {
    const stated = Math.sqrt(shares.reduce((sum, w, i) => sum + (w * (used[i]?.uKBqPerM3 ?? 0)) ** 2, 0));
    return scatter > stated ? { u: scatter, basis: 'scatter' } : { u: stated, basis: 'stated' };
  }
  // Two or three values say little of their own scatter.
  const assumed = ASSUMED_RELATIVE_U * Math.abs(mean);
  return n >= 4 || scatter > assumed ? { u: scatter, basis: 'scatter' } : { u: assumed, basis: 'assumed' };
}

/** Live seconds weighted with the share of full ingrowth. */
function ingrowthOf(
  window: CountingWindow,
  fill: Fill,
  used: readonly IntervalValue[],
  live: readonly number[],
): number {
  const full = RADON_CHAIN.map((m) => (m.id === 'Pb-214' || m.id === 'Bi-214' ? 0 : 1));
  const perSecond = countsOf(window, RADON_CHAIN, full);
  return decaysPerBq(RADON_CHAIN, fill, used).reduce((sum, decays, i) => {
    const v = used[i];
    if (v === undefined) return sum;
    const decayed = radonLeft((v.startS + v.endS) / 2 - fill.endS + fill.transitS);
    const share = countsOf(window, RADON_CHAIN, decays) / ((v.endS - v.startS) * perSecond * decayed);
    return sum + (live[i] ?? 0) * share;
  }, 0);
}

function notesOf(
  series: ValueSeries,
  used: number,
  leftOut: number,
  meanIngrowth: number,
  basis: string,
): string[] {
  const intervals = (n: number) => (n === 1 ? '1 interval' : `${n} intervals`);
  const notes = [used === 1 ? 'One interval alone.' : `Mean of ${intervals(used)} by live time.`];
  if (leftOut > 0)
    notes.push(
      `${intervals(leftOut)} left out: ${leftOut === 1 ? 'it starts' : 'they start'} less than ${series.ingrowthS / 60} min after the fill, before ingrowth is over.`,
    );
  if (Math.abs(meanIngrowth - 1) > 0.01)
    notes.push(
      `Ingrowth in the intervals used is ${(100 * meanIngrowth).toFixed(1)} % of full; the value is not corrected for that.`,
    );
  if (basis === 'assumed')
    notes.push(`No uncertainty stated and too few intervals: ${100 * ASSUMED_RELATIVE_U} % assumed.`);
  return notes;
}
