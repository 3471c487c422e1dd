/** Isolines and bands of a surface, clipped to the lot: too slow for the thread that answers messages. */

import { contourBands, contourLines } from '../contour/contour.ts';
import { chooseLevels } from '../contour/levels.ts';
import type { PolygonM } from '../contract/model.ts';
import type { ContourBand, ContourLine, GridSpec } from '../contract/results.ts';
import type { SingleJob } from './job.ts';
import { throwIfStopped } from './job.ts';

export interface DrawContoursInput {
  readonly grid: GridSpec;
  /** NaN where there is no estimate. */
  readonly values: Float64Array;
  /** Levels that must be among those chosen, where they lie within the values. */
  readonly limits: readonly number[];
  readonly maxLevels: number;
  /** Levels are chosen to be round after multiplying by this: the unit they are printed in. */
  readonly unitFactor: number;
  readonly clip: readonly PolygonM[];
}

export interface DrawContoursOutput {
  readonly levels: readonly number[];
  readonly lines: readonly ContourLine[];
  readonly bands: readonly ContourBand[];
}

export const drawContours: SingleJob<DrawContoursInput, DrawContoursOutput> = {
  form: 'single',
  run({ grid, values, limits, maxLevels, unitFactor, clip }, context) {
    context.progress(0, 'drawing contours');
    const known = values.filter(Number.isFinite);
    const low = known.reduce((m, v) => Math.min(m, v), Number.POSITIVE_INFINITY);
    const high = known.reduce((m, v) => Math.max(m, v), Number.NEGATIVE_INFINITY);
    const printed = chooseLevels(
      low * unitFactor,
      high * unitFactor,
      limits.map((l) => l * unitFactor),
      maxLevels,
    );
    const levels = printed.map((level) => nearest(limits, level / unitFactor));
    const lines = contourLines(grid, values, levels, clip);
    throwIfStopped(context);
    context.progress(0.5, 'drawing contours');
    return { levels, lines, bands: contourBands(grid, values, levels, clip) };
  },
};

/** A limit that went to the printed unit and back is the limit again, to the last digit. */
function nearest(limits: readonly number[], level: number): number {
  return limits.find((limit) => Math.abs(limit - level) <= 1e-9 * Math.abs(limit)) ?? level;
}
