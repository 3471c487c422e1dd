/** Between a project's own coordinates and the metres that all computing is done in (decision 1). */
import type { PositionM, ProjectCrs, ProjectFrame } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { toMetres } from '../units.ts';
import { gridScaleAndConvergence, metresPerUnit, transformPoints } from './crs.ts';
import { findCrs, systemTitle } from './crs-table.ts';

export type PositionNative = readonly [x: number, y: number];

/** Beyond this a metre of the grid is so far from a metre of ground that lengths would mislead. */
const GREATEST_SCALE_ERROR = 0.01;
const LOCAL_UNIT_NAMES = { m: 'm', ft: 'ft', 'ft-us': 'ft-us' } as const;

/**
 * The frame of a project. Its origin is best near the lot (`chooseOriginNative`), so that metres stay small.
 * @throws AppError BAD_INPUT for longitude/latitude systems, for places where the system cannot be computed, and where its
 *   scale is more than 1 % off (Web Mercator away from the equator, a zone far off its meridian)
 */
export function makeFrame(crs: ProjectCrs, originNative: PositionNative): ProjectFrame {
  if (!originNative.every(Number.isFinite)) {
    throw new AppError('BAD_INPUT', `The origin ${originNative.join(', ')} is not a pair of numbers.`);
  }
  const origin: PositionNative = [originNative[0], originNative[1]];
  if (crs.kind === 'local') {
    return {
      crs,
      crsName: crs.label === '' ? 'Local grid' : `Local grid: ${crs.label}`,
      originNative: origin,
      metresPerUnit: toMetres(1, crs.unit),
      unitLabel: LOCAL_UNIT_NAMES[crs.unit],
      gridScaleFactor: 1,
      convergenceDeg: null,
    };
  }
  const entry = findCrs(crs.code);
  if (entry.kind === 'geographic') {
    throw new AppError(
      'BAD_INPUT',
      `${systemTitle(entry)} is in degrees of longitude and latitude; a project needs a projected system (metres or feet).`,
      { code: crs.code },
    );
  }
  const grid = gridScaleAndConvergence(crs.code, origin[0], origin[1]);
  const scales = [grid.scaleEastWest, grid.scaleNorthSouth];
  if (scales.some((scale) => Math.abs(scale - 1) > GREATEST_SCALE_ERROR)) {
    const percent = ((grid.scaleFactor - 1) * 100).toFixed(1);
    throw new AppError(
      'BAD_INPUT',
      `At ${origin[0]}, ${origin[1]} lengths in ${systemTitle(entry)} are ${percent} % off the ground: choose a system made for this place, or see whether the two coordinates are exchanged.`,
      { code: crs.code, scaleFactor: grid.scaleFactor },
    );
  }
  return {
    crs,
    crsName: systemTitle(entry),
    originNative: origin,
    metresPerUnit: metresPerUnit(crs.code),
    unitLabel: entry.unitLabel,
    gridScaleFactor: grid.scaleFactor,
    convergenceDeg: grid.convergenceDeg,
  };
}

/** A round place (whole hundreds of the unit) near the middle of the points. */
export function chooseOriginNative(points: readonly PositionNative[]): PositionNative {
  if (points.length === 0) return [0, 0];
  const middle = (axis: 0 | 1) => {
    const values = points.map((point) => point[axis]);
    return Math.round((Math.min(...values) + Math.max(...values)) / 200) * 100;
  };
  return [middle(0), middle(1)];
}

export function toFrame(frame: ProjectFrame, native: PositionNative): PositionM {
  return [
    (native[0] - frame.originNative[0]) * frame.metresPerUnit,
    (native[1] - frame.originNative[1]) * frame.metresPerUnit,
  ];
}

export function toNative(frame: ProjectFrame, positionM: PositionM): PositionNative {
  return [
    positionM[0] / frame.metresPerUnit + frame.originNative[0],
    positionM[1] / frame.metresPerUnit + frame.originNative[1],
  ];
}

/** A place in project metres as a message names it: in the project's own coordinates. */
export function nativeText(frame: ProjectFrame, at: PositionM): string {
  const [x, y] = toNative(frame, at);
  return `${x.toFixed(2)}, ${y.toFixed(2)} ${frame.unitLabel}`;
}

export function ringToFrame(frame: ProjectFrame, native: readonly PositionNative[]): PositionM[] {
  return native.map((point) => toFrame(frame, point));
}

export function ringToNative(frame: ProjectFrame, positionsM: readonly PositionM[]): PositionNative[] {
  return positionsM.map((point) => toNative(frame, point));
}

/**
 * Coordinates of one project system in another: a file's own system to the project's.
 * @throws AppError BAD_INPUT between a local grid and a real system (control points are needed), and as `transformPoints`
 */
export function convertNative(
  from: ProjectCrs,
  to: ProjectCrs,
  points: readonly PositionNative[],
): PositionNative[] {
  if (from.kind === 'local' && to.kind === 'local') {
    const ratio = toMetres(1, from.unit) / toMetres(1, to.unit);
    return points.map(([x, y]) => (ratio === 1 ? [x, y] : [x * ratio, y * ratio]));
  }
  if (from.kind === 'local' || to.kind === 'local') {
    throw new AppError(
      'BAD_INPUT',
      'Coordinates cannot go between a local grid and a mapped system without control points measured in both.',
    );
  }
  if (from.code === to.code) return points.map(([x, y]) => [x, y]);
  const moved = transformPoints(from.code, to.code, Float64Array.from(points.flat()));
  return points.map((_, i) => [moved[2 * i] as number, moved[2 * i + 1] as number]);
}
