import type { PositionNative } from '../geo/frame.ts';

/** Greatest distance of a chord from its arc, as a share of the radius. */
const CHORD_ERROR = 1e-3;
const STEP_RAD = 2 * Math.acos(1 - CHORD_ERROR);

/** Points on an arc from one angle to another, degrees anticlockwise from x, both ends included. */
export function arcPoints(
  [x, y]: PositionNative,
  radius: number,
  fromDeg: number,
  toDeg: number,
): PositionNative[] {
  const [from, to] = [(fromDeg * Math.PI) / 180, (toDeg * Math.PI) / 180];
  const steps = Math.max(1, Math.ceil(Math.abs(to - from) / STEP_RAD));
  return Array.from({ length: steps + 1 }, (_, i) => {
    const angle = from + ((to - from) * i) / steps;
    return [x + radius * Math.cos(angle), y + radius * Math.sin(angle)];
  });
}

/**
 * Points between the ends of an arc given by its bulge, ends left out.
 * @param bulge - tangent of a quarter of the arc's angle, positive where it runs anticlockwise (DXF reference, LWPOLYLINE)
 */
export function bulgePoints(a: PositionNative, b: PositionNative, bulge: number): PositionNative[] {
  const angle = 4 * Math.atan(bulge);
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const chord = Math.hypot(dx, dy);
  if (chord === 0) return [];
  // from the middle of the chord to the centre, along the chord's left side
  const offset = chord / (2 * Math.tan(angle / 2));
  const centre: PositionNative = [
    (a[0] + b[0]) / 2 - (dy / chord) * offset,
    (a[1] + b[1]) / 2 + (dx / chord) * offset,
  ];
  const radius = Math.hypot(a[0] - centre[0], a[1] - centre[1]);
  const fromDeg = (Math.atan2(a[1] - centre[1], a[0] - centre[0]) * 180) / Math.PI;
  return arcPoints(centre, radius, fromDeg, fromDeg + (angle * 180) / Math.PI).slice(1, -1);
}
