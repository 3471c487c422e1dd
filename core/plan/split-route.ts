/** A walk shared out over days and instruments so that the longest part is as short as can be. */
import type { PositionM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import type { JobContext } from '../jobs/job.ts';
import { OPEN_GROUND, type WalkGround, type WalkLine } from './walk-ground.ts';
import { planRoute, type Route } from './walking-order.ts';

export interface WorkPace {
  readonly minutesPerTest: number;
  readonly walkingMetresPerMinute: number;
  readonly instruments: number;
  readonly days: number;
}

export interface RoutePart {
  /** Both count from 1. */
  readonly day: number;
  readonly instrument: number;
  readonly route: Route;
  readonly minutes: number;
}

export interface SharedWork {
  /** Day by day, instrument by instrument; parts without a probe are left out. */
  readonly parts: readonly RoutePart[];
  readonly longestMinutes: number;
  readonly totalMinutes: number;
  /** No sharing of these tests can have a longest part below this: tests evenly shared, without any walking. */
  readonly evenShareMinutes: number;
}

/** @throws AppError BAD_INPUT for a pace that is no pace */
export function checkPace(pace: WorkPace): void {
  const { minutesPerTest, walkingMetresPerMinute, instruments, days } = pace;
  if (!(minutesPerTest > 0) || !Number.isFinite(minutesPerTest))
    throw new AppError('BAD_INPUT', `${minutesPerTest} minutes per test: must be above 0.`, {
      field: 'minutesPerTest',
    });
  if (!(walkingMetresPerMinute > 0) || !Number.isFinite(walkingMetresPerMinute))
    throw new AppError('BAD_INPUT', `A walk of ${walkingMetresPerMinute} m a minute: must be above 0.`, {
      field: 'walkingMetresPerMinute',
    });
  for (const [field, value] of Object.entries({ instruments, days })) {
    if (!Number.isInteger(value) || value < 1)
      throw new AppError('BAD_INPUT', `${value} ${field}: must be a whole number from 1.`, { field });
  }
}

/**
 * Cuts the round trip into pieces that follow each other, one for each instrument and day, each walked from the start
 * and back; the longest piece in minutes is the shortest this order allows, over all places to begin. Each piece is then
 * walked by its own shortest route.
 */
export function shareRoute(
  start: PositionM,
  probes: readonly PositionM[],
  route: Route,
  pace: WorkPace,
  context: JobContext,
  ground: WalkGround = OPEN_GROUND,
): SharedWork {
  checkPace(pace);
  const parts = pace.instruments * pace.days;
  const walk = route.order.map((i) => probes[i] as PositionM);
  const cut = shortestLongest(ground.distances([start, ...walk]), walk.length, pace, parts);
  const out: RoutePart[] = [];
  let at = cut.rotation;
  cut.sizes.forEach((size, part) => {
    const members = Array.from(
      { length: size },
      (_, k) => route.order[(at + k) % route.order.length] as number,
    );
    at += size;
    if (size === 0) return;
    const own = planRoute(
      start,
      members.map((i) => probes[i] as PositionM),
      context,
      ground,
    );
    out.push({
      day: Math.floor(part / pace.instruments) + 1,
      instrument: (part % pace.instruments) + 1,
      route: { ...own, order: own.order.map((i) => members[i] as number) },
      minutes: size * pace.minutesPerTest + own.lengthM / pace.walkingMetresPerMinute,
    });
  });
  return {
    parts: out,
    longestMinutes: Math.max(0, ...out.map((p) => p.minutes)),
    totalMinutes: out.reduce((sum, p) => sum + p.minutes, 0),
    evenShareMinutes: Math.ceil(probes.length / parts) * pace.minutesPerTest,
  };
}

/** An order kept as it is and cut into one piece for each instrument and day. */
export interface CutOrder {
  /** Probes in each piece, without empty ones. */
  readonly sizes: readonly number[];
  readonly longestMinutes: number;
  /** All pieces in one line, each from the start and back. */
  readonly line: WalkLine;
}

/** The pieces with the shortest longest one that this order allows. */
export function cutOrder(
  start: PositionM,
  walk: readonly PositionM[],
  pace: WorkPace,
  ground: WalkGround = OPEN_GROUND,
): CutOrder {
  checkPace(pace);
  const n = walk.length;
  const distances = ground.distances([start, ...walk]);
  const cut = shortestLongest(distances, n, pace, pace.instruments * pace.days, 1);
  const sizes = cut.sizes.filter((size) => size > 0);
  const stops: PositionM[] = [start];
  let from = 0;
  const minutes = sizes.map((size) => {
    const piece = Array.from({ length: size }, (_, k) => from + k + 1);
    stops.push(...walk.slice(from, from + size), start);
    from += size;
    const lengthM = [...piece, 0].reduce(
      (sum, to, k) => sum + (distances[(piece[k - 1] ?? 0) * (n + 1) + to] as number),
      0,
    );
    return lengthM / pace.walkingMetresPerMinute + size * pace.minutesPerTest;
  });
  return { sizes, longestMinutes: Math.max(0, ...minutes), line: ground.line(stops) };
}

/** Rotations tried: all for an ordinary lot, fewer where there are many probes. */
const MOST_ROTATIONS = 200;

/** @param distances between the start and the `n` probes in the order of the walk, row-major */
function shortestLongest(
  distances: Float64Array,
  n: number,
  pace: WorkPace,
  parts: number,
  mostRotations = MOST_ROTATIONS,
): { rotation: number; sizes: number[] } {
  const minutes = (i: number, j: number) =>
    (distances[i * (n + 1) + j] as number) / pace.walkingMetresPerMinute;
  const home = Array.from({ length: n }, (_, i) => minutes(0, i + 1));
  const onward = Array.from({ length: n }, (_, i) => minutes(i + 1, ((i + 1) % n) + 1));
  /** Pieces filled up to the limit one after the other: fewest pieces possible. Null where they are too few. */
  const fill = (rotation: number, limit: number): number[] | null => {
    const sizes: number[] = [];
    for (let done = 0; done < n; ) {
      if (sizes.length === parts) return null;
      let size = 0;
      let out = 0;
      while (done + size < n) {
        const i = (rotation + done + size) % n;
        const before = (i + n - 1) % n;
        const next = size === 0 ? (home[i] as number) : out + (onward[before] as number);
        if (next + pace.minutesPerTest + (home[i] as number) > limit) break;
        out = next + pace.minutesPerTest;
        size++;
      }
      if (size === 0) return null;
      sizes.push(size);
      done += size;
    }
    while (sizes.length < parts) sizes.push(0);
    return sizes;
  };
  const everything = 2 * home.reduce((s, h) => s + h, 0) + n * pace.minutesPerTest + 1;
  let best = { rotation: 0, sizes: fill(0, everything) ?? [], limit: everything };
  const step = Math.max(1, Math.ceil(n / mostRotations));
  for (let rotation = 0; rotation < n; rotation += step) {
    if (fill(rotation, best.limit * (1 - 1e-6)) === null) continue;
    let low = 0;
    let high = best.limit;
    while (high - low > 1e-4 * high) {
      const middle = (low + high) / 2;
      if (fill(rotation, middle) === null) low = middle;
      else high = middle;
    }
    best = { rotation, sizes: fill(rotation, high) ?? [], limit: high };
  }
  return best;
}
