import type { PositionM } from '../contract/model.ts';

/** One probe's value as its neighbours see it. */
export interface ProbeLevel {
  readonly probeId: string;
  readonly positionM: PositionM;
  readonly radonKBqPerM3: number;
  /** False keeps it from speaking for others (already found diluted); it is still judged itself. */
  readonly trusted: boolean;
}

export interface NeighbourView {
  /** Robust standard deviation of log values about their neighbours, the same for all probes. */
  readonly logSd: number;
  /** What the neighbours predict, kBq/m3. */
  readonly predictedKBqPerM3: number;
  readonly neighbourCount: number;
}

/** At least so many nearest, with all that stand equally far. */
const NEIGHBOURS = 6;
const FEWEST_TRUSTED = 8;
/** Logs scatter at least this much (a factor of 1.22) between holes of quiet ground: one lot gave 13 to 26 per cent. */
const LEAST_SCATTER = 0.2;

/**
 * Leave-one-out comparison of each probe with the median of its nearest trusted neighbours, on log values. The
 * scatter is the median absolute deviation of all such differences (times 1.4826), never under a floor.
 * Empty where fewer than 8 probes can be trusted: then nothing can be said. Values of 0 count as 0.01 kBq/m3.
 */
export function compareWithNeighbours(levels: readonly ProbeLevel[]): Map<string, NeighbourView> {
  const trusted = levels.filter((l) => l.trusted);
  const views = new Map<string, NeighbourView>();
  if (trusted.length < FEWEST_TRUSTED) return views;
  const logOf = (l: ProbeLevel) => logRadon(l.radonKBqPerM3);
  const differences = levels.map((level) => {
    const near = nearestTo(level, trusted);
    const predicted = median(near.map(logOf));
    return { level, predicted, difference: logOf(level) - predicted, count: near.length };
  });
  const scatter =
    median(differences.filter((d) => d.level.trusted).map((d) => Math.abs(d.difference))) * 1.4826;
  const sd = Math.max(scatter, LEAST_SCATTER);
  for (const d of differences) {
    views.set(d.level.probeId, {
      logSd: sd,
      predictedKBqPerM3: Math.exp(d.predicted),
      neighbourCount: d.count,
    });
  }
  return views;
}

function nearestTo(level: ProbeLevel, trusted: readonly ProbeLevel[]): ProbeLevel[] {
  const squares = trusted.map((t) => (t.probeId === level.probeId ? Number.NaN : squaredDistance(t, level)));
  const nearest: number[] = [];
  let reach = Number.POSITIVE_INFINITY;
  for (const d of squares) {
    if (!(d < reach)) continue;
    nearest.push(d);
    nearest.sort((a, b) => a - b);
    nearest.length = Math.min(nearest.length, NEIGHBOURS);
    if (nearest.length === NEIGHBOURS) reach = nearest[NEIGHBOURS - 1] ?? reach;
  }
  // On a regular grid several stand equally far: all of them, or the order of rows would choose.
  return trusted.filter((_, i) => (squares[i] ?? Number.NaN) <= reach * (1 + 1e-9));
}

function logRadon(radonKBqPerM3: number): number {
  return Math.log(Math.max(radonKBqPerM3, 0.01));
}

/** How many robust standard deviations a value lies over (+) or under (-) what its neighbours predict. */
export function neighbourZ(radonKBqPerM3: number, view: NeighbourView): number {
  return (logRadon(radonKBqPerM3) - Math.log(view.predictedKBqPerM3)) / view.logSd;
}

function squaredDistance(a: ProbeLevel, b: ProbeLevel): number {
  const dx = a.positionM[0] - b.positionM[0];
  const dy = a.positionM[1] - b.positionM[1];
  return dx * dx + dy * dy;
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  const upper = sorted[middle] ?? Number.NaN;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? Number.NaN) + upper) / 2;
}
