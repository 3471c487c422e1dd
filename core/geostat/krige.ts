// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Predicts from a prepared {@link KrigingState}; one predictor per thread, each with scratch of its own. */
import { TABLE_LENGTH } from '../kernels/correlation-table.ts';
import { fillToFour, packFactor, panelStart } from '../kernels/panels.ts';
import { reserveRoom, threadKernels } from '../kernels/thread.ts';
import type { BlockNodes } from './block.ts';
import { kernelModel } from './kernel-structures.ts';
import {
  factorDrift,
  fillDataCovariance,
  fillDrift,
  type GlobalSystem,
  type KrigingOptions,
  type KrigingState,
  prepareKriging,
  singularAt,
} from './kriging.ts';
import { addStructuredCovariances, structuredSill, type VariogramModel } from './models.ts';
import { countAt, findAt, type PointSet } from './points.ts';
import { dot, factorCholesky, solveLower, solveUpper } from './solve.ts';
import { nearestSearch } from './spatial-index.ts';

export interface KrigingPredictor {
  readonly state: KrigingState;
  /**
   * Cells `from`..`to` (exclusive) of `cellsXy` (interleaved metres) into the same places of the outputs.
   * NaN where a neighbourhood holds too few points. Variance is clamped at 0.
   * @param outVariance kriging variance; null where only the estimate is wanted, which is much faster with all points
   * @param outLagrange Lagrange term L in the sign variance = C(0) - w'k + L; 0 for simple kriging
   */
  predictInto(
    cellsXy: Float64Array,
    from: number,
    to: number,
    outEstimate: Float64Array,
    outVariance: Float64Array | null,
    outLagrange?: Float64Array,
  ): void;
}

export interface Prediction {
  readonly estimate: Float64Array;
  readonly variance: Float64Array;
  readonly lagrange: Float64Array;
}

/** Cells solved together: enough to reuse each number of the factor, few enough to stay in cache. */
const BATCH = 32;

export function krigingPredictor(state: KrigingState): KrigingPredictor {
  return state.system === null ? localPredictor(state) : globalPredictor(state, state.system);
}

/** Prepares and predicts in one go, on this thread. @throws AppError as {@link prepareKriging} */
export function krige(
  points: PointSet,
  model: VariogramModel,
  cellsXy: Float64Array,
  options: KrigingOptions = {},
): Prediction {
  const n = cellsXy.length / 2;
  const out = { estimate: new Float64Array(n), variance: new Float64Array(n), lagrange: new Float64Array(n) };
  const predictor = krigingPredictor(prepareKriging(points, model, options));
  predictor.predictInto(cellsXy, 0, n, out.estimate, out.variance, out.lagrange);
  return out;
}

interface Target {
  /** Drift of the cell (mean over the block) into out[at..]. */
  drift(xM: number, yM: number, out: Float64Array, at: number): void;
  /** Variance of the truth at the cell before any data. */
  prior(xM: number, yM: number): number;
}

/** The nugget a cell at (xM, yM) shares with each of the samples there: their mean is the truth. */
function sharedNugget(
  state: KrigingState,
  xM: number,
  yM: number,
): { first: number; count: number; each: number } {
  const nugget = state.compiled[0]!;
  const first = nugget > 0 ? findAt(state.points, xM, yM) : -1;
  if (first < 0) return { first, count: 0, each: 0 };
  const count = countAt(state.points, first);
  return { first, count, each: nugget / count };
}

function targetOf(state: KrigingState): Target {
  const { compiled, block, driftColumns, driftFrame, priorVariance } = state;
  const nugget = compiled[0]!;
  if (block === null) {
    return {
      drift: (xM, yM, out, at) => fillDrift(driftFrame, driftColumns, xM, yM, out, at),
      prior: (xM, yM) => {
        const { count, each } = sharedNugget(state, xM, yM);
        return priorVariance + (count > 0 ? each : nugget);
      },
    };
  }
  const { offsetsXy, weights } = block;
  const meanDx = weights.reduce((sum, w, q) => sum + w * offsetsXy[2 * q]!, 0);
  const meanDy = weights.reduce((sum, w, q) => sum + w * offsetsXy[2 * q + 1]!, 0);
  return {
    // the drift is linear, so its mean over the block is its value at the mean node
    drift: (xM, yM, out, at) => fillDrift(driftFrame, driftColumns, xM + meanDx, yM + meanDy, out, at),
    prior: () => priorVariance,
  };
}

/**
 * Variance and Lagrange term from the whitened covariances: with t = f - G'v and M = G'G,
 * variance = prior - v'v + t' M^-1 t and L = f' M^-1 t.
 */
function finishVariance(
  prior: number,
  squared: number,
  t: Float64Array,
  f: Float64Array,
  driftFactor: Float64Array,
  p: number,
  scratch: Float64Array,
): { variance: number; lagrange: number } {
  if (p === 0) return { variance: Math.max(0, prior - squared), lagrange: 0 };
  for (let c = 0; c < p; c++) scratch[c] = t[c]!;
  solveLower(driftFactor, p, scratch);
  const gained = dot(scratch, 0, scratch, 0, p);
  solveUpper(driftFactor, p, scratch);
  return { variance: Math.max(0, prior - squared + gained), lagrange: dot(f, 0, scratch, 0, p) };
}

const POINT_NODE: BlockNodes = { offsetsXy: new Float64Array(2), weights: Float64Array.of(1) };

function globalPredictor(state: KrigingState, system: GlobalSystem): KrigingPredictor {
  const { compiled, driftColumns: p, offset } = state;
  const { n, xs, ys } = state.points;
  const { factor, dual, drift, whitenedDrift, driftFactor } = system;
  const target = targetOf(state);
  const { offsetsXy, weights } = state.block ?? POINT_NODE;
  const { structures, tables, others } = kernelModel(compiled);
  const rows = fillToFour(n);
  // four rows more below the covariances: the drift, of which the solution leaves what the points do not explain
  const stride = rows + 4;
  const groups = BATCH / 4;
  const sizes = [
    panelStart(stride / 4),
    n,
    n,
    n,
    8 * groups,
    4 * groups * stride,
    8 * n,
    4 * groups,
    4 * groups,
    TABLE_LENGTH * tables.length,
  ];
  const places = sizes.map((_, i) => sizes.slice(0, i).reduce((sum, size) => sum + size, 0));
  const room = reserveRoom(
    sizes.reduce((sum, size) => sum + size, 0),
    (memory, at) => {
      const [f, x, y, d] = places.map((place) => at + place) as [number, number, number, number];
      tables.forEach((table, i) => {
        memory.set(table, at + places.at(-1)! + i * TABLE_LENGTH);
      });
      packFactor(factor, n, memory, f);
      const last = f + panelStart(rows / 4);
      memory.fill(0, last, last + 4 * rows);
      for (let i = 0; i < n; i++)
        for (let c = 0; c < p; c++) memory[last + 4 * i + c] = whitenedDrift[i * p + c]!;
      memory.set(xs, x);
      memory.set(ys, y);
      memory.set(dual, d);
    },
  );
  const f = new Float64Array(3);
  const t = new Float64Array(3);
  const scratch = new Float64Array(3);

  return {
    state,
    predictInto(cellsXy, from, to, outEstimate, outVariance, outLagrange) {
      const kernels = threadKernels();
      const at = room.enter();
      const memory = kernels.memory();
      const [atFactor, atXs, atYs, atDual, atCells, b, atScratch, atEstimates, atSquares, atTables] =
        places.map((place) => at + place) as [
          number,
          number,
          number,
          number,
          number,
          number,
          number,
          number,
          number,
          number,
        ];
      const rowOf = (c: number, row: number) => b + 4 * ((c >> 2) * stride + row) + (c & 3);

      for (let start = from; start < to; start += BATCH) {
        const count = Math.min(BATCH, to - start);
        const used = (count + 3) >> 2;
        memory.fill(0, b, b + 4 * used * stride);
        for (let q = 0; q < weights.length; q++) {
          const weight = weights[q]!;
          for (let c = 0; c < 4 * used; c++) {
            // a group that is not full repeats the last cell
            const cell = start + Math.min(c, count - 1);
            const xM = cellsXy[2 * cell]! + offsetsXy[2 * q]!;
            const yM = cellsXy[2 * cell + 1]! + offsetsXy[2 * q + 1]!;
            memory[atCells + 8 * (c >> 2) + (c & 3)] = xM;
            memory[atCells + 8 * (c >> 2) + 4 + (c & 3)] = yM;
            addStructuredCovariances(others, xs, ys, 0, n, xM, yM, weight, memory, rowOf(c, 0), 4);
            const shared = sharedNugget(state, xM, yM);
            for (let i = shared.first; i < shared.first + shared.count; i++)
              memory[rowOf(c, i)] = memory[rowOf(c, i)]! + weight * shared.each;
          }
          for (const structure of structures) {
            const weighted = {
              ...structure,
              scale: weight * structure.scale,
              table: atTables + structure.table * TABLE_LENGTH,
            };
            kernels.addCovariances(weighted, atXs, atYs, n, atCells, used, stride, b, atScratch);
          }
        }
        kernels.project(atDual, n, b, used, stride, atEstimates);
        for (let c = 0; c < count; c++) {
          target.drift(cellsXy[2 * (start + c)]!, cellsXy[2 * (start + c) + 1]!, f, 0);
          for (let a = 0; a < p; a++) memory[rowOf(c, rows + a)] = f[a]!;
          outEstimate[start + c] = offset + dot(f, 0, drift, 0, p) + memory[atEstimates + c]!;
        }
        if (outVariance === null && outLagrange === undefined) continue;
        kernels.solvePanels(atFactor, rows, stride, b, used, stride);
        kernels.sumSquares(rows, b, used, stride, atSquares);
        for (let c = 0; c < count; c++) {
          const xM = cellsXy[2 * (start + c)]!;
          const yM = cellsXy[2 * (start + c) + 1]!;
          target.drift(xM, yM, f, 0);
          for (let a = 0; a < p; a++) t[a] = memory[rowOf(c, rows + a)]!;
          const squared = memory[atSquares + c]!;
          const done = finishVariance(target.prior(xM, yM), squared, t, f, driftFactor, p, scratch);
          if (outVariance !== null) outVariance[start + c] = done.variance;
          if (outLagrange !== undefined) outLagrange[start + c] = done.lagrange;
        }
      }
    },
  };
}

/** A small system over chosen points, factored again only where the choice changes. */
export interface LocalSolver {
  /** @param ids ordered point numbers, ascending; @returns false where the drift cannot be told from these points */
  choose(ids: Int32Array, count: number): boolean;
  /** Predicts the truth at a cell from the chosen points. */
  predict(xM: number, yM: number): LocalPrediction;
  /** Predicts a further sample at a position, with a nugget of its own even where chosen points coincide. */
  predictSample(xM: number, yM: number): LocalPrediction;
}

export interface LocalPrediction {
  readonly estimate: number;
  readonly variance: number;
  readonly lagrange: number;
}

export function localSolver(state: KrigingState, capacity: number): LocalSolver {
  const { points, compiled, block, driftColumns: p, driftFrame, offset } = state;
  const target = targetOf(state);
  const chosen = new Int32Array(capacity);
  const xs = new Float64Array(capacity);
  const ys = new Float64Array(capacity);
  const factor = new Float64Array(capacity * capacity);
  const whitenedData = new Float64Array(capacity);
  const whitenedDrift = new Float64Array(capacity * 3);
  const column = new Float64Array(capacity);
  const driftFactor = new Float64Array(9);
  const v = new Float64Array(capacity);
  const f = new Float64Array(3);
  const t = new Float64Array(3);
  const beta = new Float64Array(3);
  const scratch = new Float64Array(3);
  let n = 0;
  let usable = false;

  const addCovariances = (xM: number, yM: number, weight: number) => {
    addStructuredCovariances(compiled, xs, ys, 0, n, xM, yM, weight, v, 0, 1);
  };
  const addSharedNugget = (xM: number, yM: number, weight: number) => {
    const { count, each } = sharedNugget(state, xM, yM);
    if (count > 0) for (let i = 0; i < n; i++) if (xs[i] === xM && ys[i] === yM) v[i] = v[i]! + weight * each;
  };

  const finish = (prior: number): LocalPrediction => {
    solveLower(factor, n, v);
    t.set(f);
    for (let i = 0; i < n; i++) for (let c = 0; c < p; c++) t[c] = t[c]! - whitenedDrift[i * p + c]! * v[i]!;
    const done = finishVariance(prior, dot(v, 0, v, 0, n), t, f, driftFactor, p, scratch);
    return { ...done, estimate: offset + dot(f, 0, beta, 0, p) + dot(v, 0, whitenedData, 0, n) };
  };

  return {
    choose(ids, count) {
      let same = count === n;
      for (let i = 0; same && i < n; i++) same = chosen[i] === ids[i];
      if (same && n > 0) return usable;
      n = count;
      for (let i = 0; i < n; i++) {
        const id = ids[i]!;
        chosen[i] = id;
        xs[i] = points.xs[id]!;
        ys[i] = points.ys[id]!;
        whitenedData[i] = points.values[id]! - offset;
      }
      fillDataCovariance(compiled, points, chosen, n, factor);
      const failed = factorCholesky(factor, n);
      if (failed >= 0) throw singularChoice(state, chosen, failed);
      solveLower(factor, n, whitenedData);
      for (let c = 0; c < p; c++) {
        for (let i = 0; i < n; i++) {
          fillDrift(driftFrame, p, xs[i]!, ys[i]!, scratch, 0);
          column[i] = scratch[c]!;
        }
        solveLower(factor, n, column);
        for (let i = 0; i < n; i++) whitenedDrift[i * p + c] = column[i]!;
      }
      usable = n >= p && factorDrift(whitenedDrift, n, p, driftFactor);
      if (!usable) return false;
      beta.fill(0);
      for (let i = 0; i < n; i++)
        for (let c = 0; c < p; c++) beta[c] = beta[c]! + whitenedDrift[i * p + c]! * whitenedData[i]!;
      solveLower(driftFactor, p, beta);
      solveUpper(driftFactor, p, beta);
      for (let i = 0; i < n; i++) whitenedData[i] = whitenedData[i]! - dot(whitenedDrift, i * p, beta, 0, p);
      return true;
    },
    predict(xM, yM) {
      v.fill(0, 0, n);
      const count = block === null ? 1 : block.weights.length;
      for (let q = 0; q < count; q++) {
        const x = xM + (block === null ? 0 : block.offsetsXy[2 * q]!);
        const y = yM + (block === null ? 0 : block.offsetsXy[2 * q + 1]!);
        const weight = block === null ? 1 : block.weights[q]!;
        addCovariances(x, y, weight);
        addSharedNugget(x, y, weight);
      }
      target.drift(xM, yM, f, 0);
      return finish(target.prior(xM, yM));
    },
    predictSample(xM, yM) {
      v.fill(0, 0, n);
      addCovariances(xM, yM, 1);
      fillDrift(driftFrame, p, xM, yM, f, 0);
      return finish(structuredSill(compiled) + compiled[0]!);
    },
  };
}

function singularChoice(state: KrigingState, chosen: Int32Array, failed: number) {
  const { points } = state;
  const pick = (a: Float64Array) => Float64Array.from({ length: failed + 1 }, (_, i) => a[chosen[i]!]!);
  const subset = {
    n: failed + 1,
    xs: pick(points.xs),
    ys: pick(points.ys),
    values: pick(points.values),
    errorVariances: pick(points.errorVariances),
    order: Int32Array.from({ length: failed + 1 }, (_, i) => points.order[chosen[i]!]!),
  };
  return singularAt(subset, failed, state.compiled[0]!);
}

function localPredictor(state: KrigingState): KrigingPredictor {
  const { index, neighbourhood } = state.local!;
  const { nearest, maxDistanceM, minimum } = neighbourhood;
  const search = nearestSearch(index, nearest);
  const solver = localSolver(state, nearest);
  return {
    state,
    predictInto(cellsXy, from, to, outEstimate, outVariance, outLagrange) {
      for (let cell = from; cell < to; cell++) {
        const xM = cellsXy[2 * cell]!;
        const yM = cellsXy[2 * cell + 1]!;
        const count = search.search(xM, yM, maxDistanceM, -1);
        let result = { estimate: Number.NaN, variance: Number.NaN, lagrange: Number.NaN };
        if (count >= minimum && count > 0) {
          const ids = search.found.subarray(0, count).sort();
          if (solver.choose(ids, count)) result = solver.predict(xM, yM);
        }
        outEstimate[cell] = result.estimate;
        if (outVariance !== null) outVariance[cell] = result.variance;
        if (outLagrange !== undefined) outLagrange[cell] = result.lagrange;
      }
    },
  };
}
