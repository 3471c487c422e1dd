import type { PolygonM, PositionM, RingM } from '../../core/contract/model.ts';

export interface BoundsM {
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
}

export function boundsOf(points: readonly PositionM[]): BoundsM | null {
  if (points.length === 0) return null;
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of points) {
    minX = Math.min(minX, x);
    minY = Math.min(minY, y);
    maxX = Math.max(maxX, x);
    maxY = Math.max(maxY, y);
  }
  return { minX, minY, maxX, maxY };
}

/** The same middle, and no side shorter than this: one probe alone is not the whole map. */
export function noSmallerThan({ minX, minY, maxX, maxY }: BoundsM, leastM: number): BoundsM {
  const [moreX, moreY] = [leastM - (maxX - minX), leastM - (maxY - minY)].map((m) => Math.max(0, m) / 2) as [
    number,
    number,
  ];
  return { minX: minX - moreX, minY: minY - moreY, maxX: maxX + moreX, maxY: maxY + moreY };
}

/** Shoelace; positive whichever way the ring runs. */
export function ringAreaM2(ring: RingM): number {
  let twice = 0;
  for (let i = 0; i < ring.length; i++) {
    const a = ring[i] as PositionM;
    const b = ring[(i + 1) % ring.length] as PositionM;
    twice += a[0] * b[1] - b[0] * a[1];
  }
  return Math.abs(twice) / 2;
}

export function distanceM(a: PositionM, b: PositionM): number {
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}

/** Even-odd rule. A point on the line may fall on either side. */
export function ringContains(ring: RingM, [x, y]: PositionM): boolean {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i] as PositionM;
    const [xj, yj] = ring[j] as PositionM;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

/** Whether a place lies in any of the polygons, their holes taken off. */
export function polygonsContain(polygons: readonly PolygonM[], at: PositionM): boolean {
  return polygons.some(([outer, ...holes]) => {
    if (outer === undefined || !ringContains(outer, at)) return false;
    return !holes.some((hole) => ringContains(hole, at));
  });
}

/** About how far neighbours lie apart: the side of the square of ground that each has to itself. Infinity under two. */
export function roughSpacingM(points: readonly PositionM[]): number {
  const bounds = boundsOf(points);
  if (!bounds || points.length < 2) return Infinity;
  const [width, height] = [bounds.maxX - bounds.minX, bounds.maxY - bounds.minY];
  return Math.max(Math.sqrt((width * height) / points.length), Math.max(width, height) / points.length);
}
