// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { factorCholesky, invertFromFactor, solveLower } from '../geostat/solve.ts';
import { buildSpatialIndex, nearestSearch } from '../geostat/spatial-index.ts';

/**
 * What the other holes of a lot predict at each hole, on log values: a level, a trend that may bend, held by a prior, a part
 * that neighbours share (exponential covariance) and a part that is each hole's own (nugget). Fifteen holes cannot
 * choose such a model, so a small fixed set of them, each with a trend and without, is averaged by how well each predicts left-out holes.
 */
export interface FieldPoint {
  readonly xM: number;
  readonly yM: number;
  readonly logValue: number;
  /** Variance of the reading itself on the log scale. */
  readonly errorVariance: number;
  /** Points of one soil share a level of their own; null where levels are common. */
  readonly group: string | null;
  /** Expected log value before anything is known; only its differences between groups matter much. */
  readonly priorMean: number;
}

export interface FieldModel {
  /** Standard deviation of log values about the trend. */
  readonly scatter: number;
  /** Share of the scatter's variance that is each hole's own. */
  readonly nuggetShare: number;
  /** Range of the shared part in half diagonals of the lot. */
  readonly rangeShare: number;
  /** 0 for a lot without a trend, 1 for one with it. */
  readonly trend: number;
  readonly logPrior: number;
}

const STRUCTURES = [
  { nuggetShare: 1, rangeShare: 1, logPrior: Math.log(0.4) },
  { nuggetShare: 0.5, rangeShare: 0.4, logPrior: Math.log(0.2) },
  { nuggetShare: 0.5, rangeShare: 1.2, logPrior: Math.log(0.2) },
  { nuggetShare: 0.15, rangeShare: 0.6, logPrior: Math.log(0.2) },
].flatMap((s) => [0, 1].map((trend) => ({ ...s, trend })));

/** Scatters as geometric standard deviations 1.06 to 3.5, in even steps of the logarithm of the log scatter. */
const SCATTERS = [0.06, 0.1, 0.16, 0.24, 0.36, 0.54, 0.8, 1.25] as const;

/** Models with a log-normal prior on the scatter. */
export function fieldModels(usualScatter: number, spread = 0.5): FieldModel[] {
  return SCATTERS.flatMap((scatter) =>
    STRUCTURES.map((s) => ({
      ...s,
      scatter,
      logPrior: s.logPrior - 0.5 * (Math.log(scatter / usualScatter) / spread) ** 2,
    })),
  );
}

/**
 * Prior standard deviations of the log: of the level about its prior mean, of the linear part of
 * the trend half a diagonal off, of a soil's level.
 */
const LEVEL_SD = 1.8;
const TREND_SD = 0.5;
const GROUP_SD = 0.9;
/** Up to here every point speaks for every other; beyond, each is predicted by its nearest ones. */
const MOST_DENSE = 48;
const NEAREST = 16;

export interface FieldPredictions {
  readonly mean: Float64Array;
  /** Of the ground at the hole, its own scatter included, the reading's error left out. */
  readonly variance: Float64Array;
}

export interface Field {
  /** How many other points speak for a point. */
  readonly neighbourCount: number;
  /**
   * Each point predicted from the others.
   * @param distrust variance added to a reading that may not show the ground
   */
  predict(model: FieldModel, distrust: Float64Array, only?: Int32Array): FieldPredictions;
}

/** @param bendSd prior standard deviation of the quadratic part of the trend half a diagonal off */
export function makeField(points: readonly FieldPoint[], bendSd: number): Field {
  const n = points.length;
  const xs = Float64Array.from(points, (p) => p.xM);
  const ys = Float64Array.from(points, (p) => p.yM);
  const halfM = Math.max(0.5 * Math.hypot(extentOf(xs), extentOf(ys)), 1e-6);
  const residual = Float64Array.from(points, (p) => p.logValue - p.priorMean);
  const covariance = (model: FieldModel, i: number, j: number, x0: number, y0: number): number => {
    const dx = xs[i]! - xs[j]!;
    const dy = ys[i]! - ys[j]!;
    const shared = model.scatter ** 2 * (1 - model.nuggetShare);
    const slope = ((xs[i]! - x0) * (xs[j]! - x0) + (ys[i]! - y0) * (ys[j]! - y0)) / halfM ** 2;
    let c = LEVEL_SD ** 2;
    if (model.trend > 0) c += TREND_SD ** 2 * slope + bendSd ** 2 * slope ** 2;
    if (shared > 0) c += shared * Math.exp(-Math.sqrt(dx * dx + dy * dy) / (model.rangeShare * halfM));
    const group = points[i]!.group;
    if (group !== null && group === points[j]!.group) c += GROUP_SD ** 2;
    return c;
  };
  const ownVariance = (model: FieldModel, j: number, distrust: Float64Array) =>
    model.scatter ** 2 * model.nuggetShare + points[j]!.errorVariance + distrust[j]! + 1e-6;

  const dense = (model: FieldModel, distrust: Float64Array): FieldPredictions => {
    const x0 = meanOf(xs);
    const y0 = meanOf(ys);
    const c = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j <= i; j++) c[i * n + j] = covariance(model, i, j, x0, y0);
      c[i * n + i]! += ownVariance(model, i, distrust);
    }
    factorCholesky(c, n);
    const inverse = invertFromFactor(c, n);
    const mean = new Float64Array(n);
    const variance = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      let weighted = 0;
      for (let j = 0; j < n; j++) weighted += inverse[i * n + j]! * residual[j]!;
      // Leave-one-out from the inverse alone (Dubrule 1983, Mathematical Geology 15, 687-699).
      const total = 1 / inverse[i * n + i]!;
      mean[i] = points[i]!.logValue - weighted * total;
      variance[i] = Math.max(total - points[i]!.errorVariance - distrust[i]! - 1e-6, 1e-6);
    }
    return { mean, variance };
  };

  const near = n > MOST_DENSE ? nearestOf(xs, ys) : [];
  const local = (model: FieldModel, distrust: Float64Array, only?: Int32Array): FieldPredictions => {
    const mean = new Float64Array(n).fill(Number.NaN);
    const variance = new Float64Array(n).fill(Number.NaN);
    const k = NEAREST;
    const c = new Float64Array(k * k);
    const toPoint = new Float64Array(k);
    const values = new Float64Array(k);
    for (const i of only ?? xs.keys()) {
      const ids = near[i]!;
      for (let a = 0; a < k; a++) {
        const ia = ids[a]!;
        for (let b = 0; b <= a; b++) c[a * k + b] = covariance(model, ia, ids[b]!, xs[i]!, ys[i]!);
        c[a * k + a]! += ownVariance(model, ia, distrust);
        toPoint[a] = covariance(model, ia, i, xs[i]!, ys[i]!);
        values[a] = residual[ia]!;
      }
      factorCholesky(c, k);
      solveLower(c, k, toPoint);
      solveLower(c, k, values);
      let predicted = 0;
      let explained = 0;
      for (let a = 0; a < k; a++) {
        predicted += toPoint[a]! * values[a]!;
        explained += toPoint[a]! ** 2;
      }
      mean[i] = points[i]!.priorMean + predicted;
      const prior = covariance(model, i, i, xs[i]!, ys[i]!) + model.scatter ** 2 * model.nuggetShare;
      variance[i] = Math.max(prior - explained, 1e-6);
    }
    return { mean, variance };
  };
  return {
    neighbourCount: n > MOST_DENSE ? NEAREST : n - 1,
    predict: (model, distrust, only) =>
      n > MOST_DENSE ? local(model, distrust, only) : dense(model, distrust),
  };
}

function nearestOf(xs: Float64Array, ys: Float64Array): Int32Array[] {
  const search = nearestSearch(buildSpatialIndex(xs, ys), NEAREST);
  return Array.from(xs, (x, i) => {
    search.search(x, ys[i]!, Number.MAX_VALUE, i);
    return search.found.slice();
  });
}

function extentOf(values: Float64Array): number {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const v of values) {
    low = Math.min(low, v);
    high = Math.max(high, v);
  }
  return high - low;
}

function meanOf(values: Float64Array): number {
  let sum = 0;
  for (const v of values) sum += v;
  return sum / values.length;
}
