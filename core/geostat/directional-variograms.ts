import { type EmpiricalOptions, type EmpiricalVariogram, empiricalVariogram } from './empirical-variogram.ts';
import type { PointSet } from './points.ts';

export interface DirectionalVariogram {
  /** Clockwise from north. */
  readonly azimuthDeg: number;
  readonly variogram: EmpiricalVariogram;
}

/** Four sectors of 45 degrees that share all directions between them: common practice. */
const AZIMUTHS_DEG = [0, 45, 90, 135];
const HALF_SECTOR_DEG = 22.5;
/** Every pair is looked at once for each direction. */
const MOST_POINTS = 2000;

/**
 * The variogram along four azimuths: along the long axis of an anisotropic field it rises more slowly.
 * @param lags of the variogram over all directions, so that the five can be set side by side
 * @returns four, north first; none over 2000 points
 */
export function directionalVariograms(
  points: PointSet,
  lags: Pick<EmpiricalOptions, 'cutoffM' | 'lagM' | 'minimumPairs'>,
): DirectionalVariogram[] {
  if (points.values.length > MOST_POINTS) return [];
  return AZIMUTHS_DEG.map((azimuthDeg) => ({
    azimuthDeg,
    variogram: empiricalVariogram(points, {
      ...lags,
      direction: { azimuthDeg, toleranceDeg: HALF_SECTOR_DEG },
    }),
  }));
}
