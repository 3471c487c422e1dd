// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { AppError } from '../errors.ts';

/** Data of a surface, as flat arrays. */
export interface PointSet {
  /** Positions in metres, interleaved [x0, y0, x1, y1, ...]. */
  readonly xy: Float64Array;
  readonly values: Float64Array;
  /** Variance of each value's own measurement error, in squared units of the value; 0 where exact. */
  readonly errorVariances?: Float64Array;
}

/** The same points in canonical order (by x, y, value, error), so that results do not depend on the order given. */
export interface OrderedPoints {
  readonly n: number;
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  readonly values: Float64Array;
  readonly errorVariances: Float64Array;
  /** order[i] is the caller's index of ordered point i. */
  readonly order: Int32Array;
}

export type Allocate = (length: number) => Float64Array;
export const allocatePlain: Allocate = (length) => new Float64Array(length);

/** @throws AppError BAD_INPUT for lengths that do not fit or a number that is not finite, naming the 0-based point */
export function checkPoints(points: PointSet): void {
  const { xy, values, errorVariances } = points;
  const n = values.length;
  if (xy.length !== 2 * n)
    throw new AppError(
      'BAD_INPUT',
      `Points: ${xy.length} coordinates for ${n} values; two per value are needed`,
    );
  if (errorVariances !== undefined && errorVariances.length !== n)
    throw new AppError('BAD_INPUT', `Points: ${errorVariances.length} error variances for ${n} values`);
  for (let i = 0; i < n; i++) {
    const variance = errorVariances?.[i] ?? 0;
    if (Number.isFinite(xy[2 * i]) && Number.isFinite(xy[2 * i + 1]) && Number.isFinite(values[i])) {
      if (variance >= 0 && Number.isFinite(variance)) continue;
      throw new AppError('BAD_INPUT', `Point ${i + 1}: error variance ${variance} (must be 0 or more)`, {
        point: i,
      });
    }
    const where = `${xy[2 * i]}, ${xy[2 * i + 1]}`;
    throw new AppError('BAD_INPUT', `Point ${i + 1}: value ${values[i]} at ${where} is not finite`, {
      point: i,
    });
  }
}

/** @throws AppError as {@link checkPoints} */
export function orderPoints(points: PointSet, allocate: Allocate = allocatePlain): OrderedPoints {
  checkPoints(points);
  const { xy, values, errorVariances } = points;
  const n = values.length;
  const order = Int32Array.from({ length: n }, (_, i) => i);
  order.sort(
    (a, b) =>
      xy[2 * a]! - xy[2 * b]! ||
      xy[2 * a + 1]! - xy[2 * b + 1]! ||
      values[a]! - values[b]! ||
      (errorVariances?.[a] ?? 0) - (errorVariances?.[b] ?? 0),
  );
  const out = {
    n,
    xs: allocate(n),
    ys: allocate(n),
    values: allocate(n),
    errorVariances: allocate(n),
    order,
  };
  for (let i = 0; i < n; i++) {
    const from = order[i]!;
    out.xs[i] = xy[2 * from]!;
    out.ys[i] = xy[2 * from + 1]!;
    out.values[i] = values[from]!;
    out.errorVariances[i] = errorVariances?.[from] ?? 0;
  }
  return out;
}

/** First ordered point at exactly (xM, yM), or -1. */
export function findAt(points: OrderedPoints, xM: number, yM: number): number {
  const { n, xs, ys } = points;
  let low = 0;
  let high = n;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (xs[middle]! < xM || (xs[middle]! === xM && ys[middle]! < yM)) low = middle + 1;
    else high = middle;
  }
  return low < n && xs[low] === xM && ys[low] === yM ? low : -1;
}

/** Number of ordered points at the place of ordered point `first`, which must be the first of them. */
export function countAt(points: OrderedPoints, first: number): number {
  const { n, xs, ys } = points;
  let end = first + 1;
  while (end < n && xs[end] === xs[first] && ys[end] === ys[first]) end++;
  return end - first;
}
