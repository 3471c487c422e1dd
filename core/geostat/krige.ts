/** Predicts from a prepared {@link KrigingState}; one predictor per thread, each with scratch of its own. */
import { globalPredictor } from './krige-all.ts';
import { localPredictor } from './krige-nearest.ts';
import { type KrigingOptions, type KrigingState, prepareKriging } from './kriging.ts';
import type { VariogramModel } from './models.ts';
import type { PointSet } from './points.ts';

export { type LocalPrediction, type LocalSolver, localSolver } from './krige-nearest.ts';

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
