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

/** So many times the points wanted are looked up at once, for the places near by that are asked next. */
const AHEAD = 3;
/** Places closer together than this share of the distance of the farthest point found count as near by. */
const CLOSE = 0.1;

export function nearestSearch(index: SpatialIndex, nearest: number): NearestSearch {
  const all = index.xs.length;
  const size = Math.max(1, Math.min(nearest, all));
  const list = nearestList(index, size);
  const wide = nearestList(index, Math.min(AHEAD * size, all));
  const { found, squaredDistance } = list;
  // All points within `anchor[2]` of the place anchor[0], anchor[1].
  const candidates = new Int32Array(wide.found.length);
  let candidateCount = 0;
  const anchor = Float64Array.of(0, 0, -1);
  const last = Float64Array.of(Number.NaN, Number.NaN, 0);

  /** @returns whether the nearest are all among the candidates */
  const searchCandidates = (xM: number, yM: number, maxDistanceM: number): boolean => {
    const moved = Math.hypot(xM - anchor[0]!, yM - anchor[1]!);
    if (!(moved < anchor[2]!)) return false;
    list.begin(xM, yM, maxDistanceM, -1);
    list.offer(candidates, 0, candidateCount);
    return candidateCount === all || (Math.sqrt(list.limit()) + moved) * (1 + 1e-9) < anchor[2]!;
  };

  const dropAnchor = (xM: number, yM: number): void => {
    wide.begin(xM, yM, Number.POSITIVE_INFINITY, -1);
    wide.visitAll();
    candidateCount = wide.count();
    // the nearest first, these from far to near as the list keeps them: what follows is mostly turned away at once
    const inner = Math.min(size, candidateCount);
    for (let i = 0; i < inner; i++) candidates[i] = wide.found[candidateCount - inner + i]!;
    for (let i = inner; i < candidateCount; i++) candidates[i] = wide.found[candidateCount - 1 - i]!;
    anchor[0] = xM;
    anchor[1] = yM;
    anchor[2] = Math.sqrt(wide.limit());
  };

  return {
    found,
    squaredDistance,
    search(xM, yM, maxDistanceM, skip) {
      const isClose = Math.hypot(xM - last[0]!, yM - last[1]!) < CLOSE * last[2]!;
      last[0] = xM;
      last[1] = yM;
      let done = false;
      if (skip < 0 && isClose) {
        done = searchCandidates(xM, yM, maxDistanceM);
        if (!done) {
          dropAnchor(xM, yM);
          done = searchCandidates(xM, yM, maxDistanceM);
        }
      }
      if (!done) {
        list.begin(xM, yM, maxDistanceM, skip);
        list.visitAll();
      }
      last[2] = Math.sqrt(list.limit());
      return list.count();
    },
  };
}

/** The `size` nearest of the points offered to it. */
interface NearestList {
  /** Farthest first: where it is dropped. Short lists make insertion cheap. */
  readonly found: Int32Array;
  readonly squaredDistance: Float64Array;
  begin(xM: number, yM: number, maxDistanceM: number, skip: number): void;
  /** Offers points ids[from] to ids[to - 1]. */
  offer(ids: Int32Array, from: number, to: number): void;
  /** Offers all points of the index that may be among the nearest. */
  visitAll(): void;
  count(): number;
  /** Squared distance above which nothing more is taken. */
  limit(): number;
}

function nearestList(index: SpatialIndex, size: number): NearestList {
  const { xs, ys, ids } = index;
  const found = new Int32Array(size);
  const squaredDistance = new Float64Array(size);
  // x, y and limit of the search: in an array, because a number that a closure writes is allocated anew each time
  const query = new Float64Array(3);
  let count = 0;
  let skipped = -1;

  const offer = (source: Int32Array, from: number, to: number): void => {
    const px = query[0]!;
    const py = query[1]!;
    let limit = query[2]!;
    for (let k = from; k < to; k++) {
      const id = source[k]!;
      const dx = xs[id]! - px;
      const dy = ys[id]! - py;
      const d2 = dx * dx + dy * dy;
      if (d2 > limit || id === skipped) continue;
      let slot = 0;
      if (count < size) {
        slot = count++;
        while (
          slot > 0 &&
          (d2 > squaredDistance[slot - 1]! || (d2 === squaredDistance[slot - 1]! && id > found[slot - 1]!))
        ) {
          found[slot] = found[slot - 1]!;
          squaredDistance[slot] = squaredDistance[slot - 1]!;
          slot--;
        }
      } else {
        if (d2 === squaredDistance[0]! && id > found[0]!) continue;
        while (
          slot + 1 < size &&
          (d2 < squaredDistance[slot + 1]! || (d2 === squaredDistance[slot + 1]! && id < found[slot + 1]!))
        ) {
          found[slot] = found[slot + 1]!;
          squaredDistance[slot] = squaredDistance[slot + 1]!;
          slot++;
        }
      }
      found[slot] = id;
      squaredDistance[slot] = d2;
      if (count === size && squaredDistance[0]! < limit) limit = squaredDistance[0]!;
    }
    query[2] = limit;
  };

  const visit = (from: number, to: number, byX: boolean): void => {
    if (to - from <= LEAF_SIZE) {
      offer(ids, from, to);
      return;
    }
    const middle = (from + to) >> 1;
    const id = ids[middle]!;
    const offset = byX ? query[0]! - xs[id]! : query[1]! - ys[id]!;
    if (offset <= 0) visit(from, middle, !byX);
    else visit(middle + 1, to, !byX);
    if (offset * offset > query[2]!) return;
    offer(ids, middle, middle + 1);
    if (offset <= 0) visit(middle + 1, to, !byX);
    else visit(from, middle, !byX);
  };

  return {
    found,
    squaredDistance,
    begin(xM, yM, maxDistanceM, skip) {
      query[0] = xM;
      query[1] = yM;
      query[2] = maxDistanceM * maxDistanceM;
      skipped = skip;
      count = 0;
    },
    offer,
    visitAll: () => visit(0, ids.length, true),
    count: () => count,
    limit: () => query[2]!,
  };
}
