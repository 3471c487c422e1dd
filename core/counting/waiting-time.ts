import { AppError } from '../errors.ts';
import type { CountingWindow } from './detector.ts';
import { countsOf } from './detector.ts';
import { decaysPerBq } from './history.ts';
import { RADON_CHAIN } from './nuclides.ts';

export interface HotHole {
  readonly window: CountingWindow;
  /** What was in the chamber, and how long. */
  readonly radonKBqPerM3: number;
  readonly stayedS: number;
  /** Share of its gas that is left once the next sample is in. */
  readonly gasLeft: number;
  readonly progenyLeft: number;
  /** Next sample: value expected, time from its fill to the first count, and time counted. */
  readonly expectedKBqPerM3: number;
  readonly countAfterS: number;
  readonly countForS: number;
}

export type Wait =
  | { readonly kind: 'wait'; readonly seconds: number; readonly gasShare: number }
  /** Waiting does not help: gas left alone is more than allowed. Flush with clean air, or change tube and dryer. */
  | { readonly kind: 'flush'; readonly gasShare: number };

/** Longest wait looked at: a working day. */
const LONGEST_S = 12 * 3600;

/**
 * Counts of a previous sample as a share of the next one's, when the next fill comes `waitS` after the flush.
 * Both fills at once; without background.
 */
export function carryOverShare(hole: HotHole, waitS: number): number {
  const fillAt = hole.stayedS + waitS;
  const from = fillAt + hole.countAfterS;
  const span = [{ startS: from, endS: from + hole.countForS }];
  const atOnce = (t: number) => ({ startS: t, endS: t, way: { kind: 'at-once' } as const, transitS: 0 });
  const left = decaysPerBq(RADON_CHAIN, atOnce(0), span, {
    startS: hole.stayedS,
    endS: hole.stayedS,
    gasLeft: hole.gasLeft,
    progenyLeft: hole.progenyLeft,
  });
  const next = decaysPerBq(RADON_CHAIN, atOnce(fillAt), span);
  const before = hole.radonKBqPerM3 * countsOf(hole.window, RADON_CHAIN, left[0] ?? []);
  return before / (hole.expectedKBqPerM3 * countsOf(hole.window, RADON_CHAIN, next[0] ?? []));
}

/**
 * Time from flushing a hot sample to the next fill after which its carry-over is under `share` of the next value.
 * @throws AppError BAD_INPUT for a share or an expected value not over 0
 */
export function waitUntilCarryOver(hole: HotHole, share: number): Wait {
  if (!(share > 0 && hole.expectedKBqPerM3 > 0 && hole.countForS > 0))
    throw new AppError(
      'BAD_INPUT',
      `Share (${share}), expected value (${hole.expectedKBqPerM3} kBq/m3) and counting time must be over 0`,
      { field: 'share' },
    );
  const gasShare = (hole.gasLeft * hole.radonKBqPerM3) / hole.expectedKBqPerM3;
  if (carryOverShare(hole, LONGEST_S) > share) return { kind: 'flush', gasShare };
  if (carryOverShare(hole, 0) <= share) return { kind: 'wait', seconds: 0, gasShare };
  // Falls with time: progeny only decay once their gas is gone, and gas left stays in proportion.
  let low = 0;
  let high = LONGEST_S;
  while (high - low > 1) {
    const middle = (low + high) / 2;
    if (carryOverShare(hole, middle) > share) low = middle;
    else high = middle;
  }
  return { kind: 'wait', seconds: high, gasShare };
}
