// biome-ignore-all lint/style/noNonNullAssertion: indices run over arrays of the model's own sizes
import { AppError } from '../errors.ts';
import { factorCholesky, invertFromFactor, solveLower, solveUpper } from '../geostat/solve.ts';

/**
 * Counts whose expectation is linear in the parameters: mu = offset + design theta, theta to be found, each parameter
 * with or without a Gaussian constraint (mean 0 and a stated precision). Convex, so there is one optimum.
 */
export interface PoissonModel {
  readonly rows: number;
  readonly columns: number;
  /** rows x columns, row by row. */
  readonly design: Float64Array;
  readonly offset: Float64Array;
  /** 1/u2 of each parameter about 0; 0 where nothing is known of it. */
  readonly precision: Float64Array;
}

export interface PoissonFit {
  readonly theta: Float64Array;
  readonly expected: Float64Array;
  /** Negative log-likelihood with constraints, without the factorials. */
  readonly objective: number;
}

/** A row without counts keeps this much, so that its expectation stays over 0 and every step has a curvature. */
const LEAST_COUNT = 1e-4;
/** Added to the diagonal, relative to it, where zero counts make a system too steep to be factored as it is. */
const RIDGE = 1e-9;
const MAXIMUM_STEPS = 200;

/**
 * Maximum likelihood by Newton's method with steps cut short where an expectation would become negative.
 * @param start must give expectations over 0
 * @param fixed index of a parameter that stays as it is, or -1
 * @throws AppError SINGULAR where the counts do not settle the parameters
 */
export function fitPoisson(
  model: PoissonModel,
  counts: ArrayLike<number>,
  start: ArrayLike<number>,
  fixed = -1,
): PoissonFit {
  const { rows, columns, design, precision } = model;
  let theta = Float64Array.from(start);
  let mu = expectedCounts(model, theta);
  let objective = objectiveOf(model, counts, mu, theta);
  if (!Number.isFinite(objective))
    throw new AppError('INTERNAL', 'The fit of counts was started where an expectation is not positive');
  const hessian = new Float64Array(columns * columns);
  const step = new Float64Array(columns);
  for (let pass = 0; pass < MAXIMUM_STEPS; pass++) {
    hessian.fill(0);
    for (let j = 0; j < columns; j++) {
      step[j] = -precision[j]! * theta[j]!;
      hessian[j * columns + j] = precision[j]!;
    }
    for (let r = 0; r < rows; r++) {
      const n = Math.max(counts[r]!, LEAST_COUNT);
      const m = mu[r]!;
      const pull = n / m - 1;
      const weight = n / (m * m);
      const at = r * columns;
      for (let j = 0; j < columns; j++) {
        const x = design[at + j]!;
        if (x === 0) continue;
        step[j] = step[j]! + x * pull;
        const wx = weight * x;
        for (let k = 0; k <= j; k++)
          hessian[j * columns + k] = hessian[j * columns + k]! + wx * design[at + k]!;
      }
    }
    if (fixed >= 0) freeze(hessian, step, columns, fixed);
    factorSteep(hessian, columns);
    solveLower(hessian, columns, step);
    let decrement = 0;
    for (let j = 0; j < columns; j++) decrement += step[j]! ** 2;
    solveUpper(hessian, columns, step);
    // So near the optimum a full step is safe, and what it gains is lost in the rounding of the objective.
    const last = decrement < 1e-8;
    let scale = longestStep(model, mu, step);
    let better = false;
    for (let halving = 0; halving < 60; halving++) {
      const next = theta.map((t, j) => t + scale * step[j]!);
      const nextMu = expectedCounts(model, next);
      const value = objectiveOf(model, counts, nextMu, next);
      if (last || value <= objective - 1e-4 * scale * decrement) {
        theta = next;
        mu = nextMu;
        objective = value;
        better = true;
        break;
      }
      scale /= 2;
    }
    if (last || !better) break;
  }
  return { theta, expected: mu, objective };
}

/** Cholesky in place; a ridge helps where rounding alone is in the way. @throws AppError SINGULAR for an empty column */
function factorSteep(matrix: Float64Array, columns: number): void {
  const original = matrix.slice();
  let failed = factorCholesky(matrix, columns);
  for (let ridge = RIDGE; failed >= 0; ridge *= 100) {
    if (ridge > 1 || !(original[failed * columns + failed]! > 0)) throw notSettled(failed);
    matrix.set(original);
    for (let j = 0; j < columns; j++) matrix[j * columns + j] = original[j * columns + j]! * (1 + ridge);
    failed = factorCholesky(matrix, columns);
  }
}

function notSettled(column: number): AppError {
  return new AppError(
    'SINGULAR',
    `The counts do not settle parameter ${column + 1} of the fit: no interval sees it apart from the others`,
    { column },
  );
}

function freeze(hessian: Float64Array, step: Float64Array, columns: number, fixed: number): void {
  for (let k = 0; k < columns; k++) {
    hessian[fixed * columns + k] = 0;
    hessian[k * columns + fixed] = 0;
  }
  hessian[fixed * columns + fixed] = 1;
  step[fixed] = 0;
}

export function expectedCounts(model: PoissonModel, theta: ArrayLike<number>): Float64Array {
  const { rows, columns, design, offset } = model;
  const mu = new Float64Array(rows);
  for (let r = 0; r < rows; r++) {
    let sum = offset[r]!;
    for (let j = 0; j < columns; j++) sum += design[r * columns + j]! * theta[j]!;
    mu[r] = sum;
  }
  return mu;
}

function objectiveOf(
  model: PoissonModel,
  counts: ArrayLike<number>,
  mu: Float64Array,
  theta: Float64Array,
): number {
  let sum = 0;
  for (let r = 0; r < model.rows; r++) {
    const m = mu[r]!;
    if (!(m > 0)) return Number.POSITIVE_INFINITY;
    sum += m - Math.max(counts[r]!, LEAST_COUNT) * Math.log(m);
  }
  for (let j = 0; j < model.columns; j++) sum += 0.5 * model.precision[j]! * theta[j]! ** 2;
  return sum;
}

/** 1, or less where an expectation would fall to a hundredth of what it is. */
function longestStep(model: PoissonModel, mu: Float64Array, step: Float64Array): number {
  let longest = 1;
  for (let r = 0; r < model.rows; r++) {
    let change = 0;
    for (let j = 0; j < model.columns; j++) change += model.design[r * model.columns + j]! * step[j]!;
    if (change < 0) longest = Math.min(longest, (-0.99 * mu[r]!) / change);
  }
  return longest;
}

/**
 * Covariance of the parameters from the information matrix.
 * @param kind 'observed' weighs rows with their counts; 'expected' with the expectations, and refuses a system that
 *   does not part its parameters
 * @returns columns x columns
 * @throws AppError SINGULAR
 */
export function covarianceOf(
  model: PoissonModel,
  mu: ArrayLike<number>,
  kind: 'observed' | 'expected',
  counts: ArrayLike<number> = mu,
): Float64Array {
  const { rows, columns, design } = model;
  const information = new Float64Array(columns * columns);
  for (let j = 0; j < columns; j++) information[j * columns + j] = model.precision[j]!;
  for (let r = 0; r < rows; r++) {
    const weight = (kind === 'expected' ? mu[r]! : Math.max(counts[r]!, LEAST_COUNT)) / mu[r]! ** 2;
    const at = r * columns;
    for (let j = 0; j < columns; j++)
      for (let k = 0; k <= j; k++)
        information[j * columns + k] =
          information[j * columns + k]! + weight * design[at + j]! * design[at + k]!;
  }
  if (kind === 'observed') factorSteep(information, columns);
  else {
    const failed = factorCholesky(information, columns);
    if (failed >= 0) throw notSettled(failed);
  }
  return invertFromFactor(information, columns);
}

export interface Misfit {
  readonly pearson: number;
  readonly deviance: number;
  readonly dof: number;
  /** Least expectation of a row: chi-square is rough where it is under 5. */
  readonly leastExpected: number;
}

/** How far counts are from what the fit expects; a constrained parameter counts as one datum more. */
export function misfitOf(model: PoissonModel, counts: ArrayLike<number>, fit: PoissonFit): Misfit {
  let pearson = 0;
  let deviance = 0;
  let least = Number.POSITIVE_INFINITY;
  for (let r = 0; r < model.rows; r++) {
    const n = counts[r]!;
    const m = fit.expected[r]!;
    pearson += (n - m) ** 2 / m;
    deviance += 2 * (m - n + (n > 0 ? n * Math.log(n / m) : 0));
    least = Math.min(least, m);
  }
  let constraints = 0;
  for (let j = 0; j < model.columns; j++) {
    if (model.precision[j]! === 0) continue;
    constraints++;
    pearson += model.precision[j]! * fit.theta[j]! ** 2;
    deviance += model.precision[j]! * fit.theta[j]! ** 2;
  }
  return {
    pearson,
    deviance: Math.max(0, deviance),
    dof: model.rows + constraints - model.columns,
    leastExpected: least,
  };
}

/**
 * Where one parameter's profile likelihood has fallen by k2/2: the interval that Wilks' theorem gives.
 * @param u first guess of the distance
 * @param low lowest value looked at; returned where the likelihood has not fallen enough there, or already has for
 *   the upper side
 * @param restart parameters that are inside the domain whatever the profiled one is
 * @returns the parameter's value on the given side
 */
export function profileBound(
  model: PoissonModel,
  counts: ArrayLike<number>,
  fit: PoissonFit,
  parameter: number,
  k: number,
  side: -1 | 1,
  u: number,
  low: number,
  restart: ArrayLike<number>,
): number {
  const centre = fit.theta[parameter]!;
  if (side < 0 && centre <= low) return low;
  const conditional = (
    value: number,
    from: Float64Array,
  ): { root: number; slope: number; at: PoissonFit } => {
    let begin = Float64Array.from(from);
    begin[parameter] = value;
    if (!Number.isFinite(objectiveOf(model, counts, expectedCounts(model, begin), begin))) {
      begin = Float64Array.from(restart);
      begin[parameter] = value;
    }
    const at = fitPoisson(model, counts, begin, parameter);
    const root = Math.sqrt(Math.max(0, 2 * (at.objective - fit.objective)));
    let gradient = model.precision[parameter]! * value;
    for (let r = 0; r < model.rows; r++)
      gradient +=
        model.design[r * model.columns + parameter]! *
        (1 - Math.max(counts[r]!, LEAST_COUNT) / at.expected[r]!);
    return { root, slope: root > 0 ? Math.abs(gradient) / root : 0, at };
  };
  let inner = Math.max(centre, low);
  let outer = side < 0 ? low : Number.POSITIVE_INFINITY;
  if (side < 0 || centre < low) {
    const edge = conditional(low, fit.theta).root;
    if (side < 0 ? edge <= k : edge >= k) return low;
  }
  let value = side > 0 ? Math.max(centre + k * u, inner + 0.1 * k * u) : centre - k * u;
  if (side < 0 && value <= low) value = (centre + low) / 2;
  let from: Float64Array = fit.theta;
  for (let pass = 0; pass < 100; pass++) {
    const { root, slope, at } = conditional(value, from);
    from = at.theta;
    if (Math.abs(root - k) < 1e-6) return value;
    if (root < k) inner = value;
    else outer = value;
    const newton = slope > 0 ? value + (side * (k - root)) / slope : Number.NaN;
    const lower = Math.min(inner, outer);
    const upper = Math.max(inner, outer);
    if (newton > lower && newton < upper) value = newton;
    else if (Number.isFinite(outer)) value = (inner + outer) / 2;
    else value = inner + 2 * (value - centre);
    if (Number.isFinite(outer) && Math.abs(outer - inner) <= 1e-10 * Math.max(1, Math.abs(outer)))
      return value;
  }
  return value;
}
