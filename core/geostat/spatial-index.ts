// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** A k-d tree over fixed points: an implicit balanced tree in one index array, halves split by x and y in turn. */

const LEAF_SIZE = 8;

export interface SpatialIndex {
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  /** Point numbers in tree order. */
  readonly ids: Int32Array;
}

export function buildSpatialIndex(xs: Float64Array, ys: Float64Array): SpatialIndex {
  const ids = Int32Array.from({ length: xs.length }, (_, i) => i);
  const split = (from: number, to: number, byX: boolean): void => {
    if (to - from <= LEAF_SIZE) return;
    const axis = byX ? xs : ys;
    ids.subarray(from, to).sort((a, b) => axis[a]! - axis[b]! || a - b);
    const middle = (from + to) >> 1;
    split(from, middle, !byX);
    split(middle + 1, to, !byX);
  };
  split(0, ids.length, true);
  return { xs, ys, ids };
}

/** Finds nearest points again and again without allocating. */
export interface NearestSearch {
  /** Point numbers found by the last search, nearest last; only the first `count` are meant. */
  readonly found: Int32Array;
  readonly squaredDistance: Float64Array;
  /**
   * Nearest points to (xM, yM) within `maxDistanceM` (inclusive), leaving out point `skip` (-1: none).
   * Equal distances are settled by the lower point number.
   * @returns how many were found
   */
  search(xM: number, yM: number, maxDistanceM: number, skip: number): number;
}

export function nearestSearch(index: SpatialIndex, nearest: number): NearestSearch {
  const { xs, ys, ids } = index;
  const size = Math.max(1, Math.min(nearest, xs.length));
  // A list ordered from far to near: the farthest is at 0, where it is dropped. Short lists make insertion cheap.
  const found = new Int32Array(size);
  const squaredDistance = new Float64Array(size);
  let count = 0;
  let limit = 0;
  let px = 0;
  let py = 0;
  let skipped = -1;

  const isNearer = (d2: number, id: number, slot: number): boolean =>
    d2 < squaredDistance[slot]! || (d2 === squaredDistance[slot]! && id < found[slot]!);

  const offer = (id: number): void => {
    if (id === skipped) return;
    const dx = xs[id]! - px;
    const dy = ys[id]! - py;
    const d2 = dx * dx + dy * dy;
    if (d2 > limit) return;
    if (count < size) {
      let slot = count++;
      while (slot > 0 && !isNearer(d2, id, slot - 1)) {
        found[slot] = found[slot - 1]!;
        squaredDistance[slot] = squaredDistance[slot - 1]!;
        slot--;
      }
      found[slot] = id;
      squaredDistance[slot] = d2;
    } else {
      if (!isNearer(d2, id, 0)) return;
      let slot = 0;
      while (slot + 1 < size && isNearer(d2, id, slot + 1)) {
        found[slot] = found[slot + 1]!;
        squaredDistance[slot] = squaredDistance[slot + 1]!;
        slot++;
      }
      found[slot] = id;
      squaredDistance[slot] = d2;
    }
    if (count === size) limit = Math.min(limit, squaredDistance[0]!);
  };

  const visit = (from: number, to: number, byX: boolean): void => {
    if (to - from <= LEAF_SIZE) {
      for (let i = from; i < to; i++) offer(ids[i]!);
      return;
    }
    const middle = (from + to) >> 1;
    const id = ids[middle]!;
    const offset = byX ? px - xs[id]! : py - ys[id]!;
    if (offset <= 0) visit(from, middle, !byX);
    else visit(middle + 1, to, !byX);
    if (offset * offset > limit) return;
    offer(id);
    if (offset <= 0) visit(middle + 1, to, !byX);
    else visit(from, middle, !byX);
  };

  return {
    found,
    squaredDistance,
    search(xM, yM, maxDistanceM, skip) {
      px = xM;
      py = yM;
      skipped = skip;
      count = 0;
      limit = maxDistanceM * maxDistanceM;
      visit(0, ids.length, true);
      return count;
    },
  };
}
