/**
 * The one place where project metres become what the map library wants. It knows only Web Mercator, so project
 * metres are laid on the Mercator plane itself, around (0, 0), at a fixed scale: shapes and right angles are exact
 * at any distance from the origin, and nothing here is a position on Earth. Display only, never data.
 */
import type { PositionM } from '../../core/contract/model.ts';

/** Share of the Mercator world's width that one metre takes: a 10 m lot fills a window at zoom 14, 1000 m at 7. */
export const WORLD_PER_M = 1e-5;

/** Width of the world in CSS pixels at zoom 0, as the map library defines zoom. */
const WORLD_PX = 512;

/**
 * The project's origin lies this share of the world off the middle of the Mercator plane. Tiles part there and at dyadic
 * fractions of the plane: a lot line along x = 0 would else lie on the edge of two tiles and be drawn by both, its dashes
 * out of step. A third of a power of two is a third of a tile off their edges from zoom 4 on.
 */
const SHIFT = 1 / 48;
export const DISPLAY_SHIFT_M: PositionM = [SHIFT / WORLD_PER_M, SHIFT / WORLD_PER_M];

/** Mercator ends at 85 degrees, that is half a world from the middle; a little less, so that shapes stay drawable. */
export const DISPLAY_LIMIT_M = (0.49 - SHIFT) / WORLD_PER_M;

const DEG = 180 / Math.PI;

/** Pseudo-degrees [longitude, latitude]. Positions farther than `DISPLAY_LIMIT_M` are put at that limit. */
export function toDisplay([xM, yM]: PositionM): [number, number] {
  const x = (clampToWorld(xM) + DISPLAY_SHIFT_M[0]) * WORLD_PER_M;
  const y = (clampToWorld(yM) + DISPLAY_SHIFT_M[1]) * WORLD_PER_M;
  return [x * 360, Math.atan(Math.sinh(y * 2 * Math.PI)) * DEG];
}

export function fromDisplay([lng, lat]: readonly [number, number]): PositionM {
  const [x, y] = [lng / 360, Math.asinh(Math.tan(lat / DEG)) / (2 * Math.PI)];
  return [x / WORLD_PER_M - DISPLAY_SHIFT_M[0], y / WORLD_PER_M - DISPLAY_SHIFT_M[1]];
}

export function pixelsPerMetre(zoom: number): number {
  return WORLD_PX * 2 ** zoom * WORLD_PER_M;
}

export function zoomForScale(pxPerM: number): number {
  return Math.log2(pxPerM / (WORLD_PX * WORLD_PER_M));
}

function clampToWorld(valueM: number): number {
  return Math.max(-DISPLAY_LIMIT_M, Math.min(DISPLAY_LIMIT_M, valueM));
}
