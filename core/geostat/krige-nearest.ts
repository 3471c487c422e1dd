// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Kriging from the points near a cell: a small system, factored anew only where the choice of points is new. */
import type { KrigingPredictor } from './krige.ts';
import { finishVariance, sharedNugget, targetOf } from './krige-target.ts';
import { factorDrift, fillDrift, type KrigingState, singularAt } from './kriging.ts';
import { addStructuredCovariances, structuredSill } from './models.ts';
import { dot, factorCholesky, solveLower, solveUpper } from './solve.ts';
import { nearestSearch } from './spatial-index.ts';

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

/** What is factored for one choice of points. */
interface Choice {
  readonly ids: Int32Array;
  n: number;
  /** Whether the drift can be told from these points. */
  usable: boolean;
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  readonly factor: Float64Array;
  /** What of the data the drift leaves, whitened. */
  readonly residuals: Float64Array;
  readonly whitenedDrift: Float64Array;
  readonly driftFactor: Float64Array;
  readonly beta: Float64Array;
}

/** Numbers that the factors kept for later may take: the next row of cells asks for most of them again. */
const KEPT_NUMBERS = 1 << 20;

export function localSolver(state: KrigingState, capacity: number): LocalSolver {
  const { points, compiled, block, driftColumns: p, driftFrame, offset } = state;
  const target = targetOf(state);
  const kept: (Choice | undefined)[] = new Array(Math.max(1, Math.floor(KEPT_NUMBERS / capacity ** 2)));
  const column = new Float64Array(capacity);
  const v = new Float64Array(capacity);
  const f = new Float64Array(3);
  const t = new Float64Array(3);
  const scratch = new Float64Array(3);
  let choice = emptyChoice(capacity);

  const addCovariances = (xM: number, yM: number, weight: number) => {
    addStructuredCovariances(compiled, choice.xs, choice.ys, 0, choice.n, xM, yM, weight, v, 0, 1);
  };
  const addSharedNugget = (xM: number, yM: number, weight: number) => {
    const { count, each } = sharedNugget(state, xM, yM);
    const { n, xs, ys } = choice;
    if (count > 0) for (let i = 0; i < n; i++) if (xs[i] === xM && ys[i] === yM) v[i] = v[i]! + weight * each;
  };

  const finish = (prior: number): LocalPrediction => {
    const { n, factor, residuals, whitenedDrift, driftFactor, beta } = choice;
    solveLower(factor, n, v);
    t.set(f);
    for (let i = 0; i < n; i++) for (let c = 0; c < p; c++) t[c] = t[c]! - whitenedDrift[i * p + c]! * v[i]!;
    const done = finishVariance(prior, dot(v, 0, v, 0, n), t, f, driftFactor, p, scratch);
    return { ...done, estimate: offset + dot(f, 0, beta, 0, p) + dot(v, 0, residuals, 0, n) };
  };

  const factorChoice = (): boolean => {
    const { n, ids, xs, ys, factor, residuals, whitenedDrift, driftFactor, beta } = choice;
    const diagonal = structuredSill(compiled) + compiled[0]!;
    for (let i = 0; i < n; i++) {
      const id = ids[i]!;
      xs[i] = points.xs[id]!;
      ys[i] = points.ys[id]!;
      residuals[i] = points.values[id]! - offset;
      factor.fill(0, i * n, i * n + i);
      addStructuredCovariances(compiled, xs, ys, 0, i, xs[i]!, ys[i]!, 1, factor, i * n, 1);
      factor[i * n + i] = diagonal + points.errorVariances[id]!;
    }
    const failed = factorCholesky(factor, n);
    if (failed >= 0) throw singularChoice(state, ids, failed);
    solveLower(factor, n, residuals);
    for (let c = 0; c < p; c++) {
      for (let i = 0; i < n; i++) {
        fillDrift(driftFrame, p, xs[i]!, ys[i]!, scratch, 0);
        column[i] = scratch[c]!;
      }
      solveLower(factor, n, column);
      for (let i = 0; i < n; i++) whitenedDrift[i * p + c] = column[i]!;
    }
    if (n < p || !factorDrift(whitenedDrift, n, p, driftFactor)) return false;
    beta.fill(0);
    for (let i = 0; i < n; i++)
      for (let c = 0; c < p; c++) beta[c] = beta[c]! + whitenedDrift[i * p + c]! * residuals[i]!;
    solveLower(driftFactor, p, beta);
    solveUpper(driftFactor, p, beta);
    for (let i = 0; i < n; i++) residuals[i] = residuals[i]! - dot(whitenedDrift, i * p, beta, 0, p);
    return true;
  };

  return {
    choose(ids, count) {
      let mixed = count;
      for (let i = 0; i < count; i++) mixed = Math.imul(mixed ^ ids[i]!, 0x9e3779b1) >>> 1;
      const slot = mixed % kept.length;
      choice = kept[slot] ??= emptyChoice(capacity);
      let same = count === choice.n && count > 0;
      for (let i = 0; same && i < count; i++) same = choice.ids[i] === ids[i];
      if (same) return choice.usable;
      choice.n = count;
      choice.ids.set(ids.subarray(0, count));
      try {
        choice.usable = factorChoice();
      } catch (error) {
        // not to be found half done
        choice.n = 0;
        throw error;
      }
      return choice.usable;
    },
    predict(xM, yM) {
      v.fill(0, 0, choice.n);
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
      v.fill(0, 0, choice.n);
      addCovariances(xM, yM, 1);
      fillDrift(driftFrame, p, xM, yM, f, 0);
      return finish(structuredSill(compiled) + compiled[0]!);
    },
  };
}

function emptyChoice(capacity: number): Choice {
  return {
    ids: new Int32Array(capacity),
    n: 0,
    usable: false,
    xs: new Float64Array(capacity),
    ys: new Float64Array(capacity),
    factor: new Float64Array(capacity * capacity),
    residuals: new Float64Array(capacity),
    whitenedDrift: new Float64Array(capacity * 3),
    driftFactor: new Float64Array(9),
    beta: new Float64Array(3),
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

export function localPredictor(state: KrigingState): KrigingPredictor {
  const { index, neighbourhood } = state.local!;
  const { nearest, maxDistanceM, minimum } = neighbourhood;
  const search = nearestSearch(index, nearest);
  const solver = localSolver(state, nearest);
  // points of the present choice carry the present mark
  const marks = new Int32Array(state.points.n);
  let mark = 0;
  let marked = -1;
  let usable = false;
  const choose = (count: number): boolean => {
    const { found } = search;
    let same = count === marked;
    for (let i = 0; same && i < count; i++) same = marks[found[i]!] === mark;
    if (same) return usable;
    mark++;
    marked = count;
    for (let i = 0; i < count; i++) marks[found[i]!] = mark;
    usable = solver.choose(found.subarray(0, count).sort(), count);
    return usable;
  };
  return {
    state,
    predictInto(cellsXy, from, to, outEstimate, outVariance, outLagrange) {
      for (let cell = from; cell < to; cell++) {
        const xM = cellsXy[2 * cell]!;
        const yM = cellsXy[2 * cell + 1]!;
        const count = search.search(xM, yM, maxDistanceM, -1);
        let result = { estimate: Number.NaN, variance: Number.NaN, lagrange: Number.NaN };
        if (count >= minimum && count > 0) {
          if (choose(count)) result = solver.predict(xM, yM);
        }
        outEstimate[cell] = result.estimate;
        if (outVariance !== null) outVariance[cell] = result.variance;
        if (outLagrange !== undefined) outLagrange[cell] = result.lagrange;
      }
    },
  };
}
