// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Places of which only a lower bound is known (a diluted sample): the truth there is drawn, under each model, from what
 * the values say of it, cut off below the bound (data augmentation: Tanner and Wong, J. Am. Stat. Assoc. 82, 1987), and
 * then kriged with like a value. Draws by Gibbs sampling, one coordinate given the others (Geweke 1991).
 */
import { type RandomStream, randomStream } from '../classify/random.ts';
import { AppError } from '../errors.ts';
import type { DualSystem } from './krige-many.ts';
import { type KrigingState, solveDual } from './kriging.ts';
import { normalCdf, normalQuantile } from './normal.ts';
import type { PointSet } from './points.ts';
import { factorCholesky, invertFromFactor } from './solve.ts';

export interface LowerBounds {
  /** Positions in metres, interleaved. */
  readonly xy: Float64Array;
  /** The truth is above this, in the unit of the values. */
  readonly bounds: Float64Array;
  /**
   * How a bound came about. 'diluted' (default): the truth mixed with any share of other air, all shares alike, so a truth
   * t > bound is the likelier the nearer it lies (density of the bound 1 / t). 'cut': only 'more than' is known.
   */
  readonly origin?: BoundOrigin;
}

export type BoundOrigin = 'diluted' | 'cut';

/** What the density of the bounds is in terms of the truth x on the scale that is kriged: 1, 1 / x or exp(-x). */
export type Tilt = 'flat' | 'inverse' | 'exponential';

export function tiltOf(origin: BoundOrigin | undefined, transform: 'none' | 'log'): Tilt {
  if (origin === 'cut') return 'flat';
  return transform === 'log' ? 'exponential' : 'inverse';
}

/** Points of a surface: values, and places that are only known to lie above a bound. */
export interface SurfacePoints extends PointSet {
  readonly lowerBounds?: LowerBounds;
}

/** Under one model, what the values say of the truth at the bounded places. Of the values after the transform. */
export interface BoundedTruth {
  /** Ordered point number of each bounded place in the state that holds values and bounded places. */
  readonly rows: Int32Array;
  readonly bounds: Float64Array;
  readonly tilt: Tilt;
  readonly mean: Float64Array;
  /** Inverse of the covariance given the values, b x b. */
  readonly precision: Float64Array;
  /** Lower Cholesky factor of that covariance, b x b. */
  readonly factor: Float64Array;
  /** The system solved for value 1 at one bounded place and 0 elsewhere, for each. */
  readonly units: readonly DualSystem[];
}

/** Each draw is the end of a chain of its own, so that draws do not depend on each other. */
const SWEEPS = 40;
const PROBABILITY_DRAWS = 200;

/** @throws AppError BAD_INPUT for lengths that do not fit or a number that is not finite */
export function checkLowerBounds({ xy, bounds }: LowerBounds): void {
  if (xy.length !== 2 * bounds.length)
    throw new AppError('BAD_INPUT', `Lower bounds: ${xy.length} coordinates for ${bounds.length} bounds`);
  bounds.forEach((bound, i) => {
    if (!Number.isFinite(bound) || !Number.isFinite(xy[2 * i]) || !Number.isFinite(xy[2 * i + 1]))
      throw new AppError(
        'BAD_INPUT',
        `Lower bound ${i + 1}: ${bound} at ${xy[2 * i]}, ${xy[2 * i + 1]} is not finite`,
        { bound: i },
      );
  });
}

/**
 * Values and bounded places as one set, bounded places last and without error; any finite numbers stand for the truth.
 * `points` and `bounds` are of the values after the transform.
 */
export function joinBounded(points: PointSet, xy: Float64Array, standIn: number): PointSet {
  const b = xy.length / 2;
  const n = points.values.length;
  const values = new Float64Array(n + b).fill(standIn);
  values.set(points.values);
  const errorVariances = new Float64Array(n + b);
  if (points.errorVariances !== undefined) errorVariances.set(points.errorVariances);
  const all = new Float64Array(2 * (n + b));
  all.set(points.xy);
  all.set(xy, 2 * n);
  return { xy: all, values, errorVariances };
}

/** @param state global, of `joinBounded` points. @param errorFactor widens what the values leave open */
export function boundedTruth(
  state: KrigingState,
  bounds: Float64Array,
  tilt: Tilt,
  errorFactor: number,
): BoundedTruth {
  const { points, driftColumns: p } = state;
  const { n } = points;
  const { factor, whitenedDrift, driftFactor, dual } = state.system!;
  const b = bounds.length;
  const rows = new Int32Array(b);
  points.order.forEach((caller, i) => {
    if (caller >= n - b) rows[caller - (n - b)] = i;
  });
  const units = Array.from(rows, (row): DualSystem => {
    const unit = { dual: new Float64Array(n), drift: new Float64Array(p) };
    const values = new Float64Array(n);
    values[row] = 1;
    solveDual(values, 0, factor, whitenedDrift, driftFactor, n, p, unit.dual, unit.drift);
    return unit;
  });
  // the dual is the precision times the values: its rows at the bounded places give mean and covariance there
  const precision = new Float64Array(b * b);
  for (let i = 0; i < b; i++) for (let j = 0; j < b; j++) precision[i * b + j] = units[j]!.dual[rows[i]!]!;
  const lower = precision.slice();
  if (factorCholesky(lower, b) >= 0)
    throw new AppError('SINGULAR', `Lower bounds: the truth at ${b} places follows from the values already`);
  const covariance = invertFromFactor(lower, b);
  const mean = new Float64Array(b);
  for (let i = 0; i < b; i++) {
    let sum = points.values[rows[i]!]!;
    for (let j = 0; j < b; j++) sum -= covariance[i * b + j]! * dual[rows[j]!]!;
    mean[i] = sum;
  }
  const wide = covariance.map((v) => v * errorFactor ** 2);
  const narrow = precision.map((v) => v / errorFactor ** 2);
  if (factorCholesky(wide, b) >= 0)
    throw new AppError('SINGULAR', `Lower bounds: two of ${b} places are the same for the model`);
  return { rows, bounds, tilt, mean, precision: narrow, factor: wide, units };
}

/** Standard normal deviate above `low`. */
function normalAbove(low: number, random: RandomStream): number {
  const u = 1 - random.uniform();
  // so far out the tail is exponential within 1e-3 of its own width
  if (low > 30) return low - Math.log(u) / low;
  return -normalQuantile(u * normalCdf(-low));
}

const MOST_TRIES = 200;

/** A truth above its bound from the normal distribution times the tilt. */
function drawAbove(centre: number, sd: number, bound: number, tilt: Tilt, random: RandomStream): number {
  // times exp(-x) a normal distribution is one again, its mean lower by the variance
  const middle = tilt === 'exponential' ? centre - sd * sd : centre;
  let x = 0;
  for (let tries = 0; tries < MOST_TRIES; tries++) {
    x = Math.max(bound, middle + sd * normalAbove((bound - middle) / sd, random));
    // 1 / x is at most 1 / bound; of a bound of 0 or less it says nothing
    if (tilt !== 'inverse' || !(bound > 0) || random.uniform() * x < bound) break;
  }
  return x;
}

/** One draw of the truth at the bounded places, every one above its bound. */
export function drawTruth(truth: BoundedTruth, random: RandomStream): Float64Array {
  const { bounds, mean, precision, tilt } = truth;
  const b = bounds.length;
  const x = bounds.map((bound, i) => Math.max(bound, mean[i]!));
  for (let sweep = 0; sweep < (b === 1 ? 1 : SWEEPS); sweep++) {
    for (let i = 0; i < b; i++) {
      const own = precision[i * b + i]!;
      let pull = 0;
      for (let j = 0; j < b; j++) if (j !== i) pull += precision[i * b + j]! * (x[j]! - mean[j]!);
      const centre = mean[i]! - pull / own;
      x[i] = drawAbove(centre, 1 / Math.sqrt(own), bounds[i]!, tilt, random);
    }
  }
  return x;
}

/** Draws `count` times, as count x b. */
export function drawTruths(truth: BoundedTruth, count: number, seed: number, stream: number): Float64Array {
  const b = truth.bounds.length;
  const out = new Float64Array(count * b);
  for (let d = 0; d < count; d++) out.set(drawTruth(truth, randomStream(seed, stream + d)), d * b);
  return out;
}

/**
 * Logarithm of the probability (for diluted places, the density) of the bounds by the values alone: importance sampling
 * one coordinate after the other (Geweke, Hajivassiliou and Keane; see Genz, J. Comput. Graph. Stat. 1, 1992).
 */
export function logProbabilityOfBounds(truth: BoundedTruth, seed: number): number {
  const { bounds, mean, factor, tilt } = truth;
  const b = bounds.length;
  const logs = new Float64Array(b === 1 && tilt !== 'inverse' ? 1 : PROBABILITY_DRAWS);
  const e = new Float64Array(b);
  logs.forEach((_, d) => {
    const random = randomStream(seed, d);
    let log = 0;
    for (let i = 0; i < b; i++) {
      let centre = mean[i]!;
      for (let k = 0; k < i; k++) centre += factor[i * b + k]! * e[k]!;
      const sd = factor[i * b + i]!;
      const middle = tilt === 'exponential' ? centre - sd * sd : centre;
      const low = (bounds[i]! - middle) / sd;
      log += low > 37 ? -0.5 * low * low - Math.log(low) : Math.log(normalCdf(-low));
      if (tilt === 'exponential') log += sd ** 2 / 2 - centre;
      const x = middle + sd * normalAbove(low, random);
      if (tilt === 'inverse' && bounds[i]! > 0) log -= Math.log(x);
      e[i] = (x - centre) / sd;
    }
    logs[d] = log;
  });
  const top = logs.reduce((m, l) => Math.max(m, l), Number.NEGATIVE_INFINITY);
  return top + Math.log(logs.reduce((sum, l) => sum + Math.exp(l - top), 0) / logs.length);
}

/** Midpoints of equal parts of the cut-off distribution that stand for it. */
const PARTS = 64;

/** Mean and variance of one normal truth above its bound, tilted. */
export function momentsAbove(
  mean: number,
  variance: number,
  bound: number,
  tilt: Tilt,
): { readonly mean: number; readonly variance: number } {
  const sd = Math.sqrt(variance);
  const middle = tilt === 'exponential' ? mean - variance : mean;
  const low = (bound - middle) / sd;
  if (low > 30) return { mean: bound + sd / low, variance: (sd / low) ** 2 };
  let mass = 0;
  let first = 0;
  let second = 0;
  for (let k = 0; k < PARTS; k++) {
    const x = middle - sd * normalQuantile(((k + 0.5) / PARTS) * normalCdf(-low));
    const weight = tilt === 'inverse' && bound > 0 ? 1 / x : 1;
    mass += weight;
    first += weight * x;
    second += weight * x * x;
  }
  first /= mass;
  return { mean: first, variance: Math.max(0, second / mass - first * first) };
}
