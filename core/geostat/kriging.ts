// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Kriging: what is factored once per data set. `krige.ts` predicts from it.
 *
 * The nugget is part of what is predicted: exact at a data point, and in the variance everywhere else. A point's own
 * error variance is noise on that point only: filtered, and not in the predicted variance. Samples at one place
 * each carry their own nugget; the truth there is then their mean.
 */
import { AppError } from '../errors.ts';
import {
  addStructuredCovariances,
  compileModel,
  structuredCovariance,
  type VariogramModel,
} from './models.ts';
import { type Allocate, allocatePlain, type OrderedPoints, orderPoints, type PointSet } from './points.ts';
import { dot, factorCholesky, solveLower, solveUpper } from './solve.ts';
import { buildSpatialIndex, type SpatialIndex } from './spatial-index.ts';

export interface Neighbourhood {
  /** Nearest points used for a cell, by plain distance even where the model is anisotropic. */
  readonly nearest: number;
  readonly maxDistanceM?: number;
  /** Cells with fewer points than this get NaN. Default 1. */
  readonly minimum?: number;
}

/** A block as nodes with weights that sum to 1. Offsets are interleaved [dx, dy] from the cell, metres. */
export interface BlockNodes {
  readonly offsetsXy: Float64Array;
  readonly weights: Float64Array;
}

export interface KrigingOptions {
  /** Simple kriging with this mean. Not together with a drift. */
  readonly knownMean?: number;
  /** 'constant' (default) is ordinary kriging; 'linear' adds x and y. */
  readonly drift?: 'constant' | 'linear';
  /** Left out: all points for every cell. */
  readonly neighbourhood?: Neighbourhood;
  /** Left out: point estimates. The nugget is left out of the block's own variance (it averages out). */
  readonly block?: BlockNodes;
  /** Where arrays are made, for instance over a SharedArrayBuffer. */
  readonly allocate?: Allocate;
}

/** The factored system of all points. */
export interface GlobalSystem {
  /** Lower Cholesky factor of the data covariance, n x n row-major. */
  readonly factor: Float64Array;
  /** Weights of the covariances in the estimate. */
  readonly dual: Float64Array;
  /** Drift coefficients; empty for simple kriging. */
  readonly drift: Float64Array;
  /** factor^-1 F, n x p row-major, and the Cholesky factor of its cross product, p x p. */
  readonly whitenedDrift: Float64Array;
  readonly driftFactor: Float64Array;
}

/** Everything a prediction needs, as plain data and flat arrays: may be posted to or shared with other threads. */
export interface KrigingState {
  readonly points: OrderedPoints;
  readonly compiled: Float64Array;
  /** Number of drift columns: 0 simple, 1 ordinary, 3 linear. */
  readonly driftColumns: number;
  /** Taken off the values before solving: the known mean, or their average (results do not depend on it). */
  readonly offset: number;
  /** Drift columns are 1, (x - x0) / scale, (y - y0) / scale. */
  readonly driftFrame: readonly [x0M: number, y0M: number, scaleM: number];
  readonly block: BlockNodes | null;
  /** Variance of what is predicted, nugget excepted: sill, or mean covariance within the block. */
  readonly priorVariance: number;
  readonly system: GlobalSystem | null;
  readonly local: { readonly index: SpatialIndex; readonly neighbourhood: Required<Neighbourhood> } | null;
}

/** Above this a global factor would take more than 512 MB. */
export const MAXIMUM_GLOBAL_POINTS = 8000;

/**
 * Checks and factors. Points are put in canonical order first, so that the result does not depend on theirs.
 * @throws AppError BAD_INPUT for unusable points, model or options; SINGULAR where the weights do not exist
 *   (co-located points without nugget or error, points on one line for a linear drift, too smooth a model)
 */
export function prepareKriging(
  points: PointSet,
  model: VariogramModel,
  options: KrigingOptions = {},
): KrigingState {
  const allocate = options.allocate ?? allocatePlain;
  const ordered = orderPoints(points, allocate);
  if (ordered.n === 0) throw new AppError('BAD_INPUT', 'Kriging needs at least one point; none given');
  const linear = options.drift === 'linear';
  const { knownMean } = options;
  if (knownMean !== undefined && (linear || !Number.isFinite(knownMean)))
    throw new AppError(
      'BAD_INPUT',
      `Kriging: known mean ${knownMean} cannot be used${linear ? ' with a drift' : ''}`,
    );
  const driftColumns = knownMean !== undefined ? 0 : linear ? 3 : 1;
  const compiledModel = compileModel(model);
  const compiled = allocate(compiledModel.length);
  compiled.set(compiledModel);
  const block = options.block ?? null;
  const base = {
    points: ordered,
    compiled,
    driftColumns,
    offset: knownMean ?? ordered.values.reduce((sum, v) => sum + v, 0) / ordered.n,
    driftFrame: frameOf(ordered),
    block,
    priorVariance: block === null ? structuredCovariance(compiled, 0, 0) : withinBlock(compiled, block),
  };
  if (options.neighbourhood === undefined) {
    if (ordered.n > MAXIMUM_GLOBAL_POINTS)
      throw new AppError(
        'BAD_INPUT',
        `Kriging with all ${ordered.n} points at once needs too much memory: use the nearest`,
      );
    return { ...base, system: factorGlobal(base, allocate), local: null };
  }
  const { nearest, maxDistanceM = Number.POSITIVE_INFINITY, minimum = 1 } = options.neighbourhood;
  if (!(nearest >= 1) || !(maxDistanceM > 0) || !(minimum >= 1))
    throw new AppError(
      'BAD_INPUT',
      `Neighbourhood: nearest ${nearest}, distance ${maxDistanceM}, minimum ${minimum}`,
    );
  const neighbourhood = { nearest: Math.min(Math.floor(nearest), ordered.n), maxDistanceM, minimum };
  return {
    ...base,
    system: null,
    local: { index: buildSpatialIndex(ordered.xs, ordered.ys), neighbourhood },
  };
}

function frameOf(points: OrderedPoints): readonly [number, number, number] {
  const x0 = points.xs.reduce((s, v) => s + v, 0) / points.n;
  const y0 = points.ys.reduce((s, v) => s + v, 0) / points.n;
  let scale = 0;
  for (let i = 0; i < points.n; i++)
    scale = Math.max(scale, Math.abs(points.xs[i]! - x0), Math.abs(points.ys[i]! - y0));
  return [x0, y0, scale > 0 ? scale : 1];
}

function withinBlock(compiled: Float64Array, block: BlockNodes): number {
  const { offsetsXy, weights } = block;
  const n = weights.length;
  if (n === 0 || offsetsXy.length !== 2 * n)
    throw new AppError('BAD_INPUT', `Block: ${offsetsXy.length} coordinates for ${n} weights`);
  const sum = weights.reduce((s, w) => s + w, 0);
  if (!(Math.abs(sum - 1) < 1e-9))
    throw new AppError('BAD_INPUT', `Block: node weights sum to ${sum}, not 1`);
  let total = 0;
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++)
      total +=
        weights[i]! *
        weights[j]! *
        structuredCovariance(
          compiled,
          offsetsXy[2 * i]! - offsetsXy[2 * j]!,
          offsetsXy[2 * i + 1]! - offsetsXy[2 * j + 1]!,
        );
  return total;
}

/** Lower triangle of the data covariance of the points `ids` (all where null) into `out`, row-major n x n. */
export function fillDataCovariance(
  compiled: Float64Array,
  points: OrderedPoints,
  ids: Int32Array | null,
  n: number,
  out: Float64Array,
): void {
  const diagonal = structuredCovariance(compiled, 0, 0) + compiled[0]!;
  for (let i = 0; i < n; i++) {
    const a = ids === null ? i : ids[i]!;
    const row = i * n;
    if (ids === null) {
      out.fill(0, row, row + i);
      addStructuredCovariances(
        compiled,
        points.xs,
        points.ys,
        0,
        i,
        points.xs[a]!,
        points.ys[a]!,
        1,
        out,
        row,
        1,
      );
    } else {
      for (let j = 0; j < i; j++) {
        const b = ids[j]!;
        out[row + j] = structuredCovariance(
          compiled,
          points.xs[a]! - points.xs[b]!,
          points.ys[a]! - points.ys[b]!,
        );
      }
    }
    out[row + i] = diagonal + points.errorVariances[a]!;
  }
}

/** Drift columns at one position into out[at..]. */
export function fillDrift(
  frame: readonly [number, number, number],
  columns: number,
  xM: number,
  yM: number,
  out: Float64Array,
  at: number,
): void {
  if (columns > 0) out[at] = 1;
  if (columns > 1) {
    out[at + 1] = (xM - frame[0]) / frame[2];
    out[at + 2] = (yM - frame[1]) / frame[2];
  }
}

/** Cross product of the whitened drift (n x p) into `out` (p x p), factored. @returns false where it is singular */
export function factorDrift(whitened: Float64Array, n: number, p: number, out: Float64Array): boolean {
  out.fill(0, 0, p * p);
  for (let i = 0; i < n; i++)
    for (let a = 0; a < p; a++)
      for (let b = 0; b <= a; b++)
        out[a * p + b] = out[a * p + b]! + whitened[i * p + a]! * whitened[i * p + b]!;
  return factorCholesky(out, p, 1e-10) < 0;
}

type Unfactored = Omit<KrigingState, 'system' | 'local'>;

function factorGlobal(base: Unfactored, allocate: Allocate): GlobalSystem {
  const { points, compiled, driftColumns: p } = base;
  const { n } = points;
  const factor = allocate(n * n);
  fillDataCovariance(compiled, points, null, n, factor);
  const failed = factorCholesky(factor, n);
  if (failed >= 0) throw singularAt(points, failed, compiled[0]!);
  const whitenedDrift = allocate(n * p);
  const column = new Float64Array(n);
  const row = new Float64Array(3);
  for (let c = 0; c < p; c++) {
    for (let i = 0; i < n; i++) {
      fillDrift(base.driftFrame, p, points.xs[i]!, points.ys[i]!, row, 0);
      column[i] = row[c]!;
    }
    solveLower(factor, n, column);
    for (let i = 0; i < n; i++) whitenedDrift[i * p + c] = column[i]!;
  }
  const driftFactor = allocate(p * p);
  if (!factorDrift(whitenedDrift, n, p, driftFactor))
    throw new AppError(
      'SINGULAR',
      `A linear drift needs three points or more that are not on one line; ${n} given that are too few or on a line`,
    );
  const dual = allocate(n);
  const drift = allocate(p);
  solveDual(points.values, base.offset, factor, whitenedDrift, driftFactor, n, p, dual, drift);
  return { factor, dual, drift, whitenedDrift, driftFactor };
}

/** Estimate = offset + f . drift + k . dual, for any values at the points of a factored system. */
export function solveDual(
  values: Float64Array,
  offset: number,
  factor: Float64Array,
  whitenedDrift: Float64Array,
  driftFactor: Float64Array,
  n: number,
  p: number,
  dual: Float64Array,
  drift: Float64Array,
): void {
  for (let i = 0; i < n; i++) dual[i] = values[i]! - offset;
  solveLower(factor, n, dual);
  drift.fill(0);
  for (let i = 0; i < n; i++)
    for (let c = 0; c < p; c++) drift[c] = drift[c]! + whitenedDrift[i * p + c]! * dual[i]!;
  solveLower(driftFactor, p, drift);
  solveUpper(driftFactor, p, drift);
  for (let i = 0; i < n; i++) dual[i] = dual[i]! - dot(whitenedDrift, i * p, drift, 0, p);
  solveUpper(factor, n, dual);
}

/** Says which points make the covariance singular. */
export function singularAt(points: OrderedPoints, row: number, nugget: number): AppError {
  const { xs, ys, order, errorVariances } = points;
  let nearest = -1;
  let best = Number.POSITIVE_INFINITY;
  for (let i = 0; i < row; i++) {
    const d = Math.hypot(xs[i]! - xs[row]!, ys[i]! - ys[row]!);
    if (d < best) {
      best = d;
      nearest = i;
    }
  }
  const details = { point: order[row]!, otherPoint: nearest < 0 ? null : order[nearest]!, distanceM: best };
  if (nearest < 0)
    return new AppError(
      'SINGULAR',
      `The model has no variance at all, nor has point ${order[row]! + 1}`,
      details,
    );
  const pair = `Points ${order[nearest]! + 1} and ${order[row]! + 1} at ${xs[row]}, ${ys[row]}`;
  if (best === 0 && nugget === 0 && errorVariances[row] === 0)
    return new AppError(
      'SINGULAR',
      `${pair} are at the same place, and with no nugget and no error variance both cannot be met: average them, or give a nugget`,
      details,
    );
  return new AppError(
    'SINGULAR',
    `${pair} are ${best.toPrecision(3)} m apart, too close for so smooth a model with nugget ${nugget}: give a nugget, an error variance or a rougher model`,
    details,
  );
}
