/** All jobs of the program: what each takes and gives, and the functions that do it in a worker. */
import type { LeaveOneOut } from '../geostat/cross-validate.ts';
import type { Surface } from '../geostat/predict-surface.ts';
import type { GridDesign, GridRequest } from '../plan/grid-types.ts';
import type { NextByClass, NextByClassRequest } from '../plan/next-by-class.ts';
import type { NextProbes, NextProbesRequest } from '../plan/next-probes.ts';
import type { SpacingCurve, SpacingCurveRequest } from '../plan/spacing-curve.ts';
import type { Ensemble, UnderFootprint } from '../site/statistics-under.ts';
import {
  type ChooseModelInput,
  type ChooseModelOutput,
  chooseModel,
  type DescribeVariogramInput,
  describeVariogram,
  type VariogramDescription,
} from './choose-model.ts';
import { type CrossValidateInput, crossValidate } from './cross-validate.ts';
import { type DecodedImage, type DecodeTiffInput, decodeTiff } from './decode-tiff.ts';
import { type DrawContoursInput, type DrawContoursOutput, drawContours } from './draw-contours.ts';
import type { JobSet } from './job.ts';
import { type MutedPicture, type MutePictureInput, mutePicture } from './mute-picture.ts';
import {
  designGridJob,
  nextByClassJob,
  nextProbesJob,
  type PlannedWalk,
  type PlanWalkInput,
  planWalkJob,
  type SearchPlacementsInput,
  type SearchPlacementsOutput,
  searchPlacementsJob,
  spacingCurveJob,
} from './planning-jobs.ts';
import { type CountedReduction, type ReduceReadingsInput, reduceReadings } from './reduce-readings.ts';
import { type RenderReportInput, renderReportJob } from './render-report.ts';
import { type SimulateInput, type SimulateOutput, simulate } from './simulate.ts';
import {
  type ComparePlacesInput,
  type ComparePlacesOutput,
  comparePlacesJob,
  type DrawEnsembleInput,
  drawEnsemble,
  type UnderPlaceInput,
  underPlaceJob,
} from './siting-jobs.ts';
import { type SurfaceTilesInput, surfaceTiles } from './surface-tiles.ts';

export interface JobMap {
  'design-grid': { readonly input: GridRequest; readonly output: GridDesign };
  'plan-walk': {
    readonly input: PlanWalkInput;
    readonly output: PlannedWalk;
  };
  'spacing-curve': { readonly input: SpacingCurveRequest; readonly output: SpacingCurve };
  'next-by-class': { readonly input: NextByClassRequest; readonly output: NextByClass };
  'next-probes': { readonly input: NextProbesRequest; readonly output: NextProbes };
  'search-placements': { readonly input: SearchPlacementsInput; readonly output: SearchPlacementsOutput };
  'draw-ensemble': { readonly input: DrawEnsembleInput; readonly output: Ensemble };
  'under-place': { readonly input: UnderPlaceInput; readonly output: UnderFootprint };
  'compare-places': { readonly input: ComparePlacesInput; readonly output: ComparePlacesOutput };
  'decode-tiff': { readonly input: DecodeTiffInput; readonly output: DecodedImage };
  'draw-contours': { readonly input: DrawContoursInput; readonly output: DrawContoursOutput };
  'choose-model': { readonly input: ChooseModelInput; readonly output: ChooseModelOutput };
  'describe-variogram': { readonly input: DescribeVariogramInput; readonly output: VariogramDescription };
  'cross-validate': { readonly input: CrossValidateInput; readonly output: LeaveOneOut };
  'mute-picture': { readonly input: MutePictureInput; readonly output: MutedPicture };
  'reduce-readings': { readonly input: ReduceReadingsInput; readonly output: readonly CountedReduction[] };
  'render-report': { readonly input: RenderReportInput; readonly output: { readonly bytes: Uint8Array } };
  simulate: { readonly input: SimulateInput; readonly output: SimulateOutput };
  'surface-tiles': { readonly input: SurfaceTilesInput; readonly output: Surface };
}

export const jobs: JobSet<JobMap> = {
  'design-grid': designGridJob,
  'plan-walk': planWalkJob,
  'spacing-curve': spacingCurveJob,
  'next-by-class': nextByClassJob,
  'mute-picture': mutePicture,
  'next-probes': nextProbesJob,
  'search-placements': searchPlacementsJob,
  'draw-ensemble': drawEnsemble,
  'under-place': underPlaceJob,
  'compare-places': comparePlacesJob,
  'decode-tiff': decodeTiff,
  'draw-contours': drawContours,
  'choose-model': chooseModel,
  'describe-variogram': describeVariogram,
  'cross-validate': crossValidate,
  'reduce-readings': reduceReadings,
  'render-report': renderReportJob,
  simulate,
  'surface-tiles': surfaceTiles,
};
