/**
 * Our rings as geometries of the planar library and back. Metres only; nothing else of core imports that library.
 */

import Coordinate from 'jsts/org/locationtech/jts/geom/Coordinate.js';
import type Geometry from 'jsts/org/locationtech/jts/geom/Geometry.js';
import GeometryFactory from 'jsts/org/locationtech/jts/geom/GeometryFactory.js';
import OverlayOp from 'jsts/org/locationtech/jts/operation/overlay/OverlayOp.js';
import SnapIfNeededOverlayOp from 'jsts/org/locationtech/jts/operation/overlay/snap/SnapIfNeededOverlayOp.js';
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';

export type { Geometry };

export type OverlayKind = 'intersection' | 'difference' | 'union';

/** The library's own loose types end here: a coordinate list is all we take from it. */
interface CoordinateLike {
  readonly x: number;
  readonly y: number;
}

const geometryFactory = new GeometryFactory();

const OVERLAY_CODES: Record<OverlayKind, number> = {
  intersection: OverlayOp.INTERSECTION,
  difference: OverlayOp.DIFFERENCE,
  union: OverlayOp.UNION,
};

function toCoordinates(points: readonly PositionM[]): Coordinate[] {
  return points.map(([x, y]) => new Coordinate(x, y));
}

export function lineGeometry(points: readonly PositionM[]): Geometry {
  return geometryFactory.createLineString(toCoordinates(points));
}

export function polygonGeometry(polygon: PolygonM): Geometry {
  const [outer, ...holes] = polygon.map((ring) => {
    const first = ring[0];
    return geometryFactory.createLinearRing(toCoordinates(first === undefined ? [] : [...ring, first]));
  });
  return geometryFactory.createPolygon(outer, holes) as unknown as Geometry;
}

export function polygonsGeometry(polygons: readonly PolygonM[]): Geometry {
  const [only] = polygons;
  if (polygons.length === 1 && only !== undefined) return polygonGeometry(only);
  return geometryFactory.createMultiPolygon(polygons.map(polygonGeometry)) as unknown as Geometry;
}

/** Polygons of any geometry; its points and lines are dropped. Outer rings anticlockwise, holes clockwise. */
export function geometryPolygons(geometry: Geometry): PolygonM[] {
  const out: PolygonM[] = [];
  for (let i = 0; i < geometry.getNumGeometries(); i++) {
    const part = geometry.getGeometryN(i) as unknown as PolygonLike;
    if (part.getGeometryType() !== 'Polygon' || part.isEmpty()) continue;
    const rings: RingM[] = [orient(openRing(part.getExteriorRing()), true)];
    for (let h = 0; h < part.getNumInteriorRing(); h++) {
      rings.push(orient(openRing(part.getInteriorRingN(h)), false));
    }
    out.push(rings);
  }
  return out;
}

/** Lines of any geometry; its points and polygons are dropped. */
export function geometryLines(geometry: Geometry): PositionM[][] {
  const out: PositionM[][] = [];
  for (let i = 0; i < geometry.getNumGeometries(); i++) {
    const part = geometry.getGeometryN(i) as unknown as LineLike;
    const type = part.getGeometryType();
    if ((type === 'LineString' || type === 'LinearRing') && !part.isEmpty()) out.push(linePoints(part));
  }
  return out;
}

/** @throws AppError INTERNAL when the library finds no consistent answer, which snapping did not cure either */
export function overlay(a: Geometry, b: Geometry, kind: OverlayKind): Geometry {
  try {
    return SnapIfNeededOverlayOp.overlayOp(a, b, OVERLAY_CODES[kind]);
  } catch (cause) {
    throw new AppError('INTERNAL', `Planar ${kind} of two shapes failed: ${String(cause)}`, { kind }, cause);
  }
}

interface LineLike {
  getGeometryType(): string;
  isEmpty(): boolean;
  getCoordinates(): readonly CoordinateLike[];
}

interface PolygonLike extends LineLike {
  getExteriorRing(): LineLike;
  getNumInteriorRing(): number;
  getInteriorRingN(index: number): LineLike;
}

function linePoints(line: LineLike): PositionM[] {
  return line.getCoordinates().map(({ x, y }): PositionM => [x, y]);
}

function openRing(line: LineLike): PositionM[] {
  return linePoints(line).slice(0, -1);
}

function orient(ring: PositionM[], anticlockwise: boolean): RingM {
  return signedArea(ring) > 0 === anticlockwise ? ring : ring.reverse();
}

/** Positive where the ring runs anticlockwise. Summed from the first corner, so that large coordinates cost no digits. */
export function signedArea(ring: RingM): number {
  const [x0, y0] = ring[0] ?? [0, 0];
  let twice = 0;
  for (let i = 1; i + 1 < ring.length; i++) {
    const [ax, ay] = ring[i] as PositionM;
    const [bx, by] = ring[i + 1] as PositionM;
    twice += (ax - x0) * (by - y0) - (bx - x0) * (ay - y0);
  }
  return twice / 2;
}
