import type { PolygonM, PositionM, RingM } from '../../../core/contract/model.ts';
import { polygonsArea, subtractPolygons } from '../../../core/geo/planar.ts';
import { TOUCH_M } from '../../../core/site/placement.ts';

/** Whether all of the ring lies on the ground, by overlay in the plane; touching the edge, within a micrometre, is allowed. */
export function liesWithin(ring: RingM, ground: readonly PolygonM[]): boolean {
  const perimeterM = ring.reduce((sum, [x, y], i) => {
    const [u, v] = ring[(i + 1) % ring.length] as PositionM;
    return sum + Math.hypot(u - x, v - y);
  }, 0);
  return polygonsArea(subtractPolygons([[ring]], ground)) <= TOUCH_M * perimeterM;
}
