// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Leave-one-out cross-validation. The model is not refitted: it is judged as it stands. */
import { type IdwOptions, idwEstimator, prepareIdw } from './idw.ts';
import { localSolver } from './krige.ts';
import {
  fillDrift,
  type GlobalSystem,
  type KrigingOptions,
  type KrigingState,
  prepareKriging,
} from './kriging.ts';
import type { VariogramModel } from './models.ts';
import type { PointSet } from './points.ts';
import { dot, invertFromFactor, solveLower } from './solve.ts';
import { nearestSearch } from './spatial-index.ts';

export interface LeaveOneOut {
  /** In the caller's order. Residual = observed - predicted; NaN where no prediction could be made. */
  readonly predicted: Float64Array;
  readonly residual: Float64Array;
  /** Variance of the residual by the model: nugget and the point's own error included. NaN for IDW. */
  readonly variance: Float64Array;
  readonly z: Float64Array;
  /** Of each prediction, in the sign of `KrigingPredictor`; 0 where there is no drift and for IDW. */
  readonly lagrange: Float64Array;
  readonly summary: CrossValidationSummary;
}

export interface CrossValidationSummary {
  readonly n: number;
  readonly meanError: number;
  readonly rmse: number;
  readonly meanAbsoluteError: number;
  readonly meanZ: number | null;
  /** Mean squared deviation ratio: mean of z^2, ideally 1; null for IDW. */
  readonly msdr: number | null;
  /** Median of z^2, ideally 0.455; a single outlier hardly moves it. */
  readonly medianSquaredZ: number | null;
  /** Standard deviation of msdr (and of meanZ) from chance alone if the model were right. */
  readonly msdrSd: number | null;
  readonly meanZSd: number | null;
  /** NaN where predictions or values do not vary. */
  readonly correlation: number;
  /** RMSE of predicting each point by the mean of the others. */
  readonly rmseOfMean: number;
  readonly verdict: string;
}

/**
 * Kriging, all other points or the nearest others. With all points the closed form from one inverse
 * (Dubrule, Math. Geology 15, 1983) is used. A block in the options is ignored: points are predicted.
 * @throws AppError as {@link prepareKriging}
 */
export function crossValidateKriging(
  points: PointSet,
  model: VariogramModel,
  options: KrigingOptions = {},
): LeaveOneOut {
  const { block: _block, ...rest } = options;
  const state = prepareKriging(points, model, rest);
  const n = points.values.length;
  if (n < 2) return summarise(points.values, new Float64Array(n).fill(Number.NaN), null, null);
  return state.system === null
    ? leaveOutLocally(points, state)
    : leaveOutByInverse(points, state, state.system);
}

function leaveOutByInverse(points: PointSet, state: KrigingState, system: GlobalSystem): LeaveOneOut {
  const { n, order, values, xs, ys } = state.points;
  const p = state.driftColumns;
  const { precision, driftRows } = borderedPrecision(system, n, p);
  const lagrange = new Float64Array(n);
  const f = new Float64Array(3);
  const predicted = new Float64Array(n);
  const variance = new Float64Array(n);
  let sumSquares = 0;
  let sum = 0;
  for (let i = 0; i < n; i++) {
    const q = precision[i * n + i]!;
    // a point that the drift needs cannot be left out: its own precision is nothing but rounding
    const usable = q * system.factor[0]! ** 2 > 1e-10;
    const at = order[i]!;
    predicted[at] = usable ? values[i]! - system.dual[i]! / q : Number.NaN;
    variance[at] = usable ? 1 / q : Number.NaN;
    // the row of the inverse at the drift, over the diagonal, holds the multipliers of the system without point i
    fillDrift(state.driftFrame, p, xs[i]!, ys[i]!, f, 0);
    solveLower(system.driftFactor, p, f);
    lagrange[at] = dot(driftRows, i * p, f, 0, p) / q;
    for (let j = 0; j < n; j++) {
      const r = precision[i * n + j]! / Math.sqrt(q * precision[j * n + j]!);
      sumSquares += r * r;
      sum += r;
    }
  }
  const chance = { msdrSd: Math.sqrt(2 * sumSquares) / n, meanZSd: Math.sqrt(Math.max(0, sum)) / n };
  return { ...summarise(points.values, predicted, variance, chance), lagrange };
}

/** Data block of the inverse of the bordered kriging matrix; `driftRows` are (K^-1 F) D'^-1 with D D' = F'K^-1 F. */
function borderedPrecision(
  system: GlobalSystem,
  n: number,
  p: number,
): { readonly precision: Float64Array; readonly driftRows: Float64Array } {
  const out = invertFromFactor(system.factor, n);
  // K^-1 F = L^-T G; then K^-1 - (K^-1 F)(G'G)^-1 (K^-1 F)'
  const rows = new Float64Array(n * p);
  for (let c = 0; c < p; c++) {
    for (let i = n - 1; i >= 0; i--) {
      let sum = system.whitenedDrift[i * p + c]!;
      for (let k = i + 1; k < n; k++) sum -= system.factor[k * n + i]! * rows[k * p + c]!;
      rows[i * p + c] = sum / system.factor[i * n + i]!;
    }
  }
  for (let i = 0; i < n; i++) {
    for (let c = 0; c < p; c++) {
      let value = rows[i * p + c]!;
      for (let k = 0; k < c; k++) value -= system.driftFactor[c * p + k]! * rows[i * p + k]!;
      rows[i * p + c] = value / system.driftFactor[c * p + c]!;
    }
  }
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) out[i * n + j] = out[i * n + j]! - dot(rows, i * p, rows, j * p, p);
  return { precision: out, driftRows: rows };
}

function leaveOutLocally(points: PointSet, state: KrigingState): LeaveOneOut {
  const { xs, ys, order, errorVariances, n } = state.points;
  const { index, neighbourhood } = state.local!;
  const search = nearestSearch(index, neighbourhood.nearest);
  const solver = localSolver(state, neighbourhood.nearest);
  const predicted = new Float64Array(n).fill(Number.NaN);
  const variance = new Float64Array(n).fill(Number.NaN);
  const lagrange = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const count = search.search(xs[i]!, ys[i]!, neighbourhood.maxDistanceM, i);
    if (count < neighbourhood.minimum || count === 0) continue;
    if (!solver.choose(search.found.subarray(0, count).sort(), count)) continue;
    const result = solver.predictSample(xs[i]!, ys[i]!);
    predicted[order[i]!] = result.estimate;
    variance[order[i]!] = result.variance + errorVariances[i]!;
    lagrange[order[i]!] = result.lagrange;
  }
  // neighbouring residuals are nearly independent; the exact figure needs the whole inverse
  const chance = { msdrSd: Math.sqrt(2 / n) * 1.2, meanZSd: 1 / Math.sqrt(n) };
  return { ...summarise(points.values, predicted, variance, chance), lagrange };
}

/** @throws AppError as {@link prepareIdw} */
export function crossValidateIdw(points: PointSet, options: IdwOptions = {}): LeaveOneOut {
  const state = prepareIdw(points, options);
  const estimate = idwEstimator(state);
  const { xs, ys, order, n } = state.points;
  const predicted = new Float64Array(n);
  for (let i = 0; i < n; i++) predicted[order[i]!] = estimate(xs[i]!, ys[i]!, i);
  return summarise(points.values, predicted, null, null);
}

/** Sets predictions made elsewhere (on folds, or transformed back) against what was observed. */
export function summarise(
  observed: Float64Array,
  predicted: Float64Array,
  variance: Float64Array | null,
  chance: { readonly msdrSd: number; readonly meanZSd: number } | null,
): LeaveOneOut {
  const residual = observed.map((v, i) => v - predicted[i]!);
  const spread = variance ?? new Float64Array(observed.length).fill(Number.NaN);
  const z = residual.map((r, i) => (r === 0 ? 0 : r / Math.sqrt(spread[i]!)));
  if (variance === null) z.fill(Number.NaN);
  const used = [...residual.keys()].filter((i) => Number.isFinite(residual[i]!));
  const n = used.length;
  const mean = (of: (i: number) => number) => used.reduce((sum, i) => sum + of(i), 0) / n;
  const meanError = mean((i) => residual[i]!);
  const rmse = Math.sqrt(mean((i) => residual[i]! ** 2));
  const meanObserved = mean((i) => observed[i]!);
  const meanPredicted = mean((i) => predicted[i]!);
  const cross = mean((i) => (observed[i]! - meanObserved) * (predicted[i]! - meanPredicted));
  const varObserved = mean((i) => (observed[i]! - meanObserved) ** 2);
  const varPredicted = mean((i) => (predicted[i]! - meanPredicted) ** 2);
  const squares = used.map((i) => z[i]! ** 2).sort((a, b) => a - b);
  const hasZ = variance !== null && n > 0;
  const half = n >> 1;
  const bare = {
    n,
    meanError,
    rmse,
    meanAbsoluteError: mean((i) => Math.abs(residual[i]!)),
    meanZ: hasZ ? mean((i) => z[i]!) : null,
    msdr: hasZ ? mean((i) => z[i]! ** 2) : null,
    medianSquaredZ: hasZ ? (n % 2 === 1 ? squares[half]! : (squares[half - 1]! + squares[half]!) / 2) : null,
    msdrSd: chance?.msdrSd ?? null,
    meanZSd: chance?.meanZSd ?? null,
    correlation: cross / Math.sqrt(varObserved * varPredicted),
    rmseOfMean: n > 1 ? (Math.sqrt(varObserved) * n) / (n - 1) : Number.NaN,
  };
  const lagrange = new Float64Array(observed.length);
  return {
    predicted,
    residual,
    variance: spread,
    z,
    lagrange,
    summary: { ...bare, verdict: verdictOn(bare) },
  };
}

/**
 * In plain words. A deviation counts only beyond twice what chance alone would give with this many points.
 */
function verdictOn(s: Omit<CrossValidationSummary, 'verdict'>): string {
  if (s.n < 3)
    return s.n === 0
      ? 'No point could be left out in turn: nothing can be said.'
      : `Only ${s.n} points could be left out in turn: nothing can be said.`;
  const said: string[] = [];
  const gain = 1 - s.rmse / s.rmseOfMean;
  if (!Number.isFinite(gain)) return 'All values are equal: there is nothing to test.';
  if (gain < 0.02)
    said.push(
      'Left-out points are predicted no better than by the plain mean of the others: the pattern is not supported.',
    );
  else said.push(`Left-out points are predicted ${Math.round(100 * gain)} % closer than by the plain mean.`);
  if (s.msdr !== null && s.msdrSd !== null) {
    const spread = Math.sqrt(s.msdr);
    if (s.msdr > 1 + 2 * s.msdrSd)
      said.push(`Stated errors are too small: the misses are ${spread.toFixed(2)} times as large as stated.`);
    else if (s.msdr < 1 - 2 * s.msdrSd)
      said.push(`Stated errors are too large: the misses are ${spread.toFixed(2)} times what is stated.`);
    else
      said.push(
        `Stated errors fit the misses (ratio ${spread.toFixed(2)}, within chance for ${s.n} points).`,
      );
    if (s.msdr > 1 + 2 * s.msdrSd && (s.medianSquaredZ ?? 0) < 0.455)
      said.push('A few points alone cause that: look at them.');
  }
  // misses larger than stated scatter their mean as much more widely
  const scatter = Math.max(1, Math.sqrt(s.msdr ?? 1));
  const leans = s.meanZ !== null && s.meanZSd !== null && Math.abs(s.meanZ) > 2 * s.meanZSd * scatter + 1e-12;
  // of skewed values the plain and the scaled mean may point opposite ways: then neither is a lean
  if (s.meanZ !== null && leans && s.meanZ * s.meanError > 0)
    said.push(`Predictions are too ${s.meanZ > 0 ? 'low' : 'high'} on average.`);
  if (s.n < 30) said.push(`With ${s.n} points this test is weak.`);
  return said.join(' ');
}
