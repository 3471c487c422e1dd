// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * How the kriging variance of a target area falls as probes are added, without solving the kriging system again.
 * Given the data, let K(x, y) be the covariance of the errors of universal kriging at x and y, nugget excepted. A
 * further sample at c with noise variance t (nugget and its own error) changes it to K(x, y) - K(x, c) K(c, y) / (K(c, c) + t).
 */
import type { PositionM } from '../contract/model.ts';
import { prepareKriging } from '../geostat/kriging.ts';
import { addStructuredCovariances, structuredCovariance, type VariogramModel } from '../geostat/models.ts';
import type { PointSet } from '../geostat/points.ts';
import { dot, solveLower } from '../geostat/solve.ts';

export interface VarianceUpdate {
  readonly candidates: number;
  readonly targets: number;
  /** Kriging variance of a value at each target, nugget included, under the data and the samples added so far. */
  readonly targetVariance: Float64Array;
  /** Error covariance of candidate c with target e at [c * targets + e]. */
  readonly cross: Float64Array;
  /** What a sample at candidate c would divide by: its error variance and noise. */
  spread(c: number): number;
  /** Takes a sample at candidate `c` as known. */
  add(c: number): void;
  /** Forgets all samples added. */
  reset(): void;
}

/**
 * @param noise variance of a new sample's own error; the nugget comes on top
 * @throws AppError as prepareKriging
 */
export function prepareVarianceUpdate(
  data: PointSet,
  model: VariogramModel,
  drift: 'constant' | 'linear',
  noise: number,
  candidates: readonly PositionM[],
  targets: readonly PositionM[],
): VarianceUpdate {
  const places = [...candidates, ...targets];
  const base = errorCovariances(data, model, drift, places, candidates.length);
  return updateFrom(base, noise);
}

/** @param noise as for `prepareVarianceUpdate` */
export function updateFrom(base: ErrorCovariances, noise: number): VarianceUpdate {
  const nc = base.candidates;
  const ne = base.variance.length;
  const nugget = base.nugget;
  const within = base.within.slice();
  const cross = base.cross.slice();
  const targetVariance = base.variance.slice();
  const rowC = new Float64Array(nc);
  const rowE = new Float64Array(ne);
  const spread = (c: number) => within[c * nc + c]! + nugget + noise;
  return {
    candidates: nc,
    targets: ne,
    targetVariance,
    cross,
    spread,
    add(c) {
      const scale = 1 / Math.sqrt(spread(c));
      for (let i = 0; i < nc; i++) rowC[i] = within[c * nc + i]! * scale;
      for (let e = 0; e < ne; e++) {
        rowE[e] = cross[c * ne + e]! * scale;
        targetVariance[e] = Math.max(nugget, targetVariance[e]! - rowE[e]! * rowE[e]!);
      }
      for (let i = 0; i < nc; i++) {
        const factor = rowC[i]!;
        if (factor === 0) continue;
        for (let j = 0, at = i * nc; j < nc; j++, at++) within[at] = within[at]! - factor * rowC[j]!;
        for (let e = 0, at = i * ne; e < ne; e++, at++) cross[at] = cross[at]! - factor * rowE[e]!;
      }
    },
    reset() {
      within.set(base.within);
      cross.set(base.cross);
      targetVariance.set(base.variance);
    },
  };
}

export interface ErrorCovariances {
  readonly candidates: number;
  /** Variance of what no neighbour tells of a value: left to each target whatever is sampled. */
  readonly nugget: number;
  /** Candidate by candidate. */
  readonly within: Float64Array;
  /** Of candidate c with target e at [c * targets + e]. */
  readonly cross: Float64Array;
  readonly variance: Float64Array;
}

function errorCovariances(
  data: PointSet,
  model: VariogramModel,
  drift: 'constant' | 'linear',
  places: readonly PositionM[],
  nc: number,
): ErrorCovariances {
  const state = prepareKriging({ ...data, values: new Float64Array(data.values.length) }, model, { drift });
  const { points, compiled, driftColumns: p, driftFrame } = state;
  const { n } = points;
  const { factor, whitenedDrift, driftFactor } = state.system!;
  const m = places.length;
  const ne = m - nc;
  // rows of `white`: L^-1 k of a place; rows of `free`: what the drift leaves, so that K = C - white.white + free.free
  const white = new Float64Array(m * n);
  const free = new Float64Array(m * p);
  places.forEach(([x, y], i) => {
    addStructuredCovariances(compiled, points.xs, points.ys, 0, n, x, y, 1, white, i * n, 1);
    solveLower(factor, n, white, i * n);
    const f = [1, (x - driftFrame[0]) / driftFrame[2], (y - driftFrame[1]) / driftFrame[2]];
    for (let a = 0; a < p; a++) {
      let left = f[a]!;
      for (let k = 0; k < n; k++) left -= whitenedDrift[k * p + a]! * white[i * n + k]!;
      free[i * p + a] = left;
    }
    solveLower(driftFactor, p, free, i * p);
  });
  const between = (i: number, j: number) =>
    structuredCovariance(compiled, places[i]![0] - places[j]![0], places[i]![1] - places[j]![1]) -
    dot(white, i * n, white, j * n, n) +
    dot(free, i * p, free, j * p, p);
  const within = new Float64Array(nc * nc);
  const cross = new Float64Array(nc * ne);
  for (let i = 0; i < nc; i++) {
    for (let j = 0; j <= i; j++) {
      const value = between(i, j);
      within[i * nc + j] = value;
      within[j * nc + i] = value;
    }
    for (let e = 0; e < ne; e++) cross[i * ne + e] = between(i, nc + e);
  }
  const nugget = compiled[0]!;
  const variance = Float64Array.from({ length: ne }, (_, e) => Math.max(0, between(nc + e, nc + e)) + nugget);
  return { candidates: nc, nugget, within, cross, variance };
}
