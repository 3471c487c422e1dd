/** The ground a keep-out takes: its shape widened by its buffer. */
import Coordinate from 'jsts/org/locationtech/jts/geom/Coordinate.js';
import GeometryFactory from 'jsts/org/locationtech/jts/geom/GeometryFactory.js';
import BufferOp from 'jsts/org/locationtech/jts/operation/buffer/BufferOp.js';
import type { KeepOut, PositionM, RingM } from '../contract/model.ts';

const factory = new GeometryFactory();

/**
 * Rings of the widened shape in project metres, holes included (to be filled by the even-odd rule).
 * Empty for a line or polygon with too few points to take any ground.
 */
export function keepOutRings(keepOut: KeepOut): RingM[] {
  const { points, shape, bufferM } = keepOut;
  if (points.length < (shape === 'polygon' ? 3 : 2)) return [];
  if (shape === 'line' && bufferM <= 0) return [];
  if (shape === 'polygon' && bufferM <= 0) return [points];
  const path = shape === 'polygon' ? [...points, points[0] as PositionM] : points;
  const coordinates = path.map(([x, y]) => new Coordinate(x, y));
  const geometry =
    shape === 'polygon' ? factory.createPolygon(coordinates) : factory.createLineString(coordinates);
  const widened = BufferOp.bufferOp(geometry, bufferM);
  const rings: RingM[] = [];
  for (let i = 0; i < widened.getNumGeometries(); i++) {
    const polygon = widened.getGeometryN(i);
    const shells = [polygon.getExteriorRing()];
    for (let h = 0; h < polygon.getNumInteriorRing(); h++) shells.push(polygon.getInteriorRingN(h));
    for (const ring of shells) {
      rings.push(
        ring
          .getCoordinates()
          .slice(0, -1)
          .map(({ x, y }: { x: number; y: number }): PositionM => [x, y]),
      );
    }
  }
  return rings;
}
