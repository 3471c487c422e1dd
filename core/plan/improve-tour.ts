// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Local improvement of a round trip: 2-opt and Or-opt over near neighbours. */

const NEIGHBOURS = 12;
const LONGEST_SEGMENT = 3;
const LEAST_GAIN = 1e-9;

export interface TourImprover {
  /** Improves `tour` in place until no move from the `seeds` and what they touch gains. */
  improve(tour: Int32Array, seeds: ArrayLike<number>): void;
  length(tour: Int32Array): number;
}

/** @param distances full symmetric matrix, n x n row-major */
export function tourImprover(distances: Float64Array, n: number): TourImprover {
  const near = nearestNeighbours(distances, n);
  const width = n === 0 ? 0 : near.length / n;
  const position = new Int32Array(n);
  const queued = new Uint8Array(n);
  const queue: number[] = [];
  const d = (i: number, j: number) => distances[i * n + j]!;
  const push = (i: number) => {
    if (queued[i] === 1) return;
    queued[i] = 1;
    queue.push(i);
  };

  const reverse = (tour: Int32Array, from: number, to: number) => {
    // positions from..to around the ring; the shorter of the two sides is turned
    let inner = to - from;
    if (inner < 0) inner += n;
    inner++;
    let [i, j] = [from, to];
    if (inner * 2 > n) {
      inner = n - inner;
      [i, j] = [(to + 1) % n, (from - 1 + n) % n];
    }
    for (let k = 0; k < inner >> 1; k++) {
      const a = tour[i]!;
      const b = tour[j]!;
      tour[i] = b;
      tour[j] = a;
      position[b] = i;
      position[a] = j;
      i = i + 1 === n ? 0 : i + 1;
      j = j === 0 ? n - 1 : j - 1;
    }
  };

  const twoOpt = (tour: Int32Array, a: number): boolean => {
    for (const forward of [true, false]) {
      const pa = position[a]!;
      const sa = tour[forward ? (pa + 1) % n : (pa - 1 + n) % n]!;
      const edge = d(a, sa);
      for (let k = 0; k < width; k++) {
        const c = near[a * width + k]!;
        const gain = edge - d(a, c);
        if (gain <= LEAST_GAIN) break;
        const pc = position[c]!;
        const sc = tour[forward ? (pc + 1) % n : (pc - 1 + n) % n]!;
        if (c === sa || sc === a) continue;
        if (gain + d(c, sc) - d(sa, sc) <= LEAST_GAIN) continue;
        if (forward) reverse(tour, position[sa]!, pc);
        else reverse(tour, pc, position[sa]!);
        for (const i of [a, sa, c, sc]) push(i);
        return true;
      }
    }
    return false;
  };

  /** Moves the `size` places that begin with `a` and run `step` along the ring to beside a near neighbour of `a`. */
  const orOpt = (tour: Int32Array, a: number): boolean => {
    for (const step of [1, -1]) {
      for (let size = 1; size <= LONGEST_SEGMENT && size < n - 2; size++) {
        const pa = position[a]!;
        const at = (k: number) => tour[(((pa + k * step) % n) + n) % n]!;
        const end = at(size - 1);
        const before = at(-1);
        const after = at(size);
        const freed = d(before, a) + d(end, after) - d(before, after);
        if (freed <= LEAST_GAIN) continue;
        for (let k = 0; k < width; k++) {
          const c = near[a * width + k]!;
          if (d(a, c) >= freed) break;
          const offset = ((((position[c]! - pa) * step) % n) + n) % n;
          if (offset < size) continue;
          for (const side of [1, -1]) {
            const other = at(offset + side);
            if ((offset + side + n) % n < size) continue;
            const cost = d(a, c) + d(end, other) - d(c, other);
            if (freed - cost <= LEAST_GAIN) continue;
            moveSegment(tour, pa, step, size, offset, side);
            for (const i of [before, after, a, end, c, other]) push(i);
            return true;
          }
        }
      }
    }
    return false;
  };

  const moveSegment = (
    tour: Int32Array,
    pa: number,
    step: number,
    size: number,
    offset: number,
    side: number,
  ) => {
    const ring = Array.from({ length: n }, (_, k) => tour[(((pa + k * step) % n) + n) % n]!);
    const segment = ring.splice(0, size);
    const c = offset - size;
    // a comes next to c: reversed where the rest of the segment lies on the side before c
    if (side === 1) ring.splice(c + 1, 0, ...segment);
    else ring.splice(c, 0, ...segment.reverse());
    for (let k = 0; k < n; k++) {
      tour[k] = ring[k]!;
      position[ring[k]!] = k;
    }
  };

  return {
    improve(tour, seeds) {
      if (n < 4) return;
      for (let k = 0; k < n; k++) position[tour[k]!] = k;
      for (let k = 0; k < seeds.length; k++) push(seeds[k]!);
      for (let head = 0; head < queue.length; head++) {
        const a = queue[head]!;
        queued[a] = 0;
        while (twoOpt(tour, a) || orOpt(tour, a));
      }
      queue.length = 0;
    },
    length(tour) {
      let sum = 0;
      for (let k = 0; k < n; k++) sum += d(tour[k]!, tour[(k + 1) % n]!);
      return sum;
    },
  };
}

function nearestNeighbours(distances: Float64Array, n: number): Int32Array {
  const width = Math.max(0, Math.min(NEIGHBOURS, n - 1));
  const out = new Int32Array(n * width);
  for (let i = 0; i < n; i++) {
    const others = Int32Array.from({ length: n - 1 }, (_, k) => (k < i ? k : k + 1));
    others.sort((a, b) => distances[i * n + a]! - distances[i * n + b]! || a - b);
    out.set(others.subarray(0, width), i * width);
  }
  return out;
}
