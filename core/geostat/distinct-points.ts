// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import type { SurfacePoints } from './lower-bounds.ts';
import { orderPoints, type PointSet } from './points.ts';

/** Rows that repeat another in place, value and error, once. Canonical order. */
export function withoutRepeats(points: PointSet): { kept: PointSet; index: Int32Array } {
  const o = orderPoints(points);
  const ids: number[] = [];
  for (let i = 0; i < o.n; i++) {
    const repeats =
      i > 0 &&
      o.xs[i] === o.xs[i - 1] &&
      o.ys[i] === o.ys[i - 1] &&
      o.values[i] === o.values[i - 1] &&
      o.errorVariances[i] === o.errorVariances[i - 1];
    if (!repeats) ids.push(i);
  }
  const index = Int32Array.from(ids, (i) => o.order[i]!);
  const { lowerBounds: _bounds, ...kept } = pickRows(points, index);
  return { kept, index };
}

/** The rows named, in that order; lower bounds are kept. */
export function pickRows(points: SurfacePoints, rows: Int32Array): SurfacePoints {
  const { xy, values, errorVariances, lowerBounds } = points;
  return {
    xy: Float64Array.from({ length: 2 * rows.length }, (_, k) => xy[2 * rows[k >> 1]! + (k & 1)]!),
    values: Float64Array.from(rows, (i) => values[i]!),
    ...(errorVariances === undefined
      ? {}
      : { errorVariances: Float64Array.from(rows, (i) => errorVariances[i]!) }),
    ...(lowerBounds === undefined ? {} : { lowerBounds }),
  };
}

/** Number of different places of points in canonical order. */
export function countPlaces(points: PointSet): number {
  const { xy } = points;
  let places = 0;
  for (let i = 0; i < xy.length; i += 2)
    if (i === 0 || xy[i] !== xy[i - 2] || xy[i + 1] !== xy[i - 1]) places++;
  return places;
}
