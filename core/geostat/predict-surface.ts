// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** From points and a choice of models to estimate and standard error in the unit of the values. */
import { crossValidateIdw, crossValidateKriging, type LeaveOneOut, summarise } from './cross-validate.ts';
import { type IdwOptions, interpolateIdw } from './idw.ts';
import { krigingPredictor } from './krige.ts';
import { type KrigingOptions, prepareKriging } from './kriging.ts';
import { exceedanceProbability, lognormalMean, lognormalMeanUnbiased, lognormalSd } from './lognormal.ts';
import { crossValidationNeighbourhood, type ModelMember, transformPoints } from './plausible-models.ts';
import type { PointSet } from './points.ts';

/** Models whose predictions are averaged by weight (one member: that model alone), or inverse distances. */
export type SurfaceMethod =
  | {
      readonly method: 'kriging';
      readonly members: readonly ModelMember[];
      readonly options: Pick<KrigingOptions, 'knownMean' | 'drift' | 'neighbourhood' | 'block'>;
      /** Standard errors are multiplied by this, as cross-validation taught; default 1. Probabilities are not. */
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
}

/** More points than this are kriged from their nearest, unless a neighbourhood is given. */
const GLOBAL_LIMIT = 1500;
const NEAREST_WHEN_MANY = 60;

function neighbourhoodOf(points: PointSet, options: KrigingOptions): KrigingOptions {
  if (options.neighbourhood !== undefined || points.values.length <= GLOBAL_LIMIT) return options;
  return { ...options, neighbourhood: { nearest: NEAREST_WHEN_MANY } };
}

/** Mean and standard deviation of the value, from those of what was kriged. */
function backTransform(
  member: ModelMember,
  p: number,
  v: number,
  lagrange: number,
  alone: boolean,
): [number, number] {
  if (member.transform === 'none') return [p, Math.sqrt(v)];
  // a single given model: the unbiased estimator; averaged: the mean of the predictive distribution
  const mean = alone ? lognormalMeanUnbiased(p, v, lagrange) : lognormalMean(p, v);
  return [mean, lognormalSd(mean, v)];
}

/**
 * Estimates at `cellsXy` (interleaved metres). Averaged over members, the standard error holds both each model's own error
 * and how far the models lie apart.
 * @throws AppError as prepareKriging and prepareIdw
 */
export function predictSurface(
  points: PointSet,
  surface: SurfaceMethod,
  cellsXy: Float64Array,
  request: SurfaceRequest = {},
): Surface {
  const { from = 0, to = cellsXy.length / 2, limit } = request;
  const cells = cellsXy.subarray(2 * from, 2 * to);
  const n = to - from;
  if (surface.method === 'idw') {
    const nothing = new Float64Array(n).fill(Number.NaN);
    const estimate = interpolateIdw(points, cells, surface.options);
    return { estimate, standardError: nothing, exceedance: limit === undefined ? null : nothing.slice() };
  }
  const first = new Float64Array(n);
  const second = new Float64Array(n);
  const above = limit === undefined ? null : new Float64Array(n);
  const alone = surface.members.length === 1;
  const estimate = new Float64Array(n);
  const variance = new Float64Array(n);
  const lagrange = new Float64Array(n);
  for (const member of surface.members) {
    const data = transformPoints(points, member.transform);
    const state = prepareKriging(data, member.model, neighbourhoodOf(points, surface.options));
    krigingPredictor(state).predictInto(cells, 0, n, estimate, variance, lagrange);
    const edge = limit === undefined ? 0 : member.transform === 'log' ? Math.log(limit) : limit;
    for (let i = 0; i < n; i++) {
      const [mean, sd] = backTransform(member, estimate[i]!, variance[i]!, lagrange[i]!, alone);
      first[i] = first[i]! + member.weight * mean;
      second[i] = second[i]! + member.weight * (sd * sd + mean * mean);
      if (above !== null)
        above[i] = above[i]! + member.weight * exceedanceProbability(estimate[i]!, variance[i]!, edge);
    }
  }
  const factor = surface.errorFactor ?? 1;
  const standardError = second.map((m2, i) => factor * Math.sqrt(Math.max(0, m2 - first[i]! ** 2)));
  return { estimate: first, standardError, exceedance: above };
}

/** Leave-one-out of the whole procedure in the unit of the values, the models kept as they are. */
export function crossValidateSurface(points: PointSet, surface: SurfaceMethod): LeaveOneOut {
  if (surface.method === 'idw') return crossValidateIdw(points, surface.options);
  const n = points.values.length;
  const first = new Float64Array(n);
  const second = new Float64Array(n);
  let chance = { msdrSd: 0, meanZSd: 0 };
  for (const member of surface.members) {
    const data = transformPoints(points, member.transform);
    const out = crossValidateKriging(data, member.model, {
      ...crossValidationNeighbourhood(n),
      ...surface.options,
    });
    for (let i = 0; i < n; i++) {
      const [mean, sd] = backTransform(member, out.predicted[i]!, out.variance[i]!, 0, false);
      first[i] = first[i]! + member.weight * mean;
      second[i] = second[i]! + member.weight * (sd * sd + mean * mean);
    }
    chance = {
      msdrSd: chance.msdrSd + member.weight * (out.summary.msdrSd ?? 0),
      meanZSd: chance.meanZSd + member.weight * (out.summary.meanZSd ?? 0),
    };
  }
  const factor2 = (surface.errorFactor ?? 1) ** 2;
  const variance = second.map((m2, i) => factor2 * Math.max(0, m2 - first[i]! ** 2));
  return summarise(points.values, first, variance, chance);
}
