// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { AppError } from '../errors.ts';
import { reserveRoom, threadKernels } from '../kernels/thread.ts';
import { areRowsDense, pieceLengthM, type RowSums, rowSums } from './idw-far.ts';
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

/** One per thread. */
export interface IdwEstimator {
  /** One cell; `skip` leaves out one ordered point (-1: none). */
  (xM: number, yM: number, skip: number): number;
  /** Many cells, as {@link idwInto}. */
  readonly estimateInto: (cellsXy: Float64Array, from: number, to: number, outEstimate: Float64Array) => void;
}

export function idwEstimator(state: IdwState): IdwEstimator {
  const estimateOne = oneByOne(state);
  const estimateInto = canUseKernel(state)
    ? byKernel(state, estimateOne)
    : (cellsXy: Float64Array, from: number, to: number, outEstimate: Float64Array) => {
        for (let c = from; c < to; c++)
          outEstimate[c] = estimateOne(cellsXy[2 * c]!, cellsXy[2 * c + 1]!, -1);
      };
  return Object.assign(estimateOne, { estimateInto });
}

function oneByOne(state: IdwState): (xM: number, yM: number, skip: number) => number {
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

/** Within these no product of four squared distances and a value leaves the range of the numbers. */
const LARGEST_COORDINATE_M = 1e15;
const LARGEST_VALUE = 1e60;
/** Sums of weights outside these show a cell at a point, or weights that have lost their digits. */
const LEAST_WEIGHT = 1e-250;
const MOST_WEIGHT = 1e60;
/** Above it the far points no longer change smoothly enough along a row. */
const LARGEST_SMOOTH_POWER = 3;
const BATCH = 256;
/** Cells in a row share the squared distance northward; shorter runs are not worth a batch of their own. */
const SHORTEST_ROW = 32;

function canUseKernel({ points, power, maxDistanceM, minimum, local }: IdwState): boolean {
  const { n, xs, ys, values } = points;
  return (
    local === null &&
    power >= 1 &&
    maxDistanceM === Number.POSITIVE_INFINITY &&
    minimum <= n &&
    values.every((v) => Math.abs(v) <= LARGEST_VALUE) &&
    [xs, ys].every((axis) => axis.every((v) => Math.abs(v) <= LARGEST_COORDINATE_M))
  );
}

function byKernel(
  { points, power, smoothingM }: IdwState,
  estimateOne: (xM: number, yM: number, skip: number) => number,
): IdwEstimator['estimateInto'] {
  const weighing = { softening: smoothingM * smoothingM, exponent: -power / 2 };
  const lengthM = power <= LARGEST_SMOOTH_POWER ? pieceLengthM(points) : 0;
  let pointByPoint: RowSums | null = null;
  let farTogether: RowSums | null = null;
  let looked: Float64Array | null = null;
  let dense = false;
  return (cellsXy, from, to, outEstimate) => {
    // asked of all cells, whichever are wanted now, so that a part of them is done as the whole would be
    if (looked !== cellsXy) {
      dense = areRowsDense(cellsXy, lengthM);
      looked = cellsXy;
    }
    if (dense) farTogether ??= rowSums(points, lengthM, weighing);
    else pointByPoint ??= directSums(points, weighing);
    const batches = (dense ? farTogether : pointByPoint)!;
    for (let start = from; start < to; ) {
      const end = batches.addUp(cellsXy, start, to);
      for (let cell = start; cell < end; cell++) {
        const xM = cellsXy[2 * cell]!;
        const yM = cellsXy[2 * cell + 1]!;
        const weight = batches.weights[cell - start]!;
        const isSound =
          weight > LEAST_WEIGHT &&
          weight < MOST_WEIGHT &&
          Math.abs(xM) <= LARGEST_COORDINATE_M &&
          Math.abs(yM) <= LARGEST_COORDINATE_M;
        outEstimate[cell] = isSound ? batches.sums[cell - start]! / weight : estimateOne(xM, yM, -1);
      }
      start = end;
    }
  };
}

function directSums(
  { n, xs, ys, values }: OrderedPoints,
  weighing: { readonly softening: number; readonly exponent: number },
): RowSums {
  const kernels = threadKernels();
  const room = reserveRoom(3 * n + 4 * BATCH + 4 * n + 4, (memory, at) => {
    memory.set(xs, at);
    memory.set(ys, at + n);
    memory.set(values, at + 2 * n);
  });
  const weights = new Float64Array(BATCH);
  const sums = new Float64Array(BATCH);
  return {
    weights,
    sums,
    addUp(cellsXy, start, to) {
      const at = room.enter();
      const memory = kernels.memory();
      const atCells = at + 3 * n;
      const atWeights = atCells + 2 * BATCH;
      const atSums = atWeights + BATCH;
      const most = Math.min(to, start + BATCH);
      const rowEnd = endOfRow(cellsXy, start, most);
      const isRow = rowEnd === most || rowEnd - start >= SHORTEST_ROW;
      const end = isRow ? rowEnd : most;
      const groups = (end - start + 3) >> 2;
      for (let c = 0; c < 4 * groups; c++) {
        // a group that is not full repeats the last cell
        const cell = Math.min(start + c, end - 1);
        memory[atCells + 8 * (c >> 2) + (c & 3)] = cellsXy[2 * cell]!;
        memory[atCells + 8 * (c >> 2) + 4 + (c & 3)] = cellsXy[2 * cell + 1]!;
      }
      kernels.sumInverseDistances(
        { xs: at, ys: at + n, values: at + 2 * n, n },
        { ...weighing, isRow },
        atCells,
        groups,
        atWeights,
        atSums,
        atSums + BATCH,
      );
      weights.set(memory.subarray(atWeights, atWeights + end - start));
      sums.set(memory.subarray(atSums, atSums + end - start));
      return end;
    },
  };
}

/** First cell after `start` that has another y, or `most`. */
function endOfRow(cellsXy: Float64Array, start: number, most: number): number {
  let end = start + 1;
  while (end < most && cellsXy[2 * end + 1] === cellsXy[2 * start + 1]) end++;
  return end;
}

/** Cells `from`..`to` (exclusive) of `cellsXy` (interleaved metres) into `outEstimate`; NaN where points are too few. */
export function idwInto(
  estimator: IdwEstimator,
  cellsXy: Float64Array,
  from: number,
  to: number,
  outEstimate: Float64Array,
): void {
  estimator.estimateInto(cellsXy, from, to, outEstimate);
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
