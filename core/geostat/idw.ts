// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { AppError } from '../errors.ts';
import { type OrderedPoints, orderPoints, type PointSet } from './points.ts';
import { buildSpatialIndex, nearestSearch, type SpatialIndex } from './spatial-index.ts';

export interface IdwOptions {
  /** Default 2. */
  readonly power?: number;
  /** Metres; softens the peaks: weight (d^2 + smoothing^2)^(-power/2). Default 0: exact at the points. */
  readonly smoothingM?: number;
  /** Left out: all points. */
  readonly nearest?: number;
  readonly maxDistanceM?: number;
  /** Cells with fewer points than this get NaN. Default 1. */
  readonly minimum?: number;
}

/** Plain data, may be posted to other threads. */
export interface IdwState {
  readonly points: OrderedPoints;
  readonly power: number;
  readonly smoothingM: number;
  readonly maxDistanceM: number;
  readonly minimum: number;
  readonly local: { readonly index: SpatialIndex; readonly nearest: number } | null;
}

/** @throws AppError BAD_INPUT for unusable points or options */
export function prepareIdw(points: PointSet, options: IdwOptions = {}): IdwState {
  const {
    power = 2,
    smoothingM = 0,
    maxDistanceM = Number.POSITIVE_INFINITY,
    minimum = 1,
    nearest,
  } = options;
  if (!(power > 0 && power <= 100)) throw new AppError('BAD_INPUT', `IDW: power ${power} (must be above 0)`);
  if (!(smoothingM >= 0))
    throw new AppError('BAD_INPUT', `IDW: smoothing ${smoothingM} m (must be 0 or more)`);
  if (!(maxDistanceM > 0))
    throw new AppError('BAD_INPUT', `IDW: largest distance ${maxDistanceM} m (must be above 0)`);
  if (nearest !== undefined && !(nearest >= 1))
    throw new AppError('BAD_INPUT', `IDW: nearest ${nearest} points (must be 1 or more)`);
  const ordered = orderPoints(points);
  if (ordered.n === 0) throw new AppError('BAD_INPUT', 'IDW needs at least one point; none given');
  const local =
    nearest === undefined || nearest >= ordered.n
      ? null
      : { index: buildSpatialIndex(ordered.xs, ordered.ys), nearest: Math.floor(nearest) };
  return { points: ordered, power, smoothingM, maxDistanceM, minimum, local };
}

/** Estimates cells one by one; `skip` leaves out one ordered point (-1: none). */
export type IdwEstimator = (xM: number, yM: number, skip: number) => number;

export function idwEstimator(state: IdwState): IdwEstimator {
  const { points, smoothingM, maxDistanceM, minimum, local } = state;
  const { n, xs, ys, values } = points;
  const exponent = -state.power / 2;
  const smoothing2 = smoothingM * smoothingM;
  const limit = maxDistanceM * maxDistanceM;
  const weigh = (d2: number): number => (exponent === -1 ? 1 / d2 : d2 ** exponent);
  const search = local === null ? null : nearestSearch(local.index, local.nearest);
  return (xM, yM, skip) => {
    const count = search === null ? n : search.search(xM, yM, maxDistanceM, skip);
    let weightSum = 0;
    let sum = 0;
    let used = 0;
    let exactSum = 0;
    let exact = 0;
    for (let s = 0; s < count; s++) {
      const i = search === null ? s : search.found[s]!;
      if (i === skip) continue;
      const dx = xs[i]! - xM;
      const dy = ys[i]! - yM;
      const d2 = dx * dx + dy * dy;
      if (d2 > limit) continue;
      used++;
      const softened = d2 + smoothing2;
      if (softened === 0) {
        exact++;
        exactSum += values[i]!;
        continue;
      }
      const w = weigh(softened);
      weightSum += w;
      sum += w * values[i]!;
    }
    if (used < minimum || used === 0) return Number.NaN;
    // points at the cell itself decide alone; several there count by their mean
    return exact > 0 ? exactSum / exact : sum / weightSum;
  };
}

/** Cells `from`..`to` (exclusive) of `cellsXy` (interleaved metres) into `outEstimate`; NaN where points are too few. */
export function idwInto(
  estimator: IdwEstimator,
  cellsXy: Float64Array,
  from: number,
  to: number,
  outEstimate: Float64Array,
): void {
  for (let c = from; c < to; c++) outEstimate[c] = estimator(cellsXy[2 * c]!, cellsXy[2 * c + 1]!, -1);
}

/** Prepares and estimates in one go. @throws AppError as {@link prepareIdw} */
export function interpolateIdw(
  points: PointSet,
  cellsXy: Float64Array,
  options: IdwOptions = {},
): Float64Array {
  const out = new Float64Array(cellsXy.length / 2);
  idwInto(idwEstimator(prepareIdw(points, options)), cellsXy, 0, out.length, out);
  return out;
}
