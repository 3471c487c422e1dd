/** A footprint put down somewhere: moved, turned and mirrored about its centroid. */
import type { Pose, PositionM, RingM } from '../contract/model.ts';
import { ringArea } from '../geo/planar.ts';
import { directionOf } from '../plan/layouts.ts';

export type { Pose };

export const AS_DRAWN: Pose = { dxM: 0, dyM: 0, turnDeg: 0, mirrored: false };

/** Less than this over the edge of the ground is touching it: far below what can be staked out. */
export const TOUCH_M = 1e-6;

/** Centre of the ring's area. */
export function ringCentroid(ring: RingM): PositionM {
  const [x0, y0] = ring[0] ?? [0, 0];
  let [twice, sumX, sumY] = [0, 0, 0];
  for (let i = 1; i + 1 < ring.length; i++) {
    const [ax, ay] = ring[i] as PositionM;
    const [bx, by] = ring[i + 1] as PositionM;
    const area = (ax - x0) * (by - y0) - (bx - x0) * (ay - y0);
    twice += area;
    sumX += area * (ax - x0 + bx - x0);
    sumY += area * (ay - y0 + by - y0);
  }
  return [x0 + sumX / (3 * twice), y0 + sumY / (3 * twice)];
}

/** The ring as placed, anticlockwise; its first corner stays its first corner. */
export function placeRing(ring: RingM, pose: Pose): PositionM[] {
  const [cx, cy] = ringCentroid(ring);
  const [cos, sin] = directionOf(pose.turnDeg);
  const placed = ring.map(([x, y]): PositionM => {
    const u = pose.mirrored ? cx - x : x - cx;
    const v = y - cy;
    return [cx + pose.dxM + u * cos - v * sin, cy + pose.dyM + u * sin + v * cos];
  });
  if (ringArea(placed) >= 0) return placed;
  const [first, ...rest] = placed;
  return first === undefined ? placed : [first, ...rest.reverse()];
}

/** How far the centroid has moved. */
export function distanceMovedM(pose: Pose): number {
  return Math.hypot(pose.dxM, pose.dyM);
}
