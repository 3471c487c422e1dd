// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Gaussian likelihood of a variogram model, plain (ML) or restricted to what the drift cannot explain (REML).
 * With K the data covariance, F the drift, r the generalised residual:
 *   ML    -1/2 [ n log 2pi + log|K| + r'K^-1 r ]
 *   REML  -1/2 [ (n-p) log 2pi + log|K| + log|F'K^-1 F| - log|F'F| + r'K^-1 r ]
 * (Patterson and Thompson, Biometrika 58, 1971; Kitanidis, Water Resour. Res. 19, 1983).
 */
import { AppError } from '../errors.ts';
import type { StructureShape } from './fit-variogram.ts';
import { minimiseSimplex } from './minimise.ts';
import { addStructuredCovariances, compileModel, type VariogramModel } from './models.ts';
import { orderPoints, type PointSet } from './points.ts';
import { dot, factorCholesky, solveLower, solveUpper } from './solve.ts';

export interface LikelihoodOptions {
  readonly restricted?: boolean;
  readonly drift?: 'constant' | 'linear';
  /**
   * More points than this are split into neighbouring groups of at most this many, taken as independent with a mean
   * each: the short distances, which decide a map, stay together. Default: never split.
   */
  readonly maximumGroup?: number;
  /** More groups than this: only as many, spread evenly over the ground, are used. Default all. */
  readonly maximumGroups?: number;
}

interface Group {
  readonly n: number;
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  readonly values: Float64Array;
  readonly errorVariances: Float64Array;
  /** n x p, row-major, centred and scaled. */
  readonly drift: Float64Array;
  readonly logDetDrift: number;
}

export interface LikelihoodData {
  readonly groups: readonly Group[];
  readonly n: number;
  /** Drift columns per group. */
  readonly p: number;
  readonly restricted: boolean;
  readonly hasErrors: boolean;
}

/** @throws AppError BAD_INPUT for unusable points, SINGULAR where a group cannot carry the drift */
export function prepareLikelihood(points: PointSet, options: LikelihoodOptions = {}): LikelihoodData {
  const ordered = orderPoints(points);
  const p = options.drift === 'linear' ? 3 : 1;
  const limit = options.maximumGroup ?? Number.POSITIVE_INFINITY;
  const all: Group[] = [];
  const split = (ids: Int32Array, byX: boolean): void => {
    if (ids.length > limit) {
      const axis = byX ? ordered.xs : ordered.ys;
      const sorted = ids.slice().sort((a, b) => axis[a]! - axis[b]! || a - b);
      const middle = sorted.length >> 1;
      split(sorted.slice(0, middle), !byX);
      split(sorted.slice(middle), !byX);
      return;
    }
    const pick = (a: Float64Array) => Float64Array.from(ids, (i) => a[i]!);
    const base = {
      n: ids.length,
      xs: pick(ordered.xs),
      ys: pick(ordered.ys),
      values: pick(ordered.values),
      errorVariances: pick(ordered.errorVariances),
    };
    all.push({ ...base, ...driftOf(base.xs, base.ys, p) });
  };
  split(
    Int32Array.from({ length: ordered.n }, (_, i) => i),
    true,
  );
  const kept = Math.min(all.length, options.maximumGroups ?? all.length);
  const groups = Array.from({ length: kept }, (_, i) => all[Math.floor((i * all.length) / kept)]!);
  return {
    groups,
    n: groups.reduce((sum, g) => sum + g.n, 0),
    p,
    restricted: options.restricted ?? true,
    hasErrors: ordered.errorVariances.some((v) => v > 0),
  };
}

function driftOf(
  xs: Float64Array,
  ys: Float64Array,
  p: number,
): { drift: Float64Array; logDetDrift: number } {
  const n = xs.length;
  const drift = new Float64Array(n * p);
  const mean = (a: Float64Array) => a.reduce((s, v) => s + v, 0) / n;
  const [x0, y0] = [mean(xs), mean(ys)];
  const scale = Math.max(1e-300, ...xs.map((x) => Math.abs(x - x0)), ...ys.map((y) => Math.abs(y - y0)));
  for (let i = 0; i < n; i++) {
    drift[i * p] = 1;
    if (p === 3) {
      drift[i * p + 1] = (xs[i]! - x0) / scale;
      drift[i * p + 2] = (ys[i]! - y0) / scale;
    }
  }
  const cross = crossProduct(drift, n, p);
  if (n <= p || factorCholesky(cross, p, 1e-10) >= 0)
    throw new AppError(
      'SINGULAR',
      `Likelihood: ${n} points cannot carry a drift with ${p} terms and a variogram`,
    );
  return { drift, logDetDrift: logDeterminant(cross, p) };
}

function crossProduct(a: Float64Array, n: number, p: number): Float64Array {
  const out = new Float64Array(p * p);
  for (let i = 0; i < n; i++)
    for (let r = 0; r < p; r++)
      for (let c = 0; c <= r; c++) out[r * p + c] = out[r * p + c]! + a[i * p + r]! * a[i * p + c]!;
  return out;
}

function logDeterminant(factor: Float64Array, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) sum += Math.log(factor[i * n + i]!);
  return 2 * sum;
}

interface Whitened {
  readonly logDet: number;
  readonly logDetInformation: number;
  readonly squares: number;
}

/** Log determinant and generalised residual sum of squares of one group under covariance `k` (spoiled); null if singular. */
function whiten(group: Group, k: Float64Array, p: number): Whitened | null {
  const { n } = group;
  if (factorCholesky(k, n) >= 0) return null;
  const z = group.values.slice();
  solveLower(k, n, z);
  const g = new Float64Array(n * p);
  const column = new Float64Array(n);
  for (let c = 0; c < p; c++) {
    for (let i = 0; i < n; i++) column[i] = group.drift[i * p + c]!;
    solveLower(k, n, column);
    for (let i = 0; i < n; i++) g[i * p + c] = column[i]!;
  }
  const information = crossProduct(g, n, p);
  if (factorCholesky(information, p) >= 0) return null;
  const beta = new Float64Array(p);
  for (let i = 0; i < n; i++) for (let c = 0; c < p; c++) beta[c] = beta[c]! + g[i * p + c]! * z[i]!;
  solveLower(information, p, beta);
  solveUpper(information, p, beta);
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (z[i]! - dot(g, i * p, beta, 0, p)) ** 2;
  return { logDet: logDeterminant(k, n), logDetInformation: logDeterminant(information, p), squares };
}

function assemble(data: LikelihoodData, parts: readonly Whitened[], sill: number): number {
  let sum = 0;
  data.groups.forEach((group, i) => {
    const part = parts[i]!;
    const degrees = data.restricted ? group.n - data.p : group.n;
    const extra = data.restricted ? part.logDetInformation - group.logDetDrift : 0;
    sum += degrees * Math.log(2 * Math.PI * sill) + part.logDet + extra + part.squares / sill;
  });
  return -0.5 * sum;
}

function fillCovariance(group: Group, compiled: Float64Array, diagonal: (i: number) => number): Float64Array {
  const { n, xs, ys } = group;
  const k = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    addStructuredCovariances(compiled, xs, ys, 0, i, xs[i]!, ys[i]!, 1, k, i * n, 1);
    k[i * n + i] = diagonal(i);
  }
  return k;
}

/** Log-likelihood of a complete model; -Infinity where its covariance is singular at these points. */
export function logLikelihood(data: LikelihoodData, model: VariogramModel): number {
  const compiled = compileModel(model);
  const sill = model.structures.reduce((s, t) => s + t.partialSill, model.nugget);
  const parts: Whitened[] = [];
  for (const group of data.groups) {
    const part = whiten(
      group,
      fillCovariance(group, compiled, (i) => sill + group.errorVariances[i]!),
      data.p,
    );
    if (part === null) return Number.NEGATIVE_INFINITY;
    parts.push(part);
  }
  return assemble(data, parts, 1);
}

export interface Profile {
  readonly logLikelihood: number;
  /** Nugget and partial sill together. */
  readonly sill: number;
}

/** Of the sill, relative, where points have errors of their own and it is found by repetition. */
const SILL_TOLERANCE = 1e-4;

/**
 * Log-likelihoods over nugget shares (nugget / sill) for one shape and range, each with its own best sill.
 * With error variances the sill is the one under which squared whitened residuals average 1.
 */
export function profileShares(
  data: LikelihoodData,
  shape: StructureShape,
  rangeM: number,
  shares: readonly number[],
): Profile[] {
  const compiled = compileModel({ nugget: 0, structures: [{ ...shape, partialSill: 1, rangeM }] });
  const correlations = data.groups.map((group) => fillCovariance(group, compiled, () => 1));
  const degrees = data.groups.reduce((s, g) => s + g.n - (data.restricted ? data.p : 0), 0);
  const start = data.hasErrors ? pooledVariance(data) : 1;
  let last = start;
  return shares.map((share) => {
    // neighbouring shares have nearly the same sill
    let sill = last;
    let parts: Whitened[] = [];
    for (let round = 0; round < (data.hasErrors ? 6 : 1); round++) {
      parts = [];
      for (let g = 0; g < data.groups.length; g++) {
        const group = data.groups[g]!;
        const k = correlations[g]!.slice();
        const { n } = group;
        for (let i = 0; i < n; i++) {
          for (let j = 0; j < i; j++) k[i * n + j] = k[i * n + j]! * (1 - share);
          k[i * n + i] = 1 + group.errorVariances[i]! / sill;
        }
        const part = whiten(group, k, data.p);
        if (part === null) return { logLikelihood: Number.NEGATIVE_INFINITY, sill };
        parts.push(part);
      }
      const best = parts.reduce((s, part) => s + part.squares, 0) / degrees;
      if (!data.hasErrors) {
        sill = best;
        break;
      }
      // the covariance just factored is sill x V; keep parts and sill of the same round
      if (round === 5 || Math.abs(best / sill - 1) < SILL_TOLERANCE) break;
      sill = Math.max(best, 1e-4 * start);
    }
    if (!(sill > 0)) return { logLikelihood: Number.NEGATIVE_INFINITY, sill };
    if (data.hasErrors) last = sill;
    return { logLikelihood: assemble(data, parts, sill), sill };
  });
}

function pooledVariance(data: LikelihoodData): number {
  let squares = 0;
  let count = 0;
  for (const { values, n } of data.groups) {
    const mean = values.reduce((s, v) => s + v, 0) / n;
    squares += values.reduce((s, v) => s + (v - mean) ** 2, 0);
    count += n - 1;
  }
  return squares / Math.max(1, count);
}

export interface LikelihoodFit {
  readonly model: VariogramModel;
  readonly logLikelihood: number;
  /** From the curvature in log range and nugget share (sill profiled); NaN on a bound or where flat. */
  readonly standardErrors: { readonly rangeM: number; readonly nuggetShare: number };
  readonly converged: boolean;
}

export interface LikelihoodFitOptions {
  readonly shortestRangeM: number;
  readonly longestRangeM: number;
  /** Keeps very smooth models solvable. Default 0. */
  readonly leastNuggetShare?: number;
  /** Added to the log-likelihood: a weak prior, as a function of range and nugget share. */
  readonly logPrior?: (rangeM: number, nuggetShare: number) => number;
  /** Where to begin, known for instance from another shape; left out: the best of a coarse search. */
  readonly start?: { readonly rangeM: number; readonly nuggetShare: number };
  /** Called at every evaluation; may throw to stop. */
  readonly step?: () => void;
}

/** Best range, nugget share and sill for one shape; null where the shape has no likelihood at these points. */
export function fitLikelihood(
  data: LikelihoodData,
  shape: StructureShape,
  options: LikelihoodFitOptions,
): LikelihoodFit | null {
  const low = Math.log(options.shortestRangeM);
  const high = Math.log(options.longestRangeM);
  const prior = options.logPrior ?? (() => 0);
  const least = options.leastNuggetShare ?? 0;
  const shareOf = (x: number) => Math.min(1, Math.max(least, x));
  const rangeOf = (x: number) => Math.exp(Math.min(high, Math.max(low, x)));
  const objective = (x: readonly number[]) => {
    options.step?.();
    const rangeM = rangeOf(x[0]!);
    const share = shareOf(x[1]!);
    // pulls a simplex that stepped over a bound back onto it
    const outside = Math.abs(x[0]! - Math.log(rangeM)) + Math.abs(x[1]! - share);
    return outside - profileShares(data, shape, rangeM, [share])[0]!.logLikelihood - prior(rangeM, share);
  };
  const start: [number, number] =
    options.start === undefined
      ? coarseStart(data, shape, low, high, options)
      : [Math.min(high, Math.max(low, Math.log(options.start.rangeM))), shareOf(options.start.nuggetShare)];
  const found = minimiseSimplex(objective, start, {
    steps: [0.3, start[1] > 0.5 ? -0.1 : 0.1],
    maximumEvaluations: 120,
    valueTolerance: 1e-3,
    stepTolerance: 0.05,
  });
  const rangeM = rangeOf(found.x[0]!);
  const share = shareOf(found.x[1]!);
  const [profile] = profileShares(data, shape, rangeM, [share]);
  if (!Number.isFinite(found.value) || profile === undefined) return null;
  return {
    model: {
      nugget: share * profile.sill,
      structures: [{ ...shape, partialSill: (1 - share) * profile.sill, rangeM }],
    },
    logLikelihood: profile.logLikelihood,
    standardErrors: curvatureErrors((x, s) => objective([x, s]), Math.log(rangeM), share, found.value),
    converged: found.converged,
  };
}

/** Best of a few ranges and nugget shares, as (log range, share). */
function coarseStart(
  data: LikelihoodData,
  shape: StructureShape,
  low: number,
  high: number,
  { logPrior = () => 0, step }: LikelihoodFitOptions,
): [number, number] {
  let start: [number, number] = [(low + high) / 2, 0.3];
  let best = Number.POSITIVE_INFINITY;
  const shares = [0.02, 0.2, 0.5, 0.85];
  for (let i = 0; i < 6; i++) {
    step?.();
    const x = low + ((high - low) * (i + 0.5)) / 6;
    profileShares(data, shape, Math.exp(x), shares).forEach((profile, k) => {
      const value = -profile.logLikelihood - logPrior(Math.exp(x), shares[k]!);
      if (value < best) {
        best = value;
        start = [x, shares[k]!];
      }
    });
  }
  return start;
}

function curvatureErrors(
  f: (logRange: number, share: number) => number,
  x: number,
  share: number,
  centre: number,
): { rangeM: number; nuggetShare: number } {
  const none = { rangeM: Number.NaN, nuggetShare: Number.NaN };
  const hx = 0.05;
  const hs = 0.02;
  if (share < hs || share > 1 - hs) return none;
  const xx = (f(x + hx, share) + f(x - hx, share) - 2 * centre) / hx ** 2;
  const ss = (f(x, share + hs) + f(x, share - hs) - 2 * centre) / hs ** 2;
  const xs =
    (f(x + hx, share + hs) + f(x - hx, share - hs) - f(x + hx, share - hs) - f(x - hx, share + hs)) /
    (4 * hx * hs);
  const determinant = xx * ss - xs * xs;
  if (!(xx > 0 && ss > 0 && determinant > 0)) return none;
  return { rangeM: Math.exp(x) * Math.sqrt(ss / determinant), nuggetShare: Math.sqrt(xx / determinant) };
}
