// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Shortest ways on foot round what cannot be walked over: a visibility graph over the corners that stand out. */
import type { KeepOut, PolygonM, PositionM, RingM } from '../contract/model.ts';
import { normaliseRing, ringArea } from '../geo/planar.ts';
import { unionAll } from '../geo/robust-overlay.ts';
import { type GroundTest, prepareGround } from './ground-test.ts';

/** Walked past at this distance, so that a way along a wall does not count as one through it. */
const CLEAR_M = 0.001;
/** Half the width given to a line that is walked round, such as a fence (own choice). */
const HALF_LINE_M = 0.05;

/** Whether walks go round it: what was said, else an area is walked round and a line, such as a service, over. */
export function isWalkedRound(keepOut: KeepOut): boolean {
  return keepOut.blocksWalk ?? keepOut.shape === 'polygon';
}

/** What walks go round. The strip of a keep-out is for probes: it is walked over. */
export function walkBarriers(keepOuts: readonly KeepOut[]): PolygonM[] {
  return unionAll(
    keepOuts.filter(isWalkedRound).flatMap(({ shape, points }): PolygonM[] => {
      if (shape === 'polygon') return [[points]];
      return points.slice(1).flatMap((to, i) => lineStrip(points[i]!, to));
    }),
  );
}

function lineStrip(from: PositionM, to: PositionM): PolygonM[] {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (length === 0) return [];
  const [u, v] = [((to[0] - from[0]) * HALF_LINE_M) / length, ((to[1] - from[1]) * HALF_LINE_M) / length];
  return [
    [
      [
        [from[0] - u + v, from[1] - v - u],
        [to[0] + u + v, to[1] + v - u],
        [to[0] + u - v, to[1] + v + u],
        [from[0] - u - v, from[1] - v + u],
      ],
    ],
  ];
}

export interface WalkGround {
  /** Full symmetric matrix in metres, row-major. */
  distances(places: readonly PositionM[]): Float64Array;
  /** The walk from place to place with the corners it turns at in between. */
  line(stops: readonly PositionM[]): WalkLine;
}

export interface WalkLine {
  readonly points: readonly PositionM[];
  readonly lengthM: number;
  /** Legs that have no way round, taken straight. */
  readonly forcedLegs: number;
}

export const OPEN_GROUND: WalkGround = walkGround([]);

/**
 * A place inside a barrier is left by the nearest point of its outline; between two in the same one the leg is straight.
 * Where there is no way round at all, as out of a closed yard, the leg is straight.
 * @param barriers must not overlap each other
 */
export function walkGround(barriers: readonly PolygonM[]): WalkGround {
  const solids = barriers.map((polygon) => prepareGround([polygon.map(normaliseRing)]));
  const corners = barriers
    .flatMap((polygon) => polygon.flatMap(turningPlaces))
    .filter((p) => !isIn(solids, p));
  let between: Float64Array | null = null;
  const graph = (): Float64Array => {
    if (between !== null) return between;
    const n = corners.length;
    between = new Float64Array(n * n).fill(Infinity);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++) {
        if (!isOpen(solids, corners[i]!, corners[j]!)) continue;
        const d = far(corners[i]!, corners[j]!);
        between[i * n + j] = d;
        between[j * n + i] = d;
      }
    }
    return between;
  };
  /** Metres from the place to each corner and the corner before it on the way; -1 where it is reached straight. */
  const reach = (from: PositionM) => shortestFrom(straightTo(from), graph());
  const straightTo = (from: PositionM) =>
    Float64Array.from(corners, (c) => (isOpen(solids, from, c) ? far(from, c) : Infinity));

  return {
    distances(places) {
      const n = places.length;
      const out = new Float64Array(n * n);
      const exits = places.map((place) => leave(solids, place));
      const toCorners: Float64Array[] = [];
      const visible = (i: number) => (toCorners[i] ??= straightTo(exits[i]!.atM));
      for (let i = 0; i < n; i++) {
        let reached: Float64Array | null = null;
        for (let j = 0; j < i; j++) {
          const [from, to] = [exits[i]!, exits[j]!];
          let d = far(places[i]!, places[j]!);
          if (!isStraight(from, to)) {
            let open = far(from.atM, to.atM);
            if (!isOpen(solids, from.atM, to.atM)) {
              reached ??= shortestFrom(visible(i), graph()).lengths;
              open = leastSum(reached, visible(j));
            }
            if (open < Infinity) d = open + from.lengthM + to.lengthM;
          }
          out[i * n + j] = d;
          out[j * n + i] = d;
        }
      }
      return out;
    },
    line(stops) {
      const points: PositionM[] = stops.slice(0, 1);
      let forcedLegs = 0;
      for (let k = 1; k < stops.length; k++) {
        const way = wayBetween(stops[k - 1]!, stops[k]!);
        if (way === null) forcedLegs++;
        points.push(...(way ?? []), stops[k]!);
      }
      const lengthM = points.slice(1).reduce((sum, to, i) => sum + far(points[i]!, to), 0);
      return { points, lengthM, forcedLegs };
    },
  };

  function wayBetween(a: PositionM, b: PositionM): PositionM[] | null {
    const [from, to] = [leave(solids, a), leave(solids, b)];
    if (isStraight(from, to)) return [];
    const outOf = from.lengthM > 0 ? [from.atM] : [];
    const into = to.lengthM > 0 ? [to.atM] : [];
    if (isOpen(solids, from.atM, to.atM)) return [...outOf, ...into];
    const { lengths, before } = reach(from.atM);
    const last = straightTo(to.atM);
    let best = -1;
    let least = Infinity;
    lengths.forEach((length, i) => {
      if (length + last[i]! >= least) return;
      least = length + last[i]!;
      best = i;
    });
    if (best < 0) return null;
    const turns: PositionM[] = [];
    for (let at = best; at >= 0; at = before[at]!) turns.unshift(corners[at]!);
    return [...outOf, ...turns, ...into];
  }
}

function far(a: PositionM, b: PositionM): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

function leastSum(a: Float64Array, b: Float64Array): number {
  let least = Infinity;
  for (let i = 0; i < a.length; i++) least = Math.min(least, a[i]! + b[i]!);
  return least;
}

/** Just off each corner that stands out into the open. */
function turningPlaces(ring: RingM, index: number): PositionM[] {
  // the ground that blocks lies to the left of outer rings so turned, and of holes turned the other way
  const anticlockwise = ringArea(ring) > 0;
  const corners = anticlockwise === (index === 0) ? ring : [...ring].reverse();
  return corners.flatMap((at, i): PositionM[] => {
    const before = corners[(i + corners.length - 1) % corners.length]!;
    const after = corners[(i + 1) % corners.length]!;
    const [ux, uy] = unit(before, at);
    const [vx, vy] = unit(at, after);
    if (ux * vy - uy * vx <= 0) return [];
    // sum of the two outward normals: the way off the corner; at most four times as far at a sharp one
    const [nx, ny] = [uy + vy, -ux - vx];
    const square = nx * nx + ny * ny;
    const size = CLEAR_M * Math.min(2 / square, 4 / Math.sqrt(square));
    return [[at[0] + nx * size, at[1] + ny * size]];
  });
}

function unit(from: PositionM, to: PositionM): PositionM {
  const length = far(from, to) || 1;
  return [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
}

function isIn(solids: readonly GroundTest[], [x, y]: PositionM): boolean {
  return solids.some((solid) => solid.contains(x, y));
}

interface Exit {
  readonly atM: PositionM;
  readonly lengthM: number;
  /** The barrier it stands well inside of. */
  readonly solid: GroundTest | null;
}

const isStraight = (a: Exit, b: Exit) => a.solid !== null && a.solid === b.solid;

/** Where a place meets the open: itself, or just outside the nearest point of the outline it stands in or on. */
function leave(solids: readonly GroundTest[], place: PositionM): Exit {
  const [x, y] = place;
  const solid = solids.find(
    (s) => isNear(s, x, y) && (s.contains(x, y) || s.distanceToEdge(x, y) < CLEAR_M / 2),
  );
  if (solid === undefined) return { atM: place, lengthM: 0, solid: null };
  const { edges } = solid;
  let best = Infinity;
  let atM = place;
  for (let e = 0; e < edges.length; e += 4) {
    const [ax, ay, dx, dy] = [
      edges[e]!,
      edges[e + 1]!,
      edges[e + 2]! - edges[e]!,
      edges[e + 3]! - edges[e + 1]!,
    ];
    const length = Math.hypot(dx, dy);
    if (length === 0) continue;
    const t = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / (length * length)));
    const [ex, ey] = [ax + t * dx, ay + t * dy];
    const d = Math.hypot(ex - x, ey - y);
    if (d >= best) continue;
    // the side of the edge that is open: one of the two normals leads out
    for (const side of [CLEAR_M, -CLEAR_M]) {
      const out: PositionM = [ex + (side * dy) / length, ey - (side * dx) / length];
      if (isIn(solids, out)) continue;
      best = d;
      atM = out;
    }
  }
  const isInside = solid.distanceToEdge(x, y) > CLEAR_M;
  return { atM, lengthM: far(place, atM), solid: isInside ? solid : null };
}

function isNear({ box }: GroundTest, x: number, y: number): boolean {
  return x > box.minX - 1 && x < box.maxX + 1 && y > box.minY - 1 && y < box.maxY + 1;
}

/** True where the straight leg between two places in the open meets no outline. */
function isOpen(solids: readonly GroundTest[], a: PositionM, b: PositionM): boolean {
  const [minX, maxX] = a[0] < b[0] ? [a[0], b[0]] : [b[0], a[0]];
  const [minY, maxY] = a[1] < b[1] ? [a[1], b[1]] : [b[1], a[1]];
  return solids.every(({ box, edges }) => {
    if (box.minX > maxX || box.maxX < minX || box.minY > maxY || box.maxY < minY) return true;
    for (let e = 0; e < edges.length; e += 4)
      if (crosses(a, b, edges[e]!, edges[e + 1]!, edges[e + 2]!, edges[e + 3]!)) return false;
    return true;
  });
}

function crosses(a: PositionM, b: PositionM, cx: number, cy: number, dx: number, dy: number): boolean {
  const side = (px: number, py: number) => (b[0] - a[0]) * (py - a[1]) - (b[1] - a[1]) * (px - a[0]);
  if (side(cx, cy) > 0 === side(dx, dy) > 0) return false;
  const other = ([px, py]: PositionM) => (dx - cx) * (py - cy) - (dy - cy) * (px - cx);
  return other(a) > 0 !== other(b) > 0;
}

/** Dijkstra over all corners from those reached straight. */
function shortestFrom(
  straight: Float64Array,
  between: Float64Array,
): { lengths: Float64Array; before: Int32Array } {
  const n = straight.length;
  const lengths = straight.slice();
  const before = new Int32Array(n).fill(-1);
  const done = new Uint8Array(n);
  for (let round = 0; round < n; round++) {
    let at = -1;
    for (let i = 0; i < n; i++) if (done[i] === 0 && (at < 0 || lengths[i]! < lengths[at]!)) at = i;
    if (lengths[at] === Infinity) break;
    done[at] = 1;
    for (let i = 0; i < n; i++) {
      const length = lengths[at]! + between[at * n + i]!;
      if (length >= lengths[i]!) continue;
      lengths[i] = length;
      before[i] = at;
    }
  }
  return { lengths, before };
}
