/** Ground on which the surface says little: beyond the probes, or with a large error of its own. */

import { contourBands } from '../contour/contour.ts';
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import type { GridSpec, SurfaceResult, WeakGround } from '../contract/results.ts';
import { bufferPolygons, polygonsArea, ringArea, subtractPolygons, unionPolygons } from '../geo/planar.ts';
import { fromMetres } from '../units.ts';

/** Standard error over estimate from which the ground is drawn weaker: own rule, so that twice the error spans the value. */
export const WEAK_RELATIVE_ERROR = 0.5;
const HULL_MARGIN_SPACINGS = 0.5;

/** Corners of the smallest convex ring around the points, anticlockwise (Andrew's chain, 1979). */
export function convexHull(points: readonly PositionM[]): PositionM[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (ordered: readonly PositionM[]): PositionM[] => {
    const chain: PositionM[] = [];
    for (const p of ordered) {
      for (;;) {
        const [a, b] = [chain.at(-2), chain.at(-1)];
        if (a === undefined || b === undefined) break;
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        chain.pop();
      }
      chain.push(p);
    }
    return chain.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.toReversed())];
}

/** Median distance from a point to its nearest neighbour; 0 under two points. */
export function medianSpacingM(points: readonly PositionM[]): number {
  const nearest = points
    .map((p, i) =>
      points.reduce(
        (least, q, k) => (k === i ? least : Math.min(least, Math.hypot(p[0] - q[0], p[1] - q[1]))),
        Number.POSITIVE_INFINITY,
      ),
    )
    .filter(Number.isFinite)
    .sort((a, b) => a - b);
  return nearest[Math.floor(nearest.length / 2)] ?? 0;
}

/**
 * Values carried outward over `steps` cells without one (the mean of their known neighbours), so that a contour
 * reaches the lot line instead of ending at the last cell centre inside.
 */
export function widenValues(grid: GridSpec, values: Float64Array, steps = 2): Float64Array {
  let current = Float64Array.from(values);
  for (let step = 0; step < steps; step++) {
    const next = Float64Array.from(current);
    for (let row = 0; row < grid.rows; row++) {
      for (let column = 0; column < grid.columns; column++) {
        const at = row * grid.columns + column;
        if (!Number.isNaN(current[at])) continue;
        let sum = 0;
        let count = 0;
        for (const [dx, dy] of [
          [-1, 0],
          [1, 0],
          [0, -1],
          [0, 1],
        ] as const) {
          const [c, r] = [column + dx, row + dy];
          if (c < 0 || r < 0 || c >= grid.columns || r >= grid.rows) continue;
          const value = current[r * grid.columns + c] ?? Number.NaN;
          if (Number.isNaN(value)) continue;
          sum += value;
          count += 1;
        }
        if (count > 0) next[at] = sum / count;
      }
    }
    current = next;
  }
  return current;
}

function highErrorGround(surface: SurfaceResult, lot: RingM): readonly PolygonM[] {
  const ratio = surface.estimateKBqPerM3.map((estimate, i) => {
    const error = surface.standardErrorKBqPerM3[i] ?? Number.NaN;
    return estimate > 0 ? error / estimate : Number.NaN;
  });
  if (!ratio.some((r) => r >= WEAK_RELATIVE_ERROR)) return [];
  const bands = contourBands(
    surface.grid,
    widenValues(surface.grid, ratio),
    [0, WEAK_RELATIVE_ERROR],
    [[lot]],
  );
  return bands[1]?.polygons ?? [];
}

function beyondProbes(points: readonly PositionM[], lot: RingM, marginM: number): readonly PolygonM[] {
  const hull = convexHull(points);
  if (hull.length < 3 || Math.abs(ringArea(hull)) < 1e-6) return [[lot]];
  return subtractPolygons([[lot]], bufferPolygons([[hull]], marginM));
}

/**
 * The part of the lot to be drawn weaker, and the rule in words; null where there is none.
 * @param points - the probes whose values made the surface
 * @param isFoot - the sheet's lengths are feet
 */
export function findWeakGround(
  surface: SurfaceResult,
  points: readonly PositionM[],
  lot: RingM,
  isFoot = false,
): WeakGround | null {
  const marginM = HULL_MARGIN_SPACINGS * medianSpacingM(points);
  const polygons = unionPolygons([...beyondProbes(points, lot, marginM), ...highErrorGround(surface, lot)]);
  if (polygons.length === 0) return null;
  const error =
    surface.method === 'kriging'
      ? `, or with a standard error over ${WEAK_RELATIVE_ERROR * 100} % of the estimate`
      : '';
  const share = polygonsArea(polygons) / Math.abs(ringArea(lot));
  const where = share > 0.995 ? 'Weak ground, the whole lot' : 'Weak ground';
  return {
    polygons,
    statement: `${where}, drawn faded: more than ${isFoot ? `${fromMetres(marginM, 'ft').toFixed(0)} ft` : `${marginM.toFixed(1)} m`} (half the usual spacing) outside the ring of probes with a value${error}`,
  };
}
