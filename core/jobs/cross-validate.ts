import { crossValidateIdw, crossValidateKriging, type LeaveOneOut } from '../geostat/cross-validate.ts';
import type { PointSet } from '../geostat/points.ts';
import type { SingleJob } from './job.ts';
import type { SurfaceMethod } from './surface-tiles.ts';

export interface CrossValidateInput {
  readonly points: PointSet;
  /** The same as the surface is made with. */
  readonly method: SurfaceMethod;
}

export const crossValidate: SingleJob<CrossValidateInput, LeaveOneOut> = {
  form: 'single',
  run({ points, method }, context) {
    context.progress(0, 'leaving out each point in turn');
    return method.kind === 'kriging'
      ? crossValidateKriging(points, method.model, method.options)
      : crossValidateIdw(points, method.options);
  },
};
