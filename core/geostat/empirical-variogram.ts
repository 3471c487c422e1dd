// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { AppError } from '../errors.ts';
import { checkPoints, type PointSet } from './points.ts';

/** Every pair once: distance, half squared difference, azimuth of the line in [0, 180), and the two points. */
export interface VariogramCloud {
  readonly distM: Float64Array;
  readonly halfSquare: Float64Array;
  readonly azimuthDeg: Float64Array;
  readonly first: Int32Array;
  readonly second: Int32Array;
}

export interface EmpiricalVariogram {
  readonly cutoffM: number;
  readonly lagM: number;
  /** Pairs in each bin that holds any. */
  readonly pairs: Float64Array;
  /** Mean pair distance, not the bin centre. */
  readonly distM: Float64Array;
  readonly semivariance: Float64Array;
}

export interface LagOptions {
  readonly cutoffM: number;
  readonly lagM: number;
}

export interface EmpiricalOptions extends Partial<LagOptions> {
  /** 'classical' is Matheron's mean of half squares; 'robust' is Cressie and Hawkins (1980). */
  readonly estimator?: 'classical' | 'robust';
  /** Azimuth clockwise from north; pairs within `toleranceDeg` either side, modulo 180. */
  readonly direction?: { readonly azimuthDeg: number; readonly toleranceDeg: number };
  /** Neighbouring bins are joined until each holds this many pairs; the last joins backwards. Default 1: no joining. */
  readonly minimumPairs?: number;
}

/** Pairs up to `cutoffM` apart (all where it is left out), in order of the points. */
export function variogramCloud(points: PointSet, cutoffM = Number.POSITIVE_INFINITY): VariogramCloud {
  checkPoints(points);
  const { xy, values } = points;
  const n = values.length;
  const capacity = (n * (n - 1)) / 2;
  const distM = new Float64Array(capacity);
  const halfSquare = new Float64Array(capacity);
  const azimuthDeg = new Float64Array(capacity);
  const first = new Int32Array(capacity);
  const second = new Int32Array(capacity);
  let count = 0;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const dx = xy[2 * j]! - xy[2 * i]!;
      const dy = xy[2 * j + 1]! - xy[2 * i + 1]!;
      const h = Math.sqrt(dx * dx + dy * dy);
      if (h > cutoffM) continue;
      const difference = values[j]! - values[i]!;
      distM[count] = h;
      halfSquare[count] = 0.5 * difference * difference;
      const azimuth = (Math.atan2(dx, dy) * 180) / Math.PI;
      azimuthDeg[count] = (azimuth + 360) % 180;
      first[count] = i;
      second[count] = j;
      count++;
    }
  }
  return {
    distM: distM.slice(0, count),
    halfSquare: halfSquare.slice(0, count),
    azimuthDeg: azimuthDeg.slice(0, count),
    first: first.slice(0, count),
    second: second.slice(0, count),
  };
}

/** Common practice: cutoff a third of the bounding-box diagonal, 15 lags. */
export function defaultLags(points: PointSet): LagOptions {
  const { xy } = points;
  let minX = Number.POSITIVE_INFINITY;
  let minY = Number.POSITIVE_INFINITY;
  let maxX = Number.NEGATIVE_INFINITY;
  let maxY = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < xy.length; i += 2) {
    minX = Math.min(minX, xy[i]!);
    maxX = Math.max(maxX, xy[i]!);
    minY = Math.min(minY, xy[i + 1]!);
    maxY = Math.max(maxY, xy[i + 1]!);
  }
  const cutoffM = Math.hypot(maxX - minX, maxY - minY) / 3;
  return { cutoffM, lagM: cutoffM / 15 };
}

/**
 * Distance to the nearest neighbour at another place; NaN where there is none.
 * @param sources of how many points, taken at equal steps of their order; default all
 */
export function nearestSpacings(xy: Float64Array, sources = xy.length / 2): Float64Array {
  const n = xy.length / 2;
  const out = new Float64Array(sources).fill(Number.NaN);
  for (let s = 0; s < sources; s++) {
    const i = Math.floor((s * n) / sources);
    let best = Number.POSITIVE_INFINITY;
    for (let j = 0; j < n; j++) {
      const dx = xy[2 * j]! - xy[2 * i]!;
      const dy = xy[2 * j + 1]! - xy[2 * i + 1]!;
      const d2 = dx * dx + dy * dy;
      if (d2 > 0 && d2 < best) best = d2;
    }
    if (Number.isFinite(best)) out[s] = Math.sqrt(best);
  }
  return out;
}

/**
 * Lags for a handful of points: lag about the typical (median) spacing of neighbours, longest lag half the largest
 * distance (common practice: beyond it the pairs all come from the rim), at most 15 lags. Use with
 * `minimumPairs` about 10.
 * @throws AppError BAD_INPUT where fewer than two places are occupied
 */
export function sparseLags(points: PointSet): LagOptions {
  const spacings = nearestSpacings(points.xy).filter(Number.isFinite).sort();
  if (spacings.length === 0)
    throw new AppError(
      'BAD_INPUT',
      `A variogram needs points at two places or more; ${points.values.length} given`,
    );
  let largest = 0;
  const { xy } = points;
  for (let i = 0; i < xy.length; i += 2)
    for (let j = i + 2; j < xy.length; j += 2)
      largest = Math.max(largest, Math.hypot(xy[j]! - xy[i]!, xy[j + 1]! - xy[i + 1]!));
  const cutoffM = largest / 2;
  const typical = spacings[spacings.length >> 1]!;
  return { cutoffM, lagM: Math.min(Math.max(typical, cutoffM / 15), cutoffM) };
}

/**
 * Binned estimate. Bins are (k lag, (k+1) lag], pairs up to and including the cutoff; co-located pairs fall in the
 * first bin (and in no direction). Bins without pairs are left out.
 * @param options lags default to {@link defaultLags}
 * @throws AppError BAD_INPUT for a lag or cutoff that is not above 0
 */
export function empiricalVariogram(points: PointSet, options: EmpiricalOptions = {}): EmpiricalVariogram {
  const fallback = defaultLags(points);
  const cutoffM = options.cutoffM ?? fallback.cutoffM;
  const lagM = options.lagM ?? cutoffM / 15;
  if (!(cutoffM > 0) || !(lagM > 0))
    throw new AppError('BAD_INPUT', `Variogram lags: cutoff ${cutoffM} m and lag ${lagM} m must be above 0`);
  const cloud = variogramCloud(points, cutoffM);
  const bins = Math.max(1, Math.ceil(cutoffM / lagM));
  const pairs = new Float64Array(bins);
  const distSum = new Float64Array(bins);
  const valueSum = new Float64Array(bins);
  const robust = options.estimator === 'robust';
  const { direction } = options;
  for (let i = 0; i < cloud.distM.length; i++) {
    const h = cloud.distM[i]!;
    if (direction !== undefined) {
      if (h === 0) continue;
      const turn = Math.abs(cloud.azimuthDeg[i]! - (((direction.azimuthDeg % 180) + 180) % 180));
      if (Math.min(turn, 180 - turn) > direction.toleranceDeg) continue;
    }
    const bin = Math.min(bins - 1, Math.max(0, Math.ceil(h / lagM) - 1));
    pairs[bin] = pairs[bin]! + 1;
    distSum[bin] = distSum[bin]! + h;
    const half = cloud.halfSquare[i]!;
    // sqrt(|difference|) is the fourth root of the square
    valueSum[bin] = valueSum[bin]! + (robust ? Math.sqrt(Math.sqrt(2 * half)) : half);
  }
  const joined = joinBins(pairs, distSum, valueSum, options.minimumPairs ?? 1);
  const distM = joined.distSum.map((sum, i) => sum / joined.pairs[i]!);
  const semivariance = joined.valueSum.map((sum, i) => {
    const np = joined.pairs[i]!;
    return robust ? (0.5 * (sum / np) ** 4) / (0.457 + 0.494 / np) : sum / np;
  });
  return { cutoffM, lagM, pairs: joined.pairs, distM, semivariance };
}

function joinBins(
  pairs: Float64Array,
  distSum: Float64Array,
  valueSum: Float64Array,
  minimum: number,
): { pairs: Float64Array; distSum: Float64Array; valueSum: Float64Array } {
  const groups: [number, number, number][] = [];
  let open = false;
  for (let b = 0; b < pairs.length; b++) {
    if (pairs[b] === 0) continue;
    if (!open) groups.push([0, 0, 0]);
    const group = groups.at(-1)!;
    group[0] += pairs[b]!;
    group[1] += distSum[b]!;
    group[2] += valueSum[b]!;
    open = group[0] < minimum;
  }
  if (open && groups.length > 1) {
    const [np, dist, value] = groups.pop()!;
    const last = groups.at(-1)!;
    last[0] += np;
    last[1] += dist;
    last[2] += value;
  }
  const column = (k: 0 | 1 | 2) => Float64Array.from(groups, (g) => g[k]);
  return { pairs: column(0), distSum: column(1), valueSum: column(2) };
}
