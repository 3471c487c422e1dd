// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Minimisers without derivatives. A value that is not finite counts as worse than any other. */

/** Golden-section search on [low, high]; `tolerance` is absolute in x. */
export function minimiseLine(
  f: (x: number) => number,
  low: number,
  high: number,
  tolerance: number,
): { x: number; value: number } {
  const ratio = (Math.sqrt(5) - 1) / 2;
  let a = low;
  let b = high;
  let x1 = b - ratio * (b - a);
  let x2 = a + ratio * (b - a);
  let f1 = f(x1);
  let f2 = f(x2);
  while (b - a > tolerance) {
    if (f1 <= f2 || !Number.isFinite(f2)) {
      b = x2;
      x2 = x1;
      f2 = f1;
      x1 = b - ratio * (b - a);
      f1 = f(x1);
    } else {
      a = x1;
      x1 = x2;
      f1 = f2;
      x2 = a + ratio * (b - a);
      f2 = f(x2);
    }
  }
  return f1 <= f2 ? { x: x1, value: f1 } : { x: x2, value: f2 };
}

export interface SimplexOptions {
  /** First step along each axis. */
  readonly steps: readonly number[];
  readonly maximumEvaluations?: number;
  /** Stop when the simplex spans less than this in value and in every coordinate (relative to `steps`). */
  readonly valueTolerance?: number;
  readonly stepTolerance?: number;
}

/** Nelder and Mead, Computer J. 7 (1965), with the usual coefficients 1, 2, 1/2, 1/2. */
export function minimiseSimplex(
  f: (x: readonly number[]) => number,
  start: readonly number[],
  options: SimplexOptions,
): { x: readonly number[]; value: number; evaluations: number; converged: boolean } {
  const {
    steps,
    maximumEvaluations = 400 * start.length,
    valueTolerance = 1e-9,
    stepTolerance = 1e-5,
  } = options;
  const n = start.length;
  let evaluations = 0;
  const evaluate = (x: readonly number[]): { x: readonly number[]; value: number } => {
    evaluations++;
    const value = f(x);
    return { x, value: Number.isFinite(value) ? value : Number.POSITIVE_INFINITY };
  };
  const corners = [evaluate(start)];
  for (let i = 0; i < n; i++) corners.push(evaluate(start.map((v, k) => (k === i ? v + steps[i]! : v))));
  let converged = false;
  while (evaluations < maximumEvaluations) {
    corners.sort((a, b) => a.value - b.value);
    const best = corners[0]!;
    const worst = corners[n]!;
    let span = 0;
    for (let i = 0; i < n; i++)
      for (const corner of corners)
        span = Math.max(span, Math.abs(corner.x[i]! - best.x[i]!) / Math.abs(steps[i]!));
    if (worst.value - best.value <= valueTolerance && span <= stepTolerance) {
      converged = true;
      break;
    }
    const centre = start.map((_, i) => corners.slice(0, n).reduce((sum, c) => sum + c.x[i]!, 0) / n);
    const towards = (factor: number) => evaluate(centre.map((c, i) => c + factor * (worst.x[i]! - c)));
    const reflected = towards(-1);
    if (reflected.value < best.value) {
      const expanded = towards(-2);
      corners[n] = expanded.value < reflected.value ? expanded : reflected;
    } else if (reflected.value < corners[n - 1]!.value) corners[n] = reflected;
    else {
      const contracted = reflected.value < worst.value ? towards(-0.5) : towards(0.5);
      if (contracted.value < Math.min(worst.value, reflected.value)) corners[n] = contracted;
      else
        for (let k = 1; k <= n; k++)
          corners[k] = evaluate(corners[k]!.x.map((v, i) => best.x[i]! + 0.5 * (v - best.x[i]!)));
    }
  }
  corners.sort((a, b) => a.value - b.value);
  return { x: corners[0]!.x, value: corners[0]!.value, evaluations, converged };
}
