// biome-ignore-all lint/style/noNonNullAssertion: indices run over arrays of one chain's length
/**
 * Closed solution of dN_i/dt = -k_i N_i + f_(i-1) N_(i-1), by the modes of the bidiagonal system (Bateman,
 * Proc. Cambridge Phil. Soc. 15, 1910). Each member is a sum of exponentials, so counts in an interval are exact.
 */
export interface PhaseSolution {
  readonly lossPerS: readonly number[];
  /** terms[i][j]: weight of exp(-k_j t) in member i, j <= i. */
  readonly terms: readonly (readonly number[])[];
}

/** Loss rates closer than this (relative) are parted: equal ones have no sum of plain exponentials. */
const LEAST_DISTANCE = 1e-7;

/**
 * @param lossPerS rate at which each member leaves, by decay or by flushing; 0 for a steady source
 * @param feedPerS feedPerS[i] is the rate at which member i makes member i + 1
 * @param atoms members at t = 0
 */
export function solvePhase(
  lossPerS: readonly number[],
  feedPerS: readonly number[],
  atoms: readonly number[],
): PhaseSolution {
  const n = lossPerS.length;
  const k = partEqualRates(lossPerS);
  const terms: number[][] = [];
  const weight: number[] = [];
  // mode j of member i, kept for the row above only
  let above: number[] = [];
  for (let i = 0; i < n; i++) {
    const row: number[] = [];
    let sum = 0;
    for (let j = 0; j < i; j++) {
      const v = (above[j]! * feedPerS[i - 1]!) / (k[i]! - k[j]!);
      row.push(v);
      sum += weight[j]! * v;
    }
    row.push(1);
    weight.push(atoms[i]! - sum);
    terms.push(row.map((v, j) => v * weight[j]!));
    above = row;
  }
  return { lossPerS: k, terms };
}

function partEqualRates(lossPerS: readonly number[]): number[] {
  const k = [...lossPerS];
  for (let i = 1; i < k.length; i++)
    for (let j = 0; j < i; j++) {
      const scale = Math.max(k[i]!, k[j]!);
      if (scale > 0 && Math.abs(k[i]! - k[j]!) < LEAST_DISTANCE * scale)
        k[i] = k[j]! + LEAST_DISTANCE * scale;
    }
  return k;
}

/** Members at time t; rounding under zero is cut. */
export function atomsAt(solution: PhaseSolution, t: number): number[] {
  const decay = solution.lossPerS.map((k) => Math.exp(-k * t));
  return solution.terms.map((row) =>
    Math.max(
      0,
      row.reduce((sum, w, j) => sum + w * decay[j]!, 0),
    ),
  );
}

/** Integral of each member from t1 to t2, in atom seconds; times its decay constant it is the number of decays. */
export function atomSecondsBetween(solution: PhaseSolution, t1: number, t2: number): number[] {
  const dt = t2 - t1;
  const area = solution.lossPerS.map((k) => (k === 0 ? dt : (Math.exp(-k * t1) * -Math.expm1(-k * dt)) / k));
  return solution.terms.map((row) =>
    Math.max(
      0,
      row.reduce((sum, w, j) => sum + w * area[j]!, 0),
    ),
  );
}
