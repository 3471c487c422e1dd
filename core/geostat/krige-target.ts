// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** What kriging asks of a cell, whichever points it is kriged from. */
import { fillDrift, type KrigingState } from './kriging.ts';
import { countAt, findAt } from './points.ts';
import { dot, solveLower, solveUpper } from './solve.ts';

export interface Target {
  /** Drift of the cell (mean over the block) into out[at..]. */
  drift(xM: number, yM: number, out: Float64Array, at: number): void;
  /** Variance of the truth at the cell before any data. */
  prior(xM: number, yM: number): number;
}

/** The nugget a cell at (xM, yM) shares with each of the samples there: their mean is the truth. */
export function sharedNugget(
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

export function targetOf(state: KrigingState): Target {
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
export function finishVariance(
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
