// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** From points and a choice of models to estimate and standard error in the unit of the values. */

import { type BoundedMember, boundMembers } from './bound-members.ts';
import { crossValidateIdw, crossValidateKriging, type LeaveOneOut, summarise } from './cross-validate.ts';
import { type IdwOptions, type IdwState, idwEstimator, idwInto, prepareIdw } from './idw.ts';
import { type KrigingPredictor, krigingPredictor } from './krige.ts';
import { addKriged, pointsAtCells } from './krige-many.ts';
import { type KrigingOptions, type KrigingState, prepareKriging } from './kriging.ts';
import { exceedanceProbability, lognormalMean, lognormalMeanUnbiased, lognormalSd } from './lognormal.ts';
import type { SurfacePoints } from './lower-bounds.ts';
import { quickNormalCdf } from './normal-table.ts';
import { crossValidationNeighbourhood, type ModelMember, transformPoints } from './plausible-models.ts';
import type { Allocate, PointSet } from './points.ts';

/** Models whose predictions are averaged by weight (one member: that model alone), or inverse distances. */
export type SurfaceMethod =
  | {
      readonly method: 'kriging';
      readonly members: readonly ModelMember[];
      readonly options: Pick<KrigingOptions, 'knownMean' | 'drift' | 'neighbourhood' | 'block'>;
      /**
       * Each model's own errors are multiplied by this, as cross-validation taught: in standard error, probability and
       * realisations alike. The estimate does not change. Default 1.
       */
      readonly errorFactor?: number;
    }
  | { readonly method: 'idw'; readonly options: IdwOptions };

export interface Surface {
  /** Mean of the value (not its median), also where the logarithm was kriged. */
  readonly estimate: Float64Array;
  /** Standard deviation of a value at the cell, nugget included; NaN for IDW, which has no error of its own. */
  readonly standardError: Float64Array;
  /** Probability above the limit asked for; null where none was, NaN for IDW. */
  readonly exceedance: Float64Array | null;
}

export interface SurfaceRequest {
  /** In the unit of the values. */
  readonly limit?: number;
  /** Which cells, of those given; default all. */
  readonly from?: number;
  readonly to?: number;
  /** Of the draws that stand for places with a lower bound only; default 1. */
  readonly seed?: number;
}

export interface PreparedMember extends ModelMember {
  readonly state: KrigingState;
  /** Null where no place has only a lower bound. */
  readonly bounded: BoundedMember | null;
}

/** All that cells need, as plain data and flat arrays that threads may share. */
export type PreparedSurface =
  | { readonly method: 'kriging'; readonly members: readonly PreparedMember[]; readonly errorFactor: number }
  | { readonly method: 'idw'; readonly state: IdwState };

export interface PrepareOptions {
  readonly allocate?: Allocate;
  /** Of the draws that stand for places with a lower bound only; default 1. */
  readonly seed?: number;
  /** Called before each model, with the share that is done; may throw to stop. */
  readonly step?: (done: number) => void;
}

/** More points than this are kriged from their nearest, unless a neighbourhood is given. */
const GLOBAL_LIMIT = 1500;
const NEAREST_WHEN_MANY = 60;

function neighbourhoodOf(points: PointSet, options: KrigingOptions): KrigingOptions {
  if (options.neighbourhood !== undefined || points.values.length <= GLOBAL_LIMIT) return options;
  return { ...options, neighbourhood: { nearest: NEAREST_WHEN_MANY } };
}

/**
 * Solves for every model once. Where places have only a lower bound, the truth there is drawn under each model, and models
 * under which the bounds are likelier gain weight; with a neighbourhood each bounded place counts as a value with the
 * mean and variance of its cut-off distribution instead. Inverse distances use values only.
 * @throws AppError as prepareKriging, prepareIdw and checkLowerBounds; what `step` throws
 */
export function prepareSurface(
  points: SurfacePoints,
  surface: SurfaceMethod,
  { allocate, seed = 1, step }: PrepareOptions = {},
): PreparedSurface {
  if (surface.method === 'idw') return { method: 'idw', state: prepareIdw(points, surface.options) };
  const options = {
    ...neighbourhoodOf(points, surface.options),
    ...(allocate === undefined ? {} : { allocate }),
  };
  const errorFactor = surface.errorFactor ?? 1;
  const { members } = surface;
  const bounds = points.lowerBounds;
  if (bounds !== undefined && bounds.bounds.length > 0)
    return {
      method: 'kriging',
      members: boundMembers(points, bounds, surface, options, seed, step),
      errorFactor,
    };
  const prepared = members.map((member, i) => {
    step?.(i / members.length);
    const state = prepareKriging(transformPoints(points, member.transform), member.model, options);
    return { ...member, state, bounded: null };
  });
  return { method: 'kriging', members: prepared, errorFactor };
}

/** Fills cells `from`..`to` (exclusive) of `cellsXy` in `out`, with scratch of this thread's own. */
export type SurfacePredictor = (cellsXy: Float64Array, from: number, to: number, out: Surface) => void;

/** @param limit for the probability; null where `out.exceedance` is */
export function surfacePredictor(prepared: PreparedSurface, limit: number | null): SurfacePredictor {
  if (prepared.method === 'idw') {
    const estimator = idwEstimator(prepared.state);
    return (cellsXy, from, to, out) => {
      idwInto(estimator, cellsXy, from, to, out.estimate);
      out.standardError.fill(Number.NaN, from, to);
      out.exceedance?.fill(Number.NaN, from, to);
    };
  }
  const { members, errorFactor } = prepared;
  const alone = members.length === 1;
  const predictors = members.map(({ state }): KrigingPredictor => krigingPredictor(state));
  return (cellsXy, from, to, out) => {
    const n = to - from;
    const cells = cellsXy.subarray(2 * from, 2 * to);
    const sums = { first: new Float64Array(n), second: new Float64Array(n), above: new Float64Array(n) };
    const p = new Float64Array(n);
    const v = new Float64Array(n);
    const lagrange = new Float64Array(n);
    members.forEach((member, m) => {
      predictors[m]!.predictInto(cells, 0, n, p, v, lagrange);
      const shifts = member.bounded === null ? null : shiftsAt(member.state, member.bounded, cells);
      for (let i = 0; i < n; i++)
        addCell(member, p[i]!, v[i]!, alone ? lagrange[i]! : null, errorFactor, limit, shifts, sums, i);
    });
    for (let i = 0; i < n; i++) {
      const mean = sums.first[i]!;
      out.estimate[from + i] = mean;
      out.standardError[from + i] = Math.sqrt(Math.max(0, sums.second[i]! - mean ** 2));
      if (out.exceedance !== null) out.exceedance[from + i] = sums.above[i]!;
    }
  };
}

interface Sums {
  readonly first: Float64Array;
  readonly second: Float64Array;
  readonly above: Float64Array;
}

/** How far each draw of the bounded truth moves the kriged value, as draws x cells. */
interface Shifts {
  readonly draws: number;
  readonly cells: number;
  readonly values: Float64Array;
}

function shiftsAt(
  state: KrigingState,
  { units, deviations, draws }: BoundedMember,
  cells: Float64Array,
): Shifts {
  const n = cells.length / 2;
  const b = units.length;
  const weights = units.map(() => new Float64Array(n));
  addKriged(state, cells, pointsAtCells(state, cells), 0, units, weights);
  const values = new Float64Array(draws * n);
  for (let d = 0; d < draws; d++)
    for (let k = 0; k < b; k++) {
      const deviation = deviations[d * b + k]!;
      const w = weights[k]!;
      for (let i = 0; i < n; i++) values[d * n + i] = values[d * n + i]! + deviation * w[i]!;
    }
  return { draws, cells: n, values };
}

/** Where no draw moves the kriged value by this share of its deviation, the draws change no figure by 1e-3. */
const NO_SHIFT = 0.02;

/** Adds one model's distribution at one cell: mean, mean square, probability above the limit, each by its weight. */
function addCell(
  { transform, weight }: Pick<ModelMember, 'transform' | 'weight'>,
  p: number,
  v: number,
  lagrange: number | null,
  errorFactor: number,
  limit: number | null,
  shifts: Shifts | null,
  sums: Sums,
  i: number,
): void {
  if (shifts !== null && isShifted(shifts, v, i)) {
    addShifted({ transform, weight }, p, v, lagrange, errorFactor, limit, shifts, sums, i);
    return;
  }
  const [mean, sd] = backTransform(transform, p, v, lagrange, errorFactor);
  sums.first[i] = sums.first[i]! + weight * mean;
  sums.second[i] = sums.second[i]! + weight * (sd * sd + mean * mean);
  if (limit !== null)
    sums.above[i] = sums.above[i]! + weight * probabilityAbove(transform, p, v, errorFactor, limit);
}

function isShifted({ draws, cells, values }: Shifts, v: number, i: number): boolean {
  const least = NO_SHIFT * Math.sqrt(v);
  for (let d = 0; d < draws; d++) if (Math.abs(values[d * cells + i]!) >= least) return true;
  return false;
}

/** The same for each draw of the bounded truth, which moves the kriged value and leaves its error as it is. */
function addShifted(
  { transform, weight }: Pick<ModelMember, 'transform' | 'weight'>,
  p: number,
  v: number,
  lagrange: number | null,
  errorFactor: number,
  limit: number | null,
  { draws, cells, values }: Shifts,
  sums: Sums,
  i: number,
): void {
  const [mean, sd] = backTransform(transform, p, v, lagrange, errorFactor);
  const wideSd = errorFactor * Math.sqrt(v);
  const edge = limit === null ? 0 : edgeBelow(transform, p, v, errorFactor, limit);
  let first = 0;
  let second = 0;
  let above = 0;
  for (let d = 0; d < draws; d++) {
    const shift = values[d * cells + i]!;
    const factor = transform === 'log' ? Math.exp(shift) : 1;
    const moved = transform === 'log' ? mean * factor : mean + shift;
    first += moved;
    second += moved * moved + (sd * factor) ** 2;
    above += quickNormalCdf((edge + shift) / wideSd);
  }
  sums.first[i] = sums.first[i]! + (weight * first) / draws;
  sums.second[i] = sums.second[i]! + (weight * second) / draws;
  sums.above[i] = sums.above[i]! + (weight * above) / draws;
}

/**
 * Mean and standard deviation of the value, from those of what was kriged. A wider error leaves the mean as it is.
 * @param lagrange for a model that stands alone: its logarithm then gives the unbiased estimate; null where models are
 *   averaged, which needs the mean of the predictive distribution
 */
function backTransform(
  transform: ModelMember['transform'],
  p: number,
  v: number,
  lagrange: number | null,
  errorFactor: number,
): [mean: number, sd: number] {
  if (transform === 'none') return [p, errorFactor * Math.sqrt(v)];
  const mean = lagrange === null ? lognormalMean(p, v) : lognormalMeanUnbiased(p, v, lagrange);
  return [mean, lognormalSd(mean, errorFactor ** 2 * v)];
}

/** Probability of the value above `limit`, from estimate and variance of what was kriged. */
export function probabilityAbove(
  transform: ModelMember['transform'],
  p: number,
  v: number,
  errorFactor: number,
  limit: number,
): number {
  return exceedanceProbability(edgeBelow(transform, p, v, errorFactor, limit), errorFactor ** 2 * v, 0);
}

/** How far the middle of the distribution lies above the limit, on the scale of what was kriged. */
function edgeBelow(
  transform: ModelMember['transform'],
  p: number,
  v: number,
  errorFactor: number,
  limit: number,
): number {
  if (transform === 'none') return p - limit;
  if (limit <= 0) return Number.isNaN(p) ? Number.NaN : Number.POSITIVE_INFINITY;
  // a wider error of the logarithm leaves the mean of the value where it was
  return p - ((errorFactor ** 2 - 1) * v) / 2 - Math.log(limit);
}

/**
 * Estimates at `cellsXy` (interleaved metres). Averaged over members, the standard error holds both each model's own error
 * and how far the models lie apart.
 * @throws AppError as prepareSurface
 */
export function predictSurface(
  points: SurfacePoints,
  surface: SurfaceMethod,
  cellsXy: Float64Array,
  request: SurfaceRequest = {},
): Surface {
  const { from = 0, to = cellsXy.length / 2, limit, seed } = request;
  const n = to - from;
  const out = {
    estimate: new Float64Array(n),
    standardError: new Float64Array(n),
    exceedance: limit === undefined ? null : new Float64Array(n),
  };
  const prepared = prepareSurface(points, surface, seed === undefined ? {} : { seed });
  surfacePredictor(prepared, limit ?? null)(cellsXy.subarray(2 * from, 2 * to), 0, n, out);
  return out;
}

/**
 * Leave-one-out of the whole procedure in the unit of the values, the models kept as they are, in the caller's order.
 * Places with only a lower bound take no part.
 * @param step called before each model with the share that is done; may throw to stop
 */
export function crossValidateSurface(
  points: PointSet,
  surface: SurfaceMethod,
  step: (done: number) => void = () => {},
): LeaveOneOut {
  if (surface.method === 'idw') return crossValidateIdw(points, surface.options);
  const n = points.values.length;
  const first = new Float64Array(n);
  const second = new Float64Array(n);
  const alone = surface.members.length === 1;
  let chance = { msdrSd: 0, meanZSd: 0 };
  for (const [m, member] of surface.members.entries()) {
    step(m / surface.members.length);
    const data = transformPoints(points, member.transform);
    const out = crossValidateKriging(data, member.model, {
      ...crossValidationNeighbourhood(n),
      ...surface.options,
    });
    for (let i = 0; i < n; i++) {
      const lagrange = alone ? out.lagrange[i]! : null;
      const factor = surface.errorFactor ?? 1;
      const [mean, sd] = backTransform(
        member.transform,
        out.predicted[i]!,
        out.variance[i]!,
        lagrange,
        factor,
      );
      first[i] = first[i]! + member.weight * mean;
      second[i] = second[i]! + member.weight * (sd * sd + mean * mean);
    }
    chance = {
      msdrSd: chance.msdrSd + member.weight * (out.summary.msdrSd ?? 0),
      meanZSd: chance.meanZSd + member.weight * (out.summary.meanZSd ?? 0),
    };
  }
  const variance = second.map((m2, i) => Math.max(0, m2 - first[i]! ** 2));
  return summarise(points.values, first, variance, chance);
}
