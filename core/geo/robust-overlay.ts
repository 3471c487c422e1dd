/**
 * Overlays that do not give up. The planar library works in floating point: lines that run within a rounding error of
 * each other can leave it without a consistent answer, or with a wrong one. Then the corners are put on a grid, finer
 * than any survey, and it is asked again.
 */
import BufferOp from 'jsts/org/locationtech/jts/operation/buffer/BufferOp.js';
import UnaryUnionOp from 'jsts/org/locationtech/jts/operation/union/UnaryUnionOp.js';
import IsValidOp from 'jsts/org/locationtech/jts/operation/valid/IsValidOp.js';
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { geometryPolygons, type OverlayKind, overlay, polygonsGeometry, signedArea } from './jsts.ts';

/** 0 leaves the corners as they are; 0.1 mm is still far below what any tape tells apart. */
const GRIDS_M = [0, 1e-7, 1e-6, 1e-5, 1e-4];
/** Areas are compared to this share, and this much ground. */
const AREA_SHARE = 1e-6;
const AREA_M2 = 1e-6;

/**
 * Ground in any of the polygons, which may overlap, touch, run along each other, and cross themselves (then by the
 * nonzero rule, as a buffer of no width takes them).
 * @throws AppError INTERNAL where no grid gives a consistent answer
 */
export function unionAll(polygons: readonly PolygonM[]): PolygonM[] {
  return onFinerGrids('union', [polygons], ([all = []], grid) => {
    if (all.length === 0) return [];
    const sum = all.reduce((total, polygon) => total + areaOf(polygon), 0);
    const largest = all.reduce((most, polygon) => Math.max(most, areaOf(polygon)), 0);
    // On a grid each polygon is first made regular by itself: what was thinner than the grid may have folded.
    const parts = grid === 0 ? all : all.flatMap((one) => cleaned(one));
    const union = geometryPolygons(UnaryUnionOp.union(polygonsGeometry(parts)));
    return accept(union, largest, sum, all);
  });
}

/**
 * Ground of `a` in `b` ('intersection') or not in `b` ('difference'). Polygons of one list must not overlap each other.
 * @throws AppError INTERNAL where no grid gives a consistent answer
 */
export function overlayPolygons(
  a: readonly PolygonM[],
  b: readonly PolygonM[],
  kind: Exclude<OverlayKind, 'union'>,
): PolygonM[] {
  return onFinerGrids(kind, [a, b], ([left = [], right = []]) => {
    if (left.length === 0) return [];
    if (right.length === 0) return kind === 'difference' ? [...left] : [];
    const [areaA, areaB] = [totalArea(left), totalArea(right)];
    const least = kind === 'difference' ? areaA - areaB : 0;
    const most = kind === 'difference' ? areaA : Math.min(areaA, areaB);
    const found = geometryPolygons(overlay(polygonsGeometry(left), polygonsGeometry(right), kind));
    return accept(found, least, most, [...left, ...right]);
  });
}

/** @param work - null for an answer that cannot be right; what it throws counts the same */
function onFinerGrids(
  kind: OverlayKind,
  lists: readonly (readonly PolygonM[])[],
  work: (lists: readonly (readonly PolygonM[])[], grid: number) => PolygonM[] | null,
): PolygonM[] {
  let cause: unknown = new Error('areas that do not add up');
  for (const grid of GRIDS_M) {
    try {
      const found = work(
        grid === 0 ? lists : lists.map((list) => list.flatMap((one) => onGrid(one, grid))),
        grid,
      );
      if (found !== null) return found;
    } catch (error) {
      cause = error;
    }
  }
  const count = lists.reduce((sum, list) => sum + list.length, 0);
  throw new AppError(
    'INTERNAL',
    `The ${kind} of ${count} shapes has no consistent answer: is one of their outlines folded or crossing itself?`,
    { kind },
    cause,
  );
}

/**
 * Null where the area lies outside what it can be: the library has lost or made up ground. An outline that crosses
 * itself has no area to go by, and is taken as the library takes it.
 */
function accept(
  found: PolygonM[],
  leastM2: number,
  mostM2: number,
  from: readonly PolygonM[],
): PolygonM[] | null {
  const area = totalArea(found);
  const slack = AREA_M2 + AREA_SHARE * mostM2;
  const adds = area >= leastM2 - slack && area <= mostM2 + slack;
  return adds || from.some((polygon) => !isValid(polygon)) ? found : null;
}

function isValid(polygon: PolygonM): boolean {
  return IsValidOp.isValid(polygonsGeometry([polygon]));
}

function cleaned(polygon: PolygonM): PolygonM[] {
  return geometryPolygons(BufferOp.bufferOp(polygonsGeometry([polygon]), 0));
}

/** The polygon with its corners on the grid; none where nothing is left of it. */
function onGrid(polygon: PolygonM, grid: number): PolygonM[] {
  const [outer, ...holes] = polygon.map((ring) => ringOnGrid(ring, grid));
  if (outer === undefined || outer.length < 3) return [];
  return [[outer, ...holes.filter((hole) => hole.length >= 3)]];
}

function ringOnGrid(ring: RingM, grid: number): PositionM[] {
  const out: PositionM[] = [];
  for (const [x, y] of ring) {
    const point: PositionM = [Math.round(x / grid) * grid, Math.round(y / grid) * grid];
    const last = out.at(-1);
    if (last === undefined || last[0] !== point[0] || last[1] !== point[1]) out.push(point);
  }
  const [first, last] = [out[0], out.at(-1)];
  if (out.length > 1 && first?.[0] === last?.[0] && first?.[1] === last?.[1]) out.pop();
  return out;
}

function areaOf([outer = [], ...holes]: PolygonM): number {
  return Math.abs(signedArea(outer)) - holes.reduce((sum, hole) => sum + Math.abs(signedArea(hole)), 0);
}

function totalArea(polygons: readonly PolygonM[]): number {
  return polygons.reduce((sum, polygon) => sum + areaOf(polygon), 0);
}
