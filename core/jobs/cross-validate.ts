import type { LeaveOneOut } from '../geostat/cross-validate.ts';
import type { PointSet } from '../geostat/points.ts';
import { crossValidateSurface, type SurfaceMethod } from '../geostat/predict-surface.ts';
import { type SingleJob, throwIfStopped } from './job.ts';

export interface CrossValidateInput {
  readonly points: PointSet;
  /** The one the surface is made with. */
  readonly surface: SurfaceMethod;
}

export const crossValidate: SingleJob<CrossValidateInput, LeaveOneOut> = {
  form: 'single',
  run({ points, surface }, context) {
    return crossValidateSurface(points, surface, (done) => {
      throwIfStopped(context);
      context.progress(done, 'leaving out each point in turn');
    });
  },
};
