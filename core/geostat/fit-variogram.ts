// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Weighted least squares of a model to a binned variogram, with nugget and sills held at 0 or above. */
import { AppError } from '../errors.ts';
import type { EmpiricalVariogram } from './empirical-variogram.ts';
import { minimiseLine, minimiseSimplex } from './minimise.ts';
import { type Anisotropy, type StructureKind, semivariances, type VariogramModel } from './models.ts';
import { factorCholesky, solveLower, solveUpper } from './solve.ts';

/** What a squared miss in a bin counts: number of pairs; 1; pairs / dist^2; pairs / model^2 (moves while fitting). */
export type FitWeights = 'pairs' | 'equal' | 'pairs/dist2' | 'pairs/gamma2';

export interface StructureShape {
  readonly kind: StructureKind;
  readonly smoothness?: number;
  readonly anisotropy?: Anisotropy;
}

export interface FitOptions {
  /** Default 'pairs/dist2'. */
  readonly weights?: FitWeights;
  /** Held at this; left out: fitted, 0 or above. */
  readonly nugget?: number;
}

export interface FitStandardErrors {
  readonly nugget: number;
  readonly partialSills: readonly number[];
  readonly rangesM: readonly number[];
}

export interface VariogramFit {
  readonly model: VariogramModel;
  /** Sum over bins of weight (semivariance - model)^2 at the mean pair distances. */
  readonly weightedSse: number;
  /** From the linearised fit; NaN for what was held, stands on a bound, or cannot be told from so few bins. */
  readonly standardErrors: FitStandardErrors;
  /** Range ran to the end of what is searched: the variogram shows no sill, or no structure. */
  readonly rangeAtLimit: boolean;
}

/** Ranges are searched from this share of the shortest lag to this multiple of the longest. */
const SHORTEST = 0.05;
const LONGEST = 20;

/**
 * For every range, nugget and sills follow exactly (non-negative linear least squares), so only ranges are searched:
 * a scan and a line search for one structure, a simplex from several starts for more.
 * @param shapes one structure or more, at most three
 * @throws AppError BAD_INPUT for fewer bins than two, or no or too many structures
 */
export function fitVariogram(
  empirical: EmpiricalVariogram,
  shapes: readonly StructureShape[],
  options: FitOptions = {},
): VariogramFit {
  if (shapes.length < 1 || shapes.length > 3)
    throw new AppError(
      'BAD_INPUT',
      `Variogram fit: ${shapes.length} structures (one to three can be fitted)`,
    );
  const kind = options.weights ?? 'pairs/dist2';
  const kept = [...empirical.distM.keys()].filter((i) => empirical.pairs[i]! > 0 && empirical.distM[i]! > 0);
  if (kept.length < 2)
    throw new AppError('BAD_INPUT', `Variogram fit: ${kept.length} lags with pairs; two or more are needed`);
  const pick = (a: Float64Array) => Float64Array.from(kept, (i) => a[i]!);
  const dist = pick(empirical.distM);
  const gamma = pick(empirical.semivariance);
  const pairs = pick(empirical.pairs);
  let weights = pairs.map((np, i) =>
    kind === 'equal' ? 1 : kind === 'pairs/dist2' ? np / dist[i]! ** 2 : np,
  );
  let fit = searchRanges({ dist, gamma, weights, shapes, nugget: options.nugget });
  if (kind === 'pairs/gamma2') {
    for (let round = 0; round < 25; round++) {
      const fitted = semivariances(fit.model, dist);
      weights = pairs.map((np, i) => np / Math.max(fitted[i]!, 1e-12 * Math.max(...gamma)) ** 2);
      fit = searchRanges({ dist, gamma, weights, shapes, nugget: options.nugget });
    }
  }
  const longest = Math.max(...dist) * LONGEST;
  const shortest = Math.min(...dist) * SHORTEST;
  return {
    ...fit,
    standardErrors: standardErrors(fit, { dist, gamma, weights, shapes, nugget: options.nugget }),
    rangeAtLimit: fit.model.structures.some((s) => s.rangeM > 0.99 * longest || s.rangeM < 1.01 * shortest),
  };
}

interface Problem {
  readonly dist: Float64Array;
  readonly gamma: Float64Array;
  readonly weights: Float64Array;
  readonly shapes: readonly StructureShape[];
  readonly nugget: number | undefined;
}

interface Found {
  readonly model: VariogramModel;
  readonly weightedSse: number;
}

function searchRanges(problem: Problem): Found {
  const low = Math.log(Math.min(...problem.dist) * SHORTEST);
  const high = Math.log(Math.max(...problem.dist) * LONGEST);
  const at = (logRanges: readonly number[]) =>
    fitSills(
      problem,
      logRanges.map((r) => Math.exp(Math.min(high, Math.max(low, r)))),
    );
  let best: Found | null = null;
  const keep = (found: Found) => {
    if (best === null || found.weightedSse < best.weightedSse) best = found;
  };
  if (problem.shapes.length === 1) {
    const count = 80;
    const step = (high - low) / (count - 1);
    const sse = Array.from({ length: count }, (_, i) => at([low + i * step]).weightedSse);
    for (let i = 0; i < count; i++) {
      if (
        sse[i]! > (sse[i - 1] ?? Number.POSITIVE_INFINITY) ||
        sse[i]! > (sse[i + 1] ?? Number.POSITIVE_INFINITY)
      )
        continue;
      const line = minimiseLine(
        (r) => at([r]).weightedSse,
        Math.max(low, low + (i - 1) * step),
        Math.min(high, low + (i + 1) * step),
        1e-9,
      );
      keep(at([line.x]));
    }
  } else {
    const longest = Math.max(...problem.dist);
    for (const spread of [0.15, 0.35, 0.7]) {
      const start = problem.shapes.map((_, k) => Math.log(longest * spread ** (problem.shapes.length - k)));
      const found = minimiseSimplex((r) => at(r).weightedSse, start, {
        steps: start.map(() => 0.5),
        maximumEvaluations: 1500,
        valueTolerance: 0,
        stepTolerance: 1e-7,
      });
      keep(at(found.x));
    }
  }
  return best!;
}

/** Best nugget and sills for given ranges. Every choice of which of them are 0 is solved; the best allowed one is kept. */
function fitSills(problem: Problem, rangesM: readonly number[]): Found {
  const { dist, gamma, weights, shapes, nugget } = problem;
  const unit = shapes.map((shape, k) =>
    semivariances({ nugget: 0, structures: [{ ...shape, partialSill: 1, rangeM: rangesM[k]! }] }, dist),
  );
  const columns = nugget === undefined ? [new Float64Array(dist.length).fill(1), ...unit] : unit;
  const y = nugget === undefined ? gamma : gamma.map((g) => g - nugget);
  let best = new Float64Array(columns.length);
  let bestSse = Number.POSITIVE_INFINITY;
  for (let mask = 0; mask < 1 << columns.length; mask++) {
    const chosen = columns.filter((_, k) => (mask >> k) & 1);
    const solution = leastSquares(chosen, y, weights);
    if (solution?.every((v) => v >= 0) !== true) continue;
    let sse = 0;
    for (let i = 0; i < y.length; i++) {
      let miss = y[i]!;
      for (let c = 0; c < chosen.length; c++) miss -= solution[c]! * chosen[c]![i]!;
      sse += weights[i]! * miss * miss;
    }
    if (sse < bestSse) {
      bestSse = sse;
      best = new Float64Array(columns.length);
      let c = 0;
      for (let k = 0; k < columns.length; k++) if ((mask >> k) & 1) best[k] = solution[c++]!;
    }
  }
  const sills = nugget === undefined ? best.subarray(1) : best;
  return {
    model: {
      nugget: nugget ?? best[0]!,
      structures: shapes.map((shape, k) => ({ ...shape, partialSill: sills[k]!, rangeM: rangesM[k]! })),
    },
    weightedSse: bestSse,
  };
}

function leastSquares(
  columns: readonly Float64Array[],
  y: Float64Array,
  weights: Float64Array,
): Float64Array | null {
  const p = columns.length;
  const normal = new Float64Array(p * p);
  const right = new Float64Array(p);
  for (let a = 0; a < p; a++) {
    for (let i = 0; i < y.length; i++) {
      right[a] = right[a]! + weights[i]! * columns[a]![i]! * y[i]!;
      for (let b = 0; b <= a; b++)
        normal[a * p + b] = normal[a * p + b]! + weights[i]! * columns[a]![i]! * columns[b]![i]!;
    }
  }
  if (factorCholesky(normal, p, 1e-13) >= 0) return null;
  solveLower(normal, p, right);
  solveUpper(normal, p, right);
  return right;
}

function standardErrors(fit: Found, problem: Problem): FitStandardErrors {
  const { dist, weights, shapes } = problem;
  const { nugget, structures } = fit.model;
  const m = dist.length;
  const columns: Float64Array[] = [];
  const slots: { kind: 'nugget' | 'sill' | 'range'; k: number }[] = [];
  if (problem.nugget === undefined && nugget > 0) {
    columns.push(new Float64Array(m).fill(1));
    slots.push({ kind: 'nugget', k: 0 });
  }
  structures.forEach((s, k) => {
    if (!(s.partialSill > 0)) return;
    const unit = (rangeM: number) =>
      semivariances({ nugget: 0, structures: [{ ...shapes[k]!, partialSill: 1, rangeM }] }, dist);
    columns.push(unit(s.rangeM));
    slots.push({ kind: 'sill', k });
    const step = 1e-5 * s.rangeM;
    const up = unit(s.rangeM + step);
    const down = unit(s.rangeM - step);
    columns.push(up.map((g, i) => (s.partialSill * (g - down[i]!)) / (2 * step)));
    slots.push({ kind: 'range', k });
  });
  const out = {
    nugget: Number.NaN,
    partialSills: shapes.map(() => Number.NaN),
    rangesM: shapes.map(() => Number.NaN),
  };
  const p = columns.length;
  if (p === 0 || m <= p) return out;
  const normal = new Float64Array(p * p);
  for (let a = 0; a < p; a++)
    for (let b = 0; b <= a; b++)
      for (let i = 0; i < m; i++)
        normal[a * p + b] = normal[a * p + b]! + weights[i]! * columns[a]![i]! * columns[b]![i]!;
  if (factorCholesky(normal, p, 1e-13) >= 0) return out;
  const residualVariance = fit.weightedSse / (m - p);
  slots.forEach((slot, a) => {
    const unit = new Float64Array(p);
    unit[a] = 1;
    solveLower(normal, p, unit);
    const error = Math.sqrt(residualVariance * unit.reduce((sum, v) => sum + v * v, 0));
    if (slot.kind === 'nugget') out.nugget = error;
    else if (slot.kind === 'sill') out.partialSills[slot.k] = error;
    else out.rangesM[slot.k] = error;
  });
  return out;
}
