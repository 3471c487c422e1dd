// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** The order in which to walk to the probes: from the car through all of them and back, as short as can be found. */
import { randomStream } from '../classify/random.ts';
import type { PositionM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { type JobContext, throwIfStopped } from '../jobs/job.ts';
import { tourImprover } from './improve-tour.ts';
import { tourLowerBound } from './tour-bound.ts';
import { OPEN_GROUND, type WalkGround, type WalkLine } from './walk-ground.ts';

export interface Route {
  /** Indices of the probes in the order of the walk; the start is before the first and after the last. */
  readonly order: readonly number[];
  /** Straight from place to place, or round what is not walked over. */
  readonly lengthM: number;
  /** From the start through all and back, with the corners it turns at. */
  readonly line: WalkLine;
  /** No round trip through these places can be shorter than this. */
  readonly lowerBoundM: number;
  /** How much longer than the bound the route is at most, as a share: 0.02 is 2 %. */
  readonly gap: number;
}

export const MOST_PLACES = 2500;
const SEED = 1;
/** Kicks after the first descent: many for few places, where each is cheap and the optimum within reach. */
const kicksFor = (n: number) => (n < 5 ? 0 : n <= 60 ? 1500 : n <= 300 ? 600 : 150);
const boundRoundsFor = (n: number) => (n <= 300 ? 300 : 80);

/**
 * Nearest neighbour, then 2-opt and Or-opt, then kicks (two short pieces of the route swapped at random, fixed seed) that
 * are kept where they shorten it. The same input gives the same route.
 * @throws AppError BAD_INPUT for a place that is not finite or too many places; CANCELLED
 */
export function planRoute(
  start: PositionM,
  probes: readonly PositionM[],
  context: JobContext,
  ground: WalkGround = OPEN_GROUND,
): Route {
  const places = [start, ...probes];
  const n = places.length;
  places.forEach(([x, y], i) => {
    if (!Number.isFinite(x) || !Number.isFinite(y))
      throw new AppError(
        'BAD_INPUT',
        `${i === 0 ? 'The start' : `Probe ${i}`} is not at a place: ${x}, ${y}.`,
      );
  });
  if (n > MOST_PLACES)
    throw new AppError(
      'BAD_INPUT',
      `A route through ${n - 1} probes is too long to plan; at most ${MOST_PLACES - 1}.`,
    );
  const distances = ground.distances(places);
  const improver = tourImprover(distances, n);
  let best = nearestNeighbourTour(distances, n);
  improver.improve(best, best);
  let bestLength = improver.length(best);
  const random = randomStream(SEED, n);
  const kicks = kicksFor(n);
  for (let kick = 0; kick < kicks; kick++) {
    if (kick % 50 === 0) {
      throwIfStopped(context);
      context.progress((0.7 * kick) / kicks, 'shortening the walk');
    }
    const { tour, touched } = swapPieces(best, n, random.below);
    improver.improve(tour, touched);
    const length = improver.length(tour);
    if (length < bestLength - 1e-9) {
      best = tour;
      bestLength = length;
    }
  }
  throwIfStopped(context);
  context.progress(0.7, 'bounding the walk');
  const lowerBoundM = tourLowerBound(distances, n, bestLength, boundRoundsFor(n));
  const order = fromStart(best, distances);
  return {
    order,
    lengthM: bestLength,
    line: ground.line([start, ...order.map((i) => probes[i]!), ...(n > 1 ? [start] : [])]),
    lowerBoundM,
    gap: lowerBoundM > 0 ? bestLength / lowerBoundM - 1 : 0,
  };
}

function nearestNeighbourTour(distances: Float64Array, n: number): Int32Array {
  const tour = new Int32Array(n);
  const used = new Uint8Array(n);
  used[0] = 1;
  for (let k = 1; k < n; k++) {
    const at = tour[k - 1]! * n;
    let next = -1;
    for (let i = 0; i < n; i++)
      if (used[i] === 0 && (next < 0 || distances[at + i]! < distances[at + next]!)) next = i;
    tour[k] = next;
    used[next] = 1;
  }
  return tour;
}

/** A double bridge whose two swapped pieces are short and side by side. */
function swapPieces(
  best: Int32Array,
  n: number,
  below: (n: number) => number,
): { tour: Int32Array; touched: number[] } {
  const longest = Math.max(1, Math.min(30, Math.floor((n - 2) / 2)));
  const first = 1 + below(longest);
  const second = 1 + below(Math.min(longest, n - 1 - first));
  const from = below(n);
  const at = (k: number) => best[(from + k) % n]!;
  const ring = [
    ...Array.from({ length: second }, (_, k) => at(first + k)),
    ...Array.from({ length: first }, (_, k) => at(k)),
  ];
  const tour = best.slice();
  ring.forEach((place, k) => {
    tour[(from + k) % n] = place;
  });
  const touched = [at(n - 1), at(0), at(first - 1), at(first), at(first + second - 1), at(first + second)];
  return { tour, touched };
}

/** Rotated so that the start comes first and the nearer end of the walk after it; start taken off. */
function fromStart(tour: Int32Array, distances: Float64Array): number[] {
  const n = tour.length;
  const at = tour.indexOf(0);
  const order = Array.from({ length: n - 1 }, (_, k) => tour[(at + 1 + k) % n]! - 1);
  const [first, last] = [order[0], order.at(-1)];
  if (first === undefined || last === undefined) return order;
  // Row 0 holds the distances from the start. Equal ones: the lower index, so that the same input gives the same walk.
  const longer = distances[first + 1]! - distances[last + 1]!;
  return longer > 1e-9 || (longer >= -1e-9 && first > last) ? order.reverse() : order;
}
