// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Whether a ring lies on the ground, for searching: edges prepared once, no geometry made per question. */
import type { PolygonM, RingM } from '../contract/model.ts';
import { prepareGround } from '../plan/ground-test.ts';
import { innerPoint } from './inner-point.ts';
import { TOUCH_M } from './placement.ts';

export interface Containment {
  /** Whether all of the ring lies on the ground; touching its edge, within a micrometre, is allowed. */
  holds(ring: RingM): boolean;
}

/** @param ground polygons that neither overlap nor share an edge */
export function prepareContainment(ground: readonly PolygonM[]): Containment {
  const test = prepareGround(ground);
  const { edges, box } = test;
  const holes = ground.flatMap((polygon) => polygon.slice(1)).map((hole) => innerPoint([hole]));
  const meetings: number[] = [];

  /** Whether the way from a to b stays on the ground, given that both ends do. */
  const edgeStays = (ax: number, ay: number, bx: number, by: number): boolean => {
    const dx = bx - ax;
    const dy = by - ay;
    const length = Math.hypot(dx, dy);
    if (length === 0) return true;
    meetings.length = 0;
    const [lowX, highX] = ax < bx ? [ax, bx] : [bx, ax];
    const [lowY, highY] = ay < by ? [ay, by] : [by, ay];
    for (let e = 0; e < edges.length; e += 4) {
      const px = edges[e]!;
      const py = edges[e + 1]!;
      const qx = edges[e + 2]!;
      const qy = edges[e + 3]!;
      if (Math.min(px, qx) > highX + TOUCH_M || Math.max(px, qx) < lowX - TOUCH_M) continue;
      if (Math.min(py, qy) > highY + TOUCH_M || Math.max(py, qy) < lowY - TOUCH_M) continue;
      const ex = qx - px;
      const ey = qy - py;
      const edgeLength = Math.hypot(ex, ey);
      const sideP = (dx * (py - ay) - dy * (px - ax)) / length;
      const sideQ = (dx * (qy - ay) - dy * (qx - ax)) / length;
      const sideA = (ex * (ay - py) - ey * (ax - px)) / edgeLength;
      const sideB = (ex * (by - py) - ey * (bx - px)) / edgeLength;
      const crosses =
        Math.min(sideP, sideQ) < -TOUCH_M &&
        Math.max(sideP, sideQ) > TOUCH_M &&
        Math.min(sideA, sideB) < -TOUCH_M &&
        Math.max(sideA, sideB) > TOUCH_M;
      if (crosses) return false;
      // a corner of the ground on the way: the pieces on either side are looked at by themselves
      if (Math.abs(sideP) <= TOUCH_M) meetings.push(((px - ax) * dx + (py - ay) * dy) / (length * length));
      if (Math.abs(sideQ) <= TOUCH_M) meetings.push(((qx - ax) * dx + (qy - ay) * dy) / (length * length));
    }
    if (meetings.length === 0) return true;
    meetings.push(0, 1);
    meetings.sort((s, t) => s - t);
    for (let k = 0; k + 1 < meetings.length; k++) {
      const from = Math.max(0, meetings[k]!);
      const to = Math.min(1, meetings[k + 1]!);
      if ((to - from) * length <= 2 * TOUCH_M) continue;
      const middle = (from + to) / 2;
      if (!test.contains(ax + middle * dx, ay + middle * dy)) return false;
    }
    return true;
  };

  return {
    holds(ring) {
      for (const [x, y] of ring) {
        if (x < box.minX - TOUCH_M || x > box.maxX + TOUCH_M) return false;
        if (y < box.minY - TOUCH_M || y > box.maxY + TOUCH_M) return false;
      }
      for (const [x, y] of ring) if (!test.contains(x, y)) return false;
      for (let i = 0; i < ring.length; i++) {
        const [ax, ay] = ring[i]!;
        const [bx, by] = ring[(i + 1) % ring.length]!;
        if (!edgeStays(ax, ay, bx, by)) return false;
      }
      // the outline stays on the ground, so each hole is wholly under the building or wholly beside it
      if (holes.length === 0) return true;
      const under = prepareGround([[ring]]);
      return !holes.some(([x, y]) => under.contains(x, y));
    },
  };
}
