// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * What choosing n of given candidates can attain at all: the best that long annealing finds, and a value that no choice can
 * be below. Written apart from the search it judges; only the error covariances are the program's, and these are checked
 * against kriging elsewhere.
 */
import type { PositionM } from '../../../core/contract/model.ts';
import {
  dot,
  factorCholesky,
  invertFromFactor,
  solveLower,
  solveUpper,
} from '../../../core/geostat/solve.ts';
import { prepareVarianceUpdate } from '../../../core/plan/variance-update.ts';
import { seededUniform } from '../geostat/simulate.ts';
import type { SimulatedLot } from './simulated-lots.ts';

export interface ChoiceProblem {
  readonly count: number;
  readonly candidates: number;
  readonly targets: number;
  /** Error covariances of candidates, nugget excepted. */
  readonly within: Float64Array;
  /** Candidate with target at [c * targets + e]. */
  readonly cross: Float64Array;
  /** Mean over the targets of cross(c, e) cross(d, e), at [c * candidates + d]. */
  readonly product: Float64Array;
  /** Variance of what a sample says beside the field: the nugget. */
  readonly noise: number;
  /** Mean variance of the targets before any is added, nugget included. */
  readonly before: number;
}

export function choiceProblem(
  lot: SimulatedLot,
  candidates: readonly PositionM[],
  targets: readonly PositionM[],
): ChoiceProblem {
  const [nc, ne] = [candidates.length, targets.length];
  const data = { xy: Float64Array.from(lot.measured.flat()), values: new Float64Array(lot.measured.length) };
  // the candidates as targets too: their covariances with each other
  const all = prepareVarianceUpdate(data, lot.model, 'constant', 0, candidates, [...targets, ...candidates]);
  const within = new Float64Array(nc * nc);
  const cross = new Float64Array(nc * ne);
  for (let c = 0; c < nc; c++) {
    const row = all.cross.subarray(c * (ne + nc), (c + 1) * (ne + nc));
    cross.set(row.subarray(0, ne), c * ne);
    within.set(row.subarray(ne), c * nc);
  }
  const product = new Float64Array(nc * nc);
  for (let c = 0; c < nc; c++) {
    for (let d = 0; d <= c; d++) {
      const value = dot(cross, c * ne, cross, d * ne, ne) / ne;
      product[c * nc + d] = value;
      product[d * nc + c] = value;
    }
  }
  const before = all.targetVariance.subarray(0, ne).reduce((s, v) => s + v, 0) / ne;
  return {
    count: lot.count,
    candidates: nc,
    targets: ne,
    within,
    cross,
    product,
    noise: lot.model.nugget,
    before,
  };
}

/** Mean variance of the targets with samples at these candidates: before - trace((K + t I)^-1 M) over them. */
export function meanVarianceWith(problem: ChoiceProblem, chosen: ArrayLike<number>): number {
  const { candidates: nc, within, product, noise, before } = problem;
  const n = chosen.length;
  const factor = new Float64Array(n * n);
  const right = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      factor[i * n + j] = within[chosen[i]! * nc + chosen[j]!]! + (i === j ? noise + 1e-9 : 0);
      right[i * n + j] = product[chosen[i]! * nc + chosen[j]!]!;
    }
  }
  if (factorCholesky(factor, n) >= 0) return before;
  let fall = 0;
  for (let i = 0; i < n; i++) {
    solveLower(factor, n, right, i * n);
    solveUpper(factor, n, right, i * n);
    fall += right[i * n + i]!;
  }
  return before - fall;
}

/**
 * Simulated annealing: one probe at a time to any other candidate, cooling by a fixed factor, the best kept and then
 * exchanged until no single move helps. Seeded.
 */
export function annealChoice(
  problem: ChoiceProblem,
  moves: number,
  seed: number,
): { chosen: number[]; mean: number } {
  const uniform = seededUniform(seed * 15485863);
  const { count, candidates } = problem;
  const pick = () => Math.floor(uniform() * candidates);
  let chosen = Array.from({ length: count }, pick);
  let now = meanVarianceWith(problem, chosen);
  let best = { chosen, mean: now };
  const hot = 0.02 * problem.before;
  const cold = 1e-6 * problem.before;
  for (let k = 0; k < moves; k++) {
    const heat = hot * (cold / hot) ** (k / moves);
    const to = pick();
    if (chosen.includes(to)) continue;
    const moved = chosen.with(Math.floor(uniform() * count), to);
    const next = meanVarianceWith(problem, moved);
    if (next > now && uniform() >= Math.exp((now - next) / heat)) continue;
    chosen = moved;
    now = next;
    if (now < best.mean) best = { chosen, mean: now };
  }
  for (let changed = true; changed; ) {
    changed = false;
    for (let i = 0; i < count; i++) {
      for (let c = 0; c < candidates; c++) {
        if (best.chosen.includes(c)) continue;
        const moved = best.chosen.with(i, c);
        const mean = meanVarianceWith(problem, moved);
        if (mean < best.mean - 1e-12) {
          best = { chosen: moved, mean };
          changed = true;
        }
      }
    }
  }
  return best;
}

/**
 * A value that no choice of `count` of the candidates can be below. Each candidate takes a weight from 0 to 1, all
 * weights together `count` (Bayesian A-optimal design; a choice has weights 0 and 1), and the mean variance
 *     before - mean over e of k_e' (A + D W^-1)^-1 k_e,   A = K - d V,   D = noise + d V
 * is what samples at weights 0 and 1 leave, for any d and diagonal V (here the variance of each candidate once all others
 * are known); it is convex in the weights where A is positive semidefinite (a
 * parallel sum is concave), and highest for the largest such d, which is found by halving. A tangent plane of a convex
 * function lies below it, so its lowest value over all weights is a bound, however far the minimising has got.
 */
export function lowerBound(problem: ChoiceProblem, rounds: number): number {
  const { candidates: nc, within, count, noise, before } = problem;
  const alone = varianceGivenOthers(within, nc);
  const d = 0.999 * largestShare(within, alone, nc);
  const a = within.slice();
  for (let c = 0; c < nc; c++) a[c * nc + c] = within[c * nc + c]! - d * alone[c]!;
  const own = alone.map((v) => noise + d * v + 1e-9);
  let weights = new Float64Array(nc).fill(count / nc);
  let bound = 0;
  for (let round = 0; round < rounds; round++) {
    const { fall, slope } = relaxedFall(problem, a, own, weights);
    const steepest = slope.toSorted().subarray(nc - count);
    const reach = steepest.reduce((s, v) => s + v, 0) - dot(weights, 0, slope, 0, nc);
    bound = Math.max(bound, before - fall - reach);
    weights = reweigh(weights, slope, count);
  }
  return bound;
}

/** What is left of each candidate's variance once all other candidates are known. */
function varianceGivenOthers(within: Float64Array, n: number): Float64Array<ArrayBuffer> {
  const factor = within.slice();
  for (let i = 0; i < n; i++) factor[i * n + i] = within[i * n + i]! * (1 + 1e-9);
  factorCholesky(factor, n, 1e-13);
  const inverse = invertFromFactor(factor, n);
  return Float64Array.from({ length: n }, (_, i) => 1 / inverse[i * n + i]!);
}

/** The largest d with K - d diag(alone) positive semidefinite, from below, to a thousandth of itself. */
function largestShare(within: Float64Array, alone: Float64Array, n: number): number {
  let [low, high] = [0, 1];
  for (let step = 0; step < 30 && high - low > 1e-3 * high; step++) {
    const d = low === 0 ? high / 2 : (low + high) / 2;
    const trial = within.slice();
    for (let i = 0; i < n; i++) trial[i * n + i] = within[i * n + i]! - d * alone[i]!;
    if (factorCholesky(trial, n, 1e-13) < 0) low = d;
    else high = d;
  }
  return low;
}

function relaxedFall(
  problem: ChoiceProblem,
  a: Float64Array,
  own: Float64Array,
  weights: Float64Array,
): { fall: number; slope: Float64Array } {
  const { candidates: nc, targets: ne, cross } = problem;
  const used = [...weights.keys()].filter((c) => weights[c]! > 1e-12);
  const m = used.length;
  const roots = used.map((c) => Math.sqrt(weights[c]!));
  const factor = new Float64Array(m * m);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j <= i; j++)
      factor[i * m + j] =
        roots[i]! * roots[j]! * a[used[i]! * nc + used[j]!]! + (i === j ? own[used[i]!]! : 0);
  }
  if (factorCholesky(factor, m) >= 0) throw new Error('not positive definite');
  const slope = new Float64Array(nc);
  const solved = new Float64Array(m);
  const left = new Float64Array(nc);
  let fall = 0;
  for (let e = 0; e < ne; e++) {
    for (let i = 0; i < m; i++) solved[i] = roots[i]! * cross[used[i]! * ne + e]!;
    solveLower(factor, m, solved);
    fall += dot(solved, 0, solved, 0, m);
    solveUpper(factor, m, solved);
    for (let c = 0; c < nc; c++) left[c] = cross[c * ne + e]!;
    for (let i = 0; i < m; i++) {
      const y = roots[i]! * solved[i]!;
      const row = used[i]! * nc;
      for (let c = 0; c < nc; c++) left[c] = left[c]! - y * a[row + c]!;
    }
    for (let c = 0; c < nc; c++) slope[c] = slope[c]! + (left[c]! * left[c]!) / own[c]!;
  }
  return { fall: fall / ne, slope: slope.map((s) => s / ne) };
}

/** Weights times the root of their slopes, none over 1, scaled to sum to `count`. */
function reweigh(weights: Float64Array, slope: Float64Array, count: number): Float64Array<ArrayBuffer> {
  const raw = weights.map((w, c) => w * Math.sqrt(slope[c]!));
  let [low, high] = [0, count / raw.reduce((a, b) => Math.max(a, b), 0)];
  const sum = (scale: number) => raw.reduce((s, w) => s + Math.min(1, scale * w), 0);
  while (sum(high) < count) high *= 2;
  for (let step = 0; step < 100; step++) {
    const middle = (low + high) / 2;
    if (sum(middle) < count) low = middle;
    else high = middle;
  }
  return raw.map((w) => Math.min(1, high * w));
}
