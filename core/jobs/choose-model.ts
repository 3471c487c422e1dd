import { type ChooseOptions, chooseModel as choose, type ModelChoice } from '../geostat/auto-model.ts';
import { type DirectionalVariogram, directionalVariograms } from '../geostat/directional-variograms.ts';
import {
  defaultLags,
  type EmpiricalVariogram,
  empiricalVariogram,
  sparseLags,
} from '../geostat/empirical-variogram.ts';
import { fitVariogram, type StructureShape, type VariogramFit } from '../geostat/fit-variogram.ts';
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import { type Transform, transformPoints } from '../geostat/plausible-models.ts';
import type { PointSet } from '../geostat/points.ts';
import { type SingleJob, throwIfStopped } from './job.ts';

export interface ChooseModelInput {
  readonly points: SurfacePoints;
  readonly options: ChooseOptions;
}

export interface ChooseModelOutput {
  readonly choice: ModelChoice;
  /** Of the values after the choice's transform; null where the choice has no model (IDW). */
  readonly variogram: VariogramDescription | null;
}

export interface DescribeVariogramInput {
  readonly points: PointSet;
  readonly transform: Transform;
  readonly shape: StructureShape;
}

export interface VariogramDescription {
  readonly empirical: EmpiricalVariogram;
  readonly directions: readonly DirectionalVariogram[];
  /** Weighted least squares through the bins, to set beside the model used; null with fewer than three bins. */
  readonly fitted: VariogramFit | null;
}

/** Below this many points a third of the extent in 15 lags leaves too few pairs a lag (common practice: 30). */
const MANY = 100;
const PAIRS_PER_LAG = 10;
/** Nugget, sill and range. */
const FITTED_PARAMETERS = 3;

/** Chooses model and transform, and describes the variogram they were chosen on. */
export const chooseModel: SingleJob<ChooseModelInput, ChooseModelOutput> = {
  form: 'single',
  run({ points, options }, context) {
    const choice = choose(points, options, (done) => {
      throwIfStopped(context);
      context.progress(done, 'weighing models');
    });
    if (choice.model === null) return { choice, variogram: null };
    const shape: StructureShape = choice.model.structures[0] ?? { kind: 'exponential' };
    return { choice, variogram: describeBins({ points: choice.points, transform: choice.transform, shape }) };
  },
};

/** For a model a person gave: the bins it is judged by. */
export const describeVariogram: SingleJob<DescribeVariogramInput, VariogramDescription> = {
  form: 'single',
  run: describeBins,
};

function describeBins({ points, transform, shape }: DescribeVariogramInput): VariogramDescription {
  const data = transformPoints(points, transform);
  const lags =
    data.values.length < MANY
      ? { ...sparseLags(data), minimumPairs: PAIRS_PER_LAG }
      : { ...defaultLags(data), minimumPairs: 1 };
  const empirical = empiricalVariogram(data, lags);
  const bins = empirical.distM.filter((distM) => distM > 0).length;
  const { kind, smoothness, anisotropy } = shape;
  const only = {
    kind,
    ...(smoothness === undefined ? {} : { smoothness }),
    ...(anisotropy === undefined ? {} : { anisotropy }),
  };
  const directions = directionalVariograms(data, lags);
  return { empirical, directions, fitted: bins < FITTED_PARAMETERS ? null : fitVariogram(empirical, [only]) };
}
