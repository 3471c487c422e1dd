import { AppError } from '../errors.ts';
import { normalCdf, normalQuantile } from '../geostat/normal.ts';
import type { PlannedInterval } from './counting-plan.ts';
import { planCounting } from './counting-plan.ts';
import type { CountedSample } from './reduce-counts.ts';
import { reduceCounts, uIfTrue } from './reduce-counts.ts';

export interface LiveVerdict {
  /** Estimate from the intervals so far: the final value expected. */
  readonly predictedKBqPerM3: number;
  readonly uNowKBqPerM3: number;
  /** Standard uncertainty the result will have when all intervals are counted. */
  readonly uFinalKBqPerM3: number;
  /** Where the final estimate will lie with 95 %: narrower than the doubt about the ground itself. */
  readonly finalRangeKBqPerM3: readonly [low: number, high: number];
  /** Chance that the ground is above the limit asked for; null where none was given. Calibration included. */
  readonly chanceAbove: number | null;
  readonly fitP: number | null;
  readonly notes: readonly string[];
}

/**
 * What the sample will come to, from its first intervals. An estimate that gets more data moves by a normal deviate of
 * variance u_now^2 - u_final^2 (the information of the later intervals).
 * @param sample with the intervals counted so far
 * @param toCome intervals still to be counted
 */
export function predictFinal(
  sample: CountedSample,
  toCome: readonly PlannedInterval[],
  limitKBqPerM3: number | null = null,
): LiveVerdict {
  const last = Math.max(...sample.intervals.map((i) => i.endS));
  const overlap = toCome.find((i) =>
    sample.intervals.some((s) => s.windowId === i.windowId && i.startS < s.endS && s.startS < i.endS),
  );
  if (overlap !== undefined)
    throw new AppError(
      'BAD_INPUT',
      `The interval to come from ${overlap.startS} s overlaps one already counted (until ${last} s)`,
      { field: 'toCome' },
    );
  const now = reduceCounts(sample);
  const predicted = now.estimateKBqPerM3;
  const whole = planCounting({ ...sample, intervals: [...sample.intervals, ...toCome] });
  const soFar = planCounting(sample);
  const at = Math.max(0, predicted);
  // The ratio keeps what the data say of their own scatter; the plans say what more intervals bring.
  const uFinal = now.randomUKBqPerM3 * Math.min(1, uIfTrue(whole, at) / uIfTrue(soFar, at));
  const move = Math.sqrt(Math.max(0, now.randomUKBqPerM3 ** 2 - uFinal ** 2));
  const k = normalQuantile(0.975);
  const total = Math.hypot(now.randomUKBqPerM3, now.commonURel * predicted);
  return {
    predictedKBqPerM3: predicted,
    uNowKBqPerM3: now.randomUKBqPerM3,
    uFinalKBqPerM3: uFinal,
    finalRangeKBqPerM3: [predicted - k * move, predicted + k * move],
    chanceAbove: limitKBqPerM3 === null ? null : normalCdf((predicted - limitKBqPerM3) / total),
    fitP: now.fit?.pPearson ?? null,
    notes: now.notes,
  };
}
