// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Where a footprint of a given turn can be put. A shift is impossible where the footprint would meet an edge of the
 * ground, that is inside the edge swept by the mirrored footprint (Minkowski sum; de Berg and others, Computational
 * Geometry, chapter 13). Solved along rows of equal dy, where it comes down to intervals of dx.
 */
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { boundingBox, normaliseRing } from '../geo/planar.ts';
import type { Containment } from './containment.ts';

export interface ShiftRow {
  readonly dyM: number;
  /** Intervals of dx in which the footprint lies on the ground, ends included. */
  readonly dxM: readonly (readonly [number, number])[];
}

export interface ShiftSearch {
  readonly lowestDyM: number;
  readonly highestDyM: number;
  /** Rows at which a side of the footprint runs along an edge of the ground, rising: where room without play is found. */
  readonly flushDyM: readonly number[];
  rowAt(dyM: number): ShiftRow;
}

/** Meeting an edge by less than this is touching it; half of what `Containment` lets pass. */
const TOUCH_M = 5e-7;
const SHORTEST_SIDE_M = 1e-3;

/** @param ring as turned and mirrored, at the place the shifts start from; @returns null where its box is too large */
export function prepareShifts(
  ring: RingM,
  ground: readonly PolygonM[],
  containment: Containment,
): ShiftSearch | null {
  const inner = normaliseRing(ring);
  const box = boundingBox(inner);
  const reach = boundingBox(ground.flatMap((polygon) => polygon[0] ?? []));
  const [lowX, highX] = [reach.minX - box.minX, reach.maxX - box.maxX];
  const [lowY, highY] = [reach.minY - box.minY, reach.maxY - box.maxY];
  if (highX - lowX < -TOUCH_M || highY - lowY < -TOUCH_M) return null;
  const shapes = sweptEdges(inner, ground);
  const levels = shapes.map((shape) => {
    const ys = shape.map(([, y]) => y);
    return [Math.min(...ys), Math.max(...ys)] as const;
  });
  const flush = shapes.flatMap(flushLevels).filter((y) => y > lowY && y < highY);
  return {
    lowestDyM: lowY,
    highestDyM: highY,
    flushDyM: [...new Set([lowY, ...flush, highY])].sort((a, b) => a - b),
    rowAt(dyM) {
      const blocked: [number, number][] = [];
      shapes.forEach((shape, i) => {
        const [bottom, top] = levels[i]!;
        if (dyM <= bottom + TOUCH_M || dyM >= top - TOUCH_M) return;
        const [from, to] = crossing(shape, dyM);
        if (to - from > 2 * TOUCH_M) blocked.push([from + TOUCH_M, to - TOUCH_M]);
      });
      blocked.sort((a, b) => a[0] - b[0]);
      const free: (readonly [number, number])[] = [];
      let at = lowX;
      for (const [from, to] of [...blocked, [highX, highX] as const]) {
        if (from >= at && at <= highX) free.push([at, Math.min(from, highX)]);
        at = Math.max(at, to);
      }
      const holds = ([from, to]: readonly [number, number]) => {
        const dx = (from + to) / 2;
        return containment.holds(inner.map(([x, y]): PositionM => [x + dx, y + dyM]));
      };
      return { dyM, dxM: free.filter(holds) };
    },
  };
}

/** Heights of the horizontal sides of a swept edge. */
function flushLevels(shape: RingM): number[] {
  return shape.flatMap(([x, y], i) => {
    const [u, v] = shape[(i + 1) % shape.length]!;
    return Math.abs(v - y) < TOUCH_M && Math.abs(u - x) > SHORTEST_SIDE_M ? [y] : [];
  });
}

/** Where a horizontal line cuts a convex shape. */
function crossing(shape: RingM, y: number): [number, number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 0; i < shape.length; i++) {
    const [ax, ay] = shape[i]!;
    const [bx, by] = shape[(i + 1) % shape.length]!;
    if (ay > y === by > y) continue;
    const x = ax + ((bx - ax) * (y - ay)) / (by - ay);
    low = Math.min(low, x);
    high = Math.max(high, x);
  }
  return [low, high];
}

/** Convex shapes of shifts at which the outline of the footprint meets an edge of the ground. */
function sweptEdges(ring: RingM, ground: readonly PolygonM[]): PositionM[][] {
  const out: PositionM[][] = [];
  const convex = isConvex(ring);
  for (const edges of ground.flat()) {
    edges.forEach((p, i) => {
      const q = edges[(i + 1) % edges.length]!;
      const swept = (corners: RingM) =>
        convexHull(
          corners.flatMap(([x, y]): PositionM[] => [
            [p[0] - x, p[1] - y],
            [q[0] - x, q[1] - y],
          ]),
        );
      if (convex) out.push(swept(ring));
      else ring.forEach((a, k) => void out.push(swept([a, ring[(k + 1) % ring.length]!])));
    });
  }
  return out;
}

export function isConvex(ring: RingM): boolean {
  return ring.every((b, i) => {
    const a = ring[(i + ring.length - 1) % ring.length]!;
    const c = ring[(i + 1) % ring.length]!;
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) >= -1e-9;
  });
}

/** Anticlockwise, without corners on straight sides (Andrew's monotone chain, Information Processing Letters 9, 1979). */
export function convexHull(points: readonly PositionM[]): PositionM[] {
  const sorted = points.toSorted((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly PositionM[]): PositionM[] => {
    const chain: PositionM[] = [];
    for (const p of list) {
      while (chain.length >= 2) {
        const [a, b] = [chain.at(-2)!, chain.at(-1)!];
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        chain.pop();
      }
      chain.push(p);
    }
    chain.pop();
    return chain;
  };
  return [...half(sorted), ...half(sorted.toReversed())];
}
