/** Plane geometry in project metres (decision 3). Rings are closed by meaning: the first point is not repeated. */
import BufferOp from 'jsts/org/locationtech/jts/operation/buffer/BufferOp.js';
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { AppError, type ErrorDetails } from '../errors.ts';
import { geometryPolygons, lineGeometry, polygonsGeometry, signedArea } from './jsts.ts';
import { overlayPolygons, unionAll } from './robust-overlay.ts';

export interface BoxM {
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
}

/** Two edges of a ring that meet where they should not; edge i runs from corner i to the next (0-based). */
export interface RingCrossing {
  readonly edgeA: number;
  readonly edgeB: number;
  readonly at: PositionM;
}

export interface ValidLot {
  /** Without repeated points, anticlockwise. */
  readonly ring: PositionM[];
  readonly areaM2: number;
  /** For people; the lot can be used all the same. */
  readonly warnings: readonly string[];
}

/** Closer than this two places are one: far below what any tape or receiver tells apart. */
const SAME_PLACE_M = 1e-6;
const SMALLEST_AREA_M2 = 10;
const LARGEST_AREA_M2 = 10e6;
const ON_EDGE_M = 1e-9;
const QUARTER_CIRCLE_STEPS = 16;

/** Square metres, positive where the ring runs anticlockwise. */
export function ringArea(ring: RingM): number {
  return signedArea(ring);
}

/** Square metres, holes taken off. */
export function polygonsArea(polygons: readonly PolygonM[]): number {
  let sum = 0;
  for (const [outer, ...holes] of polygons) {
    sum += Math.abs(signedArea(outer ?? []));
    for (const hole of holes) sum -= Math.abs(signedArea(hole));
  }
  return sum;
}

export function boundingBox(points: readonly PositionM[]): BoxM {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of points) {
    minX = Math.min(minX, x);
    minY = Math.min(minY, y);
    maxX = Math.max(maxX, x);
    maxY = Math.max(maxY, y);
  }
  return { minX, minY, maxX, maxY };
}

/** The ring without a repeated last point or repeated neighbours, anticlockwise. Starts at the same corner. */
export function normaliseRing(ring: RingM): PositionM[] {
  const out: PositionM[] = [];
  for (const point of ring) {
    const last = out.at(-1);
    if (last === undefined || distance(last, point) > SAME_PLACE_M) out.push(point);
  }
  while (out.length > 1 && distance(out[0] as PositionM, out.at(-1) as PositionM) <= SAME_PLACE_M) out.pop();
  if (signedArea(out) >= 0) return out;
  const [first, ...rest] = out;
  return first === undefined ? out : [first, ...rest.reverse()];
}

/** The first place where the ring meets itself other than at neighbouring corners, or null for a simple ring. */
export function findRingCrossing(ring: RingM): RingCrossing | null {
  const n = ring.length;
  const corner = (i: number) => ring[i % n] as PositionM;
  const order = Array.from({ length: n }, (_, i) => i).sort(
    (i, j) => Math.min(corner(i)[0], corner(i + 1)[0]) - Math.min(corner(j)[0], corner(j + 1)[0]),
  );
  let best: RingCrossing | null = null;
  for (let p = 0; p < n; p++) {
    const i = order[p] as number;
    const rightOfI = Math.max(corner(i)[0], corner(i + 1)[0]);
    for (let q = p + 1; q < n; q++) {
      const j = order[q] as number;
      if (Math.min(corner(j)[0], corner(j + 1)[0]) > rightOfI) break;
      const [edgeA, edgeB] = i < j ? [i, j] : [j, i];
      const at = edgesMeet(corner, n, edgeA, edgeB);
      if (at === null) continue;
      if (best === null || edgeA < best.edgeA || (edgeA === best.edgeA && edgeB < best.edgeB)) {
        best = { edgeA, edgeB, at };
      }
    }
  }
  return best;
}

/** Inside the outer ring and in no hole; a point on an edge counts as inside. */
export function pointInPolygon(point: PositionM, polygon: PolygonM): boolean {
  if (polygon.some((ring) => distanceToRing(point, ring) <= ON_EDGE_M)) return true;
  const [outer, ...holes] = polygon;
  if (outer === undefined || !oddCrossings(point, outer)) return false;
  return !holes.some((hole) => oddCrossings(point, hole));
}

export function pointInPolygons(point: PositionM, polygons: readonly PolygonM[]): boolean {
  return polygons.some((polygon) => pointInPolygon(point, polygon));
}

/** Metres to the nearest point of the ring's edge, inside or outside alike. */
export function distanceToRing(point: PositionM, ring: RingM): number {
  let best = Infinity;
  for (let i = 0; i < ring.length; i++) {
    const a = ring[i] as PositionM;
    const b = ring[(i + 1) % ring.length] as PositionM;
    best = Math.min(best, distanceToSegment(point, a, b));
  }
  return best;
}

/** Ground in both. Polygons of one list must not overlap each other (`unionPolygons` first where they may). */
export function intersectPolygons(a: readonly PolygonM[], b: readonly PolygonM[]): PolygonM[] {
  if (a.length === 0 || b.length === 0) return [];
  return overlayPolygons(a, b, 'intersection');
}

/** Ground of `a` that is not in `b`. Same condition as `intersectPolygons`. */
export function subtractPolygons(a: readonly PolygonM[], b: readonly PolygonM[]): PolygonM[] {
  if (a.length === 0 || b.length === 0) return [...a];
  return overlayPolygons(a, b, 'difference');
}

/** Ground in any of them; the polygons may overlap. */
export function unionPolygons(polygons: readonly PolygonM[]): PolygonM[] {
  if (polygons.length === 0) return [];
  return unionAll(polygons);
}

/** Grown by a positive distance (round corners, 16 chords a quarter circle), shrunk by a negative one; maybe nothing left. */
export function bufferPolygons(polygons: readonly PolygonM[], distanceM: number): PolygonM[] {
  if (polygons.length === 0) return [];
  return geometryPolygons(BufferOp.bufferOp(polygonsGeometry(polygons), distanceM, QUARTER_CIRCLE_STEPS));
}

/** Ground within the distance of a line, with round ends. */
export function bufferLine(points: readonly PositionM[], distanceM: number): PolygonM[] {
  if (points.length < 2) return [];
  return geometryPolygons(BufferOp.bufferOp(lineGeometry(points), distanceM, QUARTER_CIRCLE_STEPS));
}

/**
 * The outline of a lot, made regular, or the reason why it is none. Corners are counted from 1 in messages, as entered.
 * @param where - file and field the outline came from, for the error's details
 * @param noun - what messages call it, such as 'footprint'
 * @param placeText - how messages name a place; project metres where absent
 * @throws AppError BAD_INPUT for fewer than three corners, a crossing, no area, or values that are no numbers
 */
export function validateLot(
  ring: RingM,
  where: ErrorDetails = {},
  noun = 'lot',
  placeText: (at: PositionM) => string = ([x, y]) => `${x.toFixed(2)}, ${y.toFixed(2)} m`,
): ValidLot {
  ring.forEach(([x, y], i) => {
    if (!Number.isFinite(x) || !Number.isFinite(y)) {
      throw new AppError('BAD_INPUT', `Corner ${i + 1} of the ${noun} is not a place: ${x}, ${y}.`, {
        ...where,
        corner: i + 1,
      });
    }
  });
  const numbers: number[] = [];
  const kept: PositionM[] = [];
  ring.forEach((point, i) => {
    const repeats = [kept.at(-1), i === ring.length - 1 ? kept[0] : undefined].some(
      (other) => other !== undefined && Math.hypot(other[0] - point[0], other[1] - point[1]) <= SAME_PLACE_M,
    );
    if (repeats) return;
    kept.push(point);
    numbers.push(i + 1);
  });
  if (kept.length < 3) {
    throw new AppError(
      'BAD_INPUT',
      `The ${noun} has ${kept.length} different corners; it needs at least 3.`,
      {
        ...where,
        corners: kept.length,
      },
    );
  }
  refuseCrossing(kept, numbers, where, noun, placeText);
  const normal = normaliseRing(kept);
  const areaM2 = ringArea(normal);
  if (areaM2 < 1e-6) {
    throw new AppError(
      'BAD_INPUT',
      `All ${kept.length} corners of the ${noun} lie on one line: it has no area.`,
      where,
    );
  }
  return { ring: normal, areaM2, warnings: oddAreaWarnings(areaM2, noun) };
}

/** A sentence where an outline is so small or so large that its numbers were hardly meant in their unit. */
export function oddAreaWarnings(areaM2: number, noun: string): string[] {
  const isSmall = areaM2 < SMALLEST_AREA_M2;
  if (!isSmall && areaM2 <= LARGEST_AREA_M2) return [];
  const size = isSmall ? `only ${areaM2.toPrecision(2)} m²` : `${(areaM2 / 1e6).toPrecision(3)} km²`;
  return [`The ${noun} covers ${size}: are the coordinates in the unit they are said to be in?`];
}

function refuseCrossing(
  ring: RingM,
  numbers: readonly number[],
  where: ErrorDetails,
  noun: string,
  placeText: (at: PositionM) => string,
): void {
  const crossing = findRingCrossing(ring);
  if (crossing === null) return;
  const edge = (i: number) => `${numbers[i]} to ${numbers[(i + 1) % ring.length]}`;
  throw new AppError(
    'BAD_INPUT',
    `The outline of the ${noun} crosses itself: the side from corner ${edge(crossing.edgeA)} meets the side from corner ${edge(crossing.edgeB)} at ${placeText(crossing.at)}. Check the order of the corners.`,
    { ...where, sides: [edge(crossing.edgeA), edge(crossing.edgeB)], at: crossing.at },
  );
}

function distance(a: PositionM, b: PositionM): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

/** Metres from a point to the straight piece between two others. */
export function distanceToSegment(p: PositionM, a: PositionM, b: PositionM): number {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const lengthSquared = dx * dx + dy * dy;
  const t = lengthSquared === 0 ? 0 : ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / lengthSquared;
  const s = Math.min(1, Math.max(0, t));
  return Math.hypot(p[0] - a[0] - s * dx, p[1] - a[1] - s * dy);
}

function oddCrossings([px, py]: PositionM, ring: RingM): boolean {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [ax, ay] = ring[i] as PositionM;
    const [bx, by] = ring[j] as PositionM;
    if (ay > py !== by > py && px < ((bx - ax) * (py - ay)) / (by - ay) + ax) inside = !inside;
  }
  return inside;
}

function edgesMeet(
  corner: (i: number) => PositionM,
  n: number,
  edgeA: number,
  edgeB: number,
): PositionM | null {
  const [a, b] = [corner(edgeA), corner(edgeA + 1)];
  const [c, d] = [corner(edgeB), corner(edgeB + 1)];
  if (edgeB === edgeA + 1) return n > 2 && foldsBack(a, b, d) ? b : null;
  if (edgeA === 0 && edgeB === n - 1) return foldsBack(c, a, b) ? a : null;
  return segmentsMeet(a, b, c, d);
}

/** Whether the way a, b, c turns straight back on itself at b. */
function foldsBack(a: PositionM, b: PositionM, c: PositionM): boolean {
  const [ux, uy] = [a[0] - b[0], a[1] - b[1]];
  const [vx, vy] = [c[0] - b[0], c[1] - b[1]];
  const lengths = Math.hypot(ux, uy) * Math.hypot(vx, vy);
  return lengths > 0 && Math.abs(ux * vy - uy * vx) <= 1e-12 * lengths && ux * vx + uy * vy > 0;
}

function segmentsMeet(a: PositionM, b: PositionM, c: PositionM, d: PositionM): PositionM | null {
  for (const [p, q, r] of [
    [a, c, d],
    [b, c, d],
    [c, a, b],
    [d, a, b],
  ] as const) {
    if (distanceToSegment(p, q, r) <= ON_EDGE_M) return p;
  }
  const side = (p: PositionM, q: PositionM, r: PositionM) =>
    (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
  const [sc, sd, sa, sb] = [side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)];
  if (sc * sd >= 0 || sa * sb >= 0) return null;
  const t = sa / (sa - sb);
  return [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
}
