// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Models of a surface whose points include places with a lower bound only. */
import { localSolver } from './krige.ts';
import type { DualSystem } from './krige-many.ts';
import { type KrigingOptions, type KrigingState, prepareKriging, solveDual } from './kriging.ts';
import {
  type BoundedTruth,
  boundedTruth,
  checkLowerBounds,
  drawTruths,
  joinBounded,
  type LowerBounds,
  logProbabilityOfBounds,
  momentsAbove,
  tiltOf,
} from './lower-bounds.ts';
import { type ModelMember, transformPoints } from './plausible-models.ts';
import type { PointSet } from './points.ts';
import type { PreparedMember, SurfaceMethod } from './predict-surface.ts';
import { nearestSearch } from './spatial-index.ts';

/** Draws of the truth at the bounded places, about their mean; the member's state is solved for that mean. */
export interface BoundedMember {
  readonly draws: number;
  /** Draws x places. */
  readonly deviations: Float64Array;
  readonly units: readonly DualSystem[];
}

/** Shared out among the models. */
const DRAWS = 640;

export function boundMembers(
  points: PointSet,
  lowerBounds: LowerBounds,
  surface: SurfaceMethod & { method: 'kriging' },
  options: KrigingOptions,
  seed: number,
  step: ((done: number) => void) | undefined,
): PreparedMember[] {
  checkLowerBounds(lowerBounds);
  const errorFactor = surface.errorFactor ?? 1;
  const { members } = surface;
  const draws = Math.max(32, Math.ceil(DRAWS / members.length));
  const logs: number[] = [];
  const prepared = members.map((member, m): PreparedMember => {
    step?.(m / members.length);
    const part = transformBounds(lowerBounds, member);
    const data = transformPoints(points, member.transform);
    if (part.bounds.length === 0) {
      logs.push(0);
      return { ...member, state: prepareKriging(data, member.model, options), bounded: null };
    }
    if (options.neighbourhood !== undefined) {
      logs.push(0);
      return { ...member, state: asValues(data, part, member, options), bounded: null };
    }
    const { state, truth } = prepareBounded(data, part, member, options, errorFactor);
    logs.push(logProbabilityOfBounds(truth, seed));
    const drawn = drawTruths(truth, draws, seed, 1000 + m * draws);
    const b = part.bounds.length;
    const mean = new Float64Array(b);
    drawn.forEach((x, i) => {
      mean[i % b] = mean[i % b]! + x / draws;
    });
    const bounded = { draws, deviations: drawn.map((x, i) => x - mean[i % b]!), units: truth.units };
    return { ...member, state: withTruth(state, truth, mean), bounded };
  });
  return reweigh(prepared, logs);
}

/** Bounds after the member's transform; a bound of 0 or less says nothing of a logarithm. */
export function transformBounds(lowerBounds: LowerBounds, { transform }: ModelMember): LowerBounds {
  if (transform === 'none') return lowerBounds;
  const { xy, bounds } = lowerBounds;
  const kept = [...bounds.keys()].filter((i) => bounds[i]! > 0);
  return {
    ...lowerBounds,
    xy: Float64Array.from(kept.flatMap((i) => [xy[2 * i]!, xy[2 * i + 1]!])),
    bounds: Float64Array.from(kept, (i) => Math.log(bounds[i]!)),
  };
}

/** @param data and part after the member's transform */
export function prepareBounded(
  data: PointSet,
  { xy, bounds, origin }: LowerBounds,
  { model, transform }: ModelMember,
  options: KrigingOptions,
  errorFactor: number,
): { readonly state: KrigingState; readonly truth: BoundedTruth } {
  const average = data.values.reduce((sum, v) => sum + v, 0) / data.values.length;
  const state = prepareKriging(joinBounded(data, xy, average), model, options);
  return { state, truth: boundedTruth(state, bounds, tiltOf(origin, transform), errorFactor) };
}

/** The state solved for a given truth at the bounded places. */
function withTruth(state: KrigingState, truth: BoundedTruth, values: Float64Array): KrigingState {
  const { points, offset, driftColumns, system } = state;
  const all = points.values;
  truth.rows.forEach((row, k) => {
    all[row] = values[k]!;
  });
  const { factor, whitenedDrift, driftFactor, dual, drift } = system!;
  solveDual(all, offset, factor, whitenedDrift, driftFactor, points.n, driftColumns, dual, drift);
  return state;
}

/** Each bounded place as a value with the mean and, as its error, the variance of its own cut-off distribution. */
function asValues(
  data: PointSet,
  { xy, bounds, origin }: LowerBounds,
  { model, transform }: ModelMember,
  options: KrigingOptions,
): KrigingState {
  const tilt = tiltOf(origin, transform);
  const alone = prepareKriging(data, model, options);
  const { index, neighbourhood } = alone.local!;
  const search = nearestSearch(index, neighbourhood.nearest);
  const solver = localSolver(alone, neighbourhood.nearest);
  const joined = joinBounded(data, xy, 0);
  const n = data.values.length;
  const errorVariances = joined.errorVariances!;
  bounds.forEach((bound, k) => {
    const [x, y] = [xy[2 * k]!, xy[2 * k + 1]!];
    const count = search.search(x, y, Number.POSITIVE_INFINITY, -1);
    solver.choose(search.found.subarray(0, count).sort(), count);
    const { estimate, variance } = solver.predictSample(x, y);
    const cut = momentsAbove(estimate, variance, bound, tilt);
    joined.values[n + k] = cut.mean;
    errorVariances[n + k] = cut.variance;
  });
  return prepareKriging(joined, model, options);
}

/** Weights multiplied by how likely the bounds are under each model. @param logs of those probabilities */
export function reweigh<M extends ModelMember>(members: readonly M[], logs: readonly number[]): M[] {
  const top = Math.max(...logs);
  const raw = members.map((member, i) => member.weight * Math.exp(logs[i]! - top));
  const sum = raw.reduce((s, w) => s + w, 0);
  return members.map((member, i) => ({ ...member, weight: raw[i]! / sum }));
}
