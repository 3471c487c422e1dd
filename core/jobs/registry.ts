/** All jobs of the program: what each takes and gives, and the functions that do it in a worker. */
import type { LeaveOneOut } from '../geostat/cross-validate.ts';
import type { Surface } from '../geostat/predict-surface.ts';
import {
  type ChooseModelInput,
  type ChooseModelOutput,
  chooseModel,
  type DescribeVariogramInput,
  describeVariogram,
  type VariogramDescription,
} from './choose-model.ts';
import { type CrossValidateInput, crossValidate } from './cross-validate.ts';
import { type DrawContoursInput, type DrawContoursOutput, drawContours } from './draw-contours.ts';
import type { JobSet } from './job.ts';
import { type CountedReduction, type ReduceReadingsInput, reduceReadings } from './reduce-readings.ts';
import { type SurfaceTilesInput, surfaceTiles } from './surface-tiles.ts';

export interface JobMap {
  'draw-contours': { readonly input: DrawContoursInput; readonly output: DrawContoursOutput };
  'choose-model': { readonly input: ChooseModelInput; readonly output: ChooseModelOutput };
  'describe-variogram': { readonly input: DescribeVariogramInput; readonly output: VariogramDescription };
  'cross-validate': { readonly input: CrossValidateInput; readonly output: LeaveOneOut };
  'reduce-readings': { readonly input: ReduceReadingsInput; readonly output: readonly CountedReduction[] };
  'surface-tiles': { readonly input: SurfaceTilesInput; readonly output: Surface };
}

export const jobs: JobSet<JobMap> = {
  'draw-contours': drawContours,
  'choose-model': chooseModel,
  'describe-variogram': describeVariogram,
  'cross-validate': crossValidate,
  'reduce-readings': reduceReadings,
  'surface-tiles': surfaceTiles,
};
