// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** How short a round trip can be at all. */

/**
 * Lower bound of the shortest round trip through all places: the best 1-tree found by subgradient ascent on node prices
 * (Held and Karp, Operations Research 18, 1970; step rule of Held, Wolfe and Crowder, Mathematical Programming 6, 1974).
 * @param distances full symmetric matrix, n x n row-major
 * @param upperM length of a known round trip
 */
export function tourLowerBound(distances: Float64Array, n: number, upperM: number, rounds: number): number {
  if (n < 2) return 0;
  if (n === 2) return 2 * distances[1]!;
  const prices = new Float64Array(n);
  const degrees = new Int32Array(n);
  const before = new Float64Array(n);
  let best = 0;
  let stepScale = 2;
  let idle = 0;
  for (let round = 0; round < rounds; round++) {
    const length = oneTree(distances, n, prices, degrees);
    if (length > best + 1e-12 * upperM) {
      best = length;
      idle = 0;
    } else if (++idle >= 8) {
      stepScale /= 2;
      idle = 0;
    }
    let norm = 0;
    for (let i = 0; i < n; i++) norm += (degrees[i]! - 2) ** 2;
    if (norm === 0 || stepScale < 1e-5) break;
    const step = (stepScale * Math.max(upperM - length, 1e-9 * upperM)) / norm;
    for (let i = 0; i < n; i++) {
      const slope = degrees[i]! - 2;
      prices[i] = prices[i]! + step * (0.7 * slope + 0.3 * before[i]!);
      before[i] = slope;
    }
  }
  return Math.min(best, upperM);
}

/** Shortest tree over nodes 1..n-1 plus the two shortest edges of node 0, under prices; @returns its length less 2 x prices. */
function oneTree(distances: Float64Array, n: number, prices: Float64Array, degrees: Int32Array): number {
  degrees.fill(0);
  const reach = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
  const from = new Int32Array(n);
  const done = new Uint8Array(n);
  let total = 0;
  let last = 1;
  done[1] = 1;
  for (let added = 2; added < n; added++) {
    let next = -1;
    for (let i = 1; i < n; i++) {
      if (done[i] === 1) continue;
      const d = distances[last * n + i]! + prices[last]! + prices[i]!;
      if (d < reach[i]!) {
        reach[i] = d;
        from[i] = last;
      }
      if (next < 0 || reach[i]! < reach[next]!) next = i;
    }
    total += reach[next]!;
    degrees[next] = degrees[next]! + 1;
    degrees[from[next]!] = degrees[from[next]!]! + 1;
    done[next] = 1;
    last = next;
  }
  let first = -1;
  let second = -1;
  const priced = (i: number) => distances[i]! + prices[0]! + prices[i]!;
  for (let i = 1; i < n; i++) {
    if (first < 0 || priced(i) < priced(first)) {
      second = first;
      first = i;
    } else if (second < 0 || priced(i) < priced(second)) second = i;
  }
  total += priced(first) + priced(second);
  degrees[0] = 2;
  degrees[first] = degrees[first]! + 1;
  degrees[second] = degrees[second]! + 1;
  for (let i = 0; i < n; i++) total -= 2 * prices[i]!;
  return total;
}
