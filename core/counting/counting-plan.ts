// biome-ignore-all lint/style/noNonNullAssertion: indices run over arrays built here
import { AppError } from '../errors.ts';
import type { BackgroundCount, CountingWindow, Detector } from './detector.ts';
import { countsOf, windowById } from './detector.ts';
import type { Emptying, Fill } from './history.ts';
import { decaysPerBq } from './history.ts';
import type { Nuclide } from './nuclides.ts';
import { RADON_CHAIN, THORON_CHAIN } from './nuclides.ts';
import type { PoissonModel } from './poisson-fit.ts';

export interface PlannedInterval {
  readonly windowId: string;
  readonly startS: number;
  readonly endS: number;
  /** Time the counter was live; as long as the interval where not given. */
  readonly liveS?: number;
}

/** A sample that was in the chamber before this one. */
export interface PreviousSample {
  readonly fill: Fill;
  readonly emptying: Emptying;
  readonly radonKBqPerM3: number;
  readonly uKBqPerM3: number;
  /** Standard uncertainty of `emptying.gasLeft`. */
  readonly gasLeftU: number;
}

export interface CountingSetup {
  readonly detector: Detector;
  readonly fill: Fill;
  readonly intervals: readonly PlannedInterval[];
  /** One for each window used. */
  readonly background: readonly BackgroundCount[];
  readonly previous: readonly PreviousSample[];
  /** 'fit' finds thoron beside radon; 'none' takes its counts for nought (after a wait, or a window free of it). */
  readonly thoron: 'none' | 'fit';
}

/** Everything of the fit that does not hang on the counts: computed once for all samples counted the same way. */
export interface CountingPlan {
  readonly setup: CountingSetup;
  readonly model: PoissonModel;
  readonly radonColumn: 0;
  readonly thoronColumn: 1 | null;
  readonly firstBackgroundColumn: number;
  readonly backgroundWindowIds: readonly string[];
}

const BQ_PER_KBQ = 1000;

/**
 * Expected counts of each interval as a linear model: radon and thoron in kBq/m3, background rate of each window,
 * deviation of each previous sample's concentration and of the gas share it left. Rows: intervals, then backgrounds.
 * @throws AppError BAD_INPUT for an interval that is empty, before the fill, or of a window without a background
 */
export function planCounting(setup: CountingSetup): CountingPlan {
  const { detector, intervals, previous } = setup;
  if (intervals.length === 0)
    throw new AppError('BAD_INPUT', 'A sample needs at least one counting interval', { field: 'intervals' });
  intervals.forEach((interval, i) => {
    checkInterval(interval, setup.fill, i);
  });
  const windows = intervals.map((i) => windowById(detector, i.windowId));
  const used = [...new Set(intervals.map((i) => i.windowId))];
  const backgrounds = used.map((id) => backgroundOf(setup, id));
  const perKBqPerM3 = (chain: readonly Nuclide[], fill: Fill, emptying: Emptying | null) =>
    responses(chain, detector, fill, emptying, intervals, windows);
  const columnsOf: number[][] = [perKBqPerM3(RADON_CHAIN, setup.fill, null)];
  const precisions = [0];
  if (setup.thoron === 'fit') {
    columnsOf.push(perKBqPerM3(THORON_CHAIN, setup.fill, null));
    precisions.push(0);
  }
  const firstBackgroundColumn = columnsOf.length;
  for (const id of used) {
    columnsOf.push(intervals.map((i) => (i.windowId === id ? liveSeconds(i) : 0)));
    precisions.push(0);
  }
  const carried = intervals.map(() => 0);
  for (const p of previous) {
    const whole = perKBqPerM3(RADON_CHAIN, p.fill, p.emptying);
    whole.forEach((w, i) => {
      carried[i] = carried[i]! + p.radonKBqPerM3 * w;
    });
    if (p.uKBqPerM3 > 0) {
      columnsOf.push(whole);
      precisions.push(1 / p.uKBqPerM3 ** 2);
    }
    if (p.gasLeftU > 0 && p.radonKBqPerM3 > 0) {
      columnsOf.push(gasLeftSlope(p, perKBqPerM3));
      precisions.push(1 / p.gasLeftU ** 2);
    }
  }
  const rows = intervals.length + used.length;
  const columns = columnsOf.length;
  const design = new Float64Array(rows * columns);
  columnsOf.forEach((column, j) => {
    column.forEach((x, r) => {
      design[r * columns + j] = x;
    });
  });
  backgrounds.forEach((b, w) => {
    design[(intervals.length + w) * columns + firstBackgroundColumn + w] = b.liveS;
  });
  const offset = new Float64Array(rows);
  offset.set(carried);
  return {
    setup,
    model: { rows, columns, design, offset, precision: Float64Array.from(precisions) },
    radonColumn: 0,
    thoronColumn: setup.thoron === 'fit' ? 1 : null,
    firstBackgroundColumn,
    backgroundWindowIds: used,
  };
}

/** Counts in each interval for 1 kBq/m3. */
function responses(
  chain: readonly Nuclide[],
  detector: Detector,
  fill: Fill,
  emptying: Emptying | null,
  intervals: readonly PlannedInterval[],
  windows: readonly CountingWindow[],
): number[] {
  const becquerel = BQ_PER_KBQ * detector.chamberVolumeM3;
  return decaysPerBq(chain, fill, intervals, emptying).map((decays, i) => {
    const interval = intervals[i]!;
    const live = liveSeconds(interval) / (interval.endS - interval.startS);
    return becquerel * live * countsOf(windows[i]!, chain, decays);
  });
}

/** Change of the carried counts for each unit of the share of gas left, over one standard uncertainty each way. */
function gasLeftSlope(
  p: PreviousSample,
  perKBqPerM3: (chain: readonly Nuclide[], fill: Fill, emptying: Emptying) => number[],
): number[] {
  const low = Math.max(0, p.emptying.gasLeft - p.gasLeftU);
  const high = Math.min(1, p.emptying.gasLeft + p.gasLeftU);
  const at = (gasLeft: number) => perKBqPerM3(RADON_CHAIN, p.fill, { ...p.emptying, gasLeft });
  const [a, b] = [at(low), at(high)];
  return a.map((x, i) => (p.radonKBqPerM3 * (b[i]! - x)) / (high - low));
}

export function liveSeconds(interval: PlannedInterval): number {
  return interval.liveS ?? interval.endS - interval.startS;
}

function checkInterval(interval: PlannedInterval, fill: Fill, index: number): void {
  const where = `Interval ${index + 1} (${interval.startS} to ${interval.endS} s)`;
  const details = { field: 'intervals', index };
  if (!(interval.endS > interval.startS)) throw new AppError('BAD_INPUT', `${where} has no length`, details);
  if (interval.startS < fill.startS)
    throw new AppError(
      'BAD_INPUT',
      `${where} starts before the chamber is filled (${fill.startS} s)`,
      details,
    );
  const live = liveSeconds(interval);
  if (!(live > 0 && live <= interval.endS - interval.startS))
    throw new AppError('BAD_INPUT', `${where} has a live time of ${live} s`, details);
}

function backgroundOf(setup: CountingSetup, windowId: string): BackgroundCount {
  const found = setup.background.find((b) => b.windowId === windowId);
  if (found === undefined || !(found.liveS > 0) || !(found.counts >= 0))
    throw new AppError(
      'BAD_INPUT',
      `Window '${windowId}' needs a background count with its time: without one no limit of detection exists`,
      { field: 'background', window: windowId },
    );
  return found;
}
