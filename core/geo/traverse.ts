/**
 * A traverse: an outline given by directions and lengths from a starting point. Plane surveying, in metres.
 *
 * For a course of length L in direction A (clockwise from north): latitude L cos A (north), departure L sin A (east).
 * The sums of both, over courses that come back to the start, are the misclosure: where the last course ends, less the
 * start. Spread over the courses by
 * - the compass (Bowditch) rule: in proportion to the lengths, -sum(latitude) L / sum(L), departures alike;
 * - the transit rule: in proportion to the latitudes, -sum(latitude) |latitude| / sum |latitude|, and to the departures.
 *
 * A curve is its chord for closing and adjusting, and keeps its central angle. With radius R and central angle D:
 * arc R D, chord 2 R sin(D / 2), its segment's area R^2 (D - sin D) / 2.
 * Source: Mahun, "Traverse Computations" and "Horizontal Curves" (open access), equations E-1 to E-6 and C.
 */
import type { PositionM } from '../contract/model.ts';
import { signedArea } from './jsts.ts';

export type ClosureRule = 'compass' | 'transit' | 'none';

export interface Curve {
  readonly radiusM: number;
  /** Central angle, above 0 and under 360. */
  readonly deltaDeg: number;
  /** To which side the way bends, seen along it. */
  readonly turn: 'left' | 'right';
}

export interface Course {
  /** Clockwise from north; of a curve's chord. */
  readonly azimuthDeg: number;
  /** Of a curve its chord. */
  readonly lengthM: number;
  readonly curve: Curve | null;
}

export interface TraverseOptions {
  readonly rule: ClosureRule;
  /** Whether the last course comes back to the start; else the courses are all sides but the last. */
  readonly returns: boolean;
}

export interface Misclosure {
  /** End of the last course less the start. */
  readonly eastM: number;
  readonly northM: number;
  readonly distanceM: number;
  /** From the start to where the courses end, clockwise from north; null where they close to a micrometre. */
  readonly azimuthDeg: number | null;
  /** n of 1:n, perimeter over misclosure; null where they close to a micrometre. */
  readonly ratio: number | null;
}

export interface AdjustedCourse {
  readonly azimuthDeg: number;
  readonly lengthM: number;
  readonly latitudeM: number;
  readonly departureM: number;
  /** What the rule added to each. */
  readonly latitudeCorrectionM: number;
  readonly departureCorrectionM: number;
}

export interface Traverse {
  /** Outline from the start on; the last corner does not repeat it. Curves are chords that miss them by 5 mm at most. */
  readonly ring: readonly PositionM[];
  /** Ends of the courses alone, the start first: one corner a course (one more where the last side is not given). */
  readonly corners: readonly PositionM[];
  readonly courses: readonly AdjustedCourse[];
  /** Along the courses as given, curves by their arcs. */
  readonly perimeterM: number;
  /** Curves by their true segments. */
  readonly areaM2: number;
  /** As given, before any rule; null where the last side is not given. */
  readonly misclosure: Misclosure | null;
  /** In words: one slip in one course that would close it. */
  readonly likelySlips: readonly string[];
}

const CLOSED_M = 1e-6;
const LARGEST_SAGITTA_M = 0.005;
const DEG = Math.PI / 180;
/** A slip is named only where without it the courses close this well, and this much better than with it (own). */
const CLOSED_RATIO = 1000;
const BETTER_BY = 10;

/**
 * @param start - where the first course begins
 * @param courses - at least 2, at least 3 where the last comes back and none is a curve; lengths above 0
 */
export function computeTraverse(
  start: PositionM,
  courses: readonly Course[],
  { rule, returns }: TraverseOptions,
): Traverse {
  const raw = courses.map(components);
  const misclosure = returns ? misclosureOf(courses, raw) : null;
  const corrections = raw.map((_, i) => correction(courses, raw, i, returns ? rule : 'none'));
  const adjusted = raw.map(({ latitudeM, departureM }, i): AdjustedCourse => {
    const [latitudeCorrectionM, departureCorrectionM] = corrections[i] as readonly [number, number];
    const [north, east] = [latitudeM + latitudeCorrectionM, departureM + departureCorrectionM];
    return {
      azimuthDeg: azimuthOf(east, north),
      lengthM: Math.hypot(east, north),
      latitudeM: north,
      departureM: east,
      latitudeCorrectionM,
      departureCorrectionM,
    };
  });
  const ends: PositionM[] = [start];
  for (const { departureM, latitudeM } of adjusted) {
    const [x, y] = ends.at(-1) as PositionM;
    ends.push([x + departureM, y + latitudeM]);
  }
  // Not adjusted, the last side still runs back to the start: it takes up what is left over.
  if (returns) ends[ends.length - 1] = start;
  const ring = ends.slice(0, -1).flatMap((from, i) => {
    const curve = courses[i]?.curve ?? null;
    return curve === null ? [from] : [from, ...pointsAlong(from, ends[i + 1] as PositionM, curve)];
  });
  if (!returns) ring.push(ends.at(-1) as PositionM);
  const corners = returns ? ends.slice(0, -1) : ends;
  return {
    ring,
    corners,
    courses: adjusted,
    perimeterM: courses.reduce((sum, course) => sum + alongM(course), 0),
    areaM2: Math.abs(signedArea(corners) + segmentsArea(courses, ends)),
    misclosure,
    likelySlips: misclosure === null ? [] : findSlips(courses, misclosure),
  };
}

/** Length along the way: of a curve its arc. */
export function alongM({ lengthM, curve }: Course): number {
  return curve === null ? lengthM : curve.radiusM * curve.deltaDeg * DEG;
}

/** Direction in which a course ends: its own, or the tangent at the end of a curve. Degrees clockwise from north. */
export function endDirectionDeg({ azimuthDeg, curve }: Course): number {
  if (curve === null) return azimuthDeg;
  return (azimuthDeg + (curve.turn === 'right' ? curve.deltaDeg : -curve.deltaDeg) / 2 + 360) % 360;
}

/** Direction of a curve's chord where the curve begins along `tangentDeg`. */
export function chordDirectionDeg(tangentDeg: number, { deltaDeg, turn }: Curve): number {
  return (tangentDeg + (turn === 'right' ? deltaDeg : -deltaDeg) / 2 + 360) % 360;
}

function components({ azimuthDeg, lengthM }: Course): { latitudeM: number; departureM: number } {
  return {
    latitudeM: lengthM * Math.cos(azimuthDeg * DEG),
    departureM: lengthM * Math.sin(azimuthDeg * DEG),
  };
}

function misclosureOf(courses: readonly Course[], raw: readonly ReturnType<typeof components>[]): Misclosure {
  const eastM = raw.reduce((sum, { departureM }) => sum + departureM, 0);
  const northM = raw.reduce((sum, { latitudeM }) => sum + latitudeM, 0);
  const distanceM = Math.hypot(eastM, northM);
  const closes = distanceM <= CLOSED_M;
  const perimeterM = courses.reduce((sum, course) => sum + alongM(course), 0);
  return {
    eastM,
    northM,
    distanceM,
    azimuthDeg: closes ? null : azimuthOf(eastM, northM),
    ratio: closes ? null : perimeterM / distanceM,
  };
}

function correction(
  courses: readonly Course[],
  raw: readonly ReturnType<typeof components>[],
  index: number,
  rule: ClosureRule,
): readonly [latitudeM: number, departureM: number] {
  if (rule === 'none') return [0, 0];
  const share = (weight: (i: number) => number, error: (i: number) => number): number => {
    const weights = raw.reduce((sum, _, i) => sum + weight(i), 0);
    const sum = raw.reduce((total, _, i) => total + error(i), 0);
    // Where no course runs this way the rule has nothing to share out by.
    return weights === 0 ? 0 : (-sum * weight(index)) / weights;
  };
  const latitude = (i: number) => raw[i]?.latitudeM ?? 0;
  const departure = (i: number) => raw[i]?.departureM ?? 0;
  const length = (i: number) => courses[i]?.lengthM ?? 0;
  return rule === 'compass'
    ? [share(length, latitude), share(length, departure)]
    : [share((i) => Math.abs(latitude(i)), latitude), share((i) => Math.abs(departure(i)), departure)];
}

/** Points between the ends of an arc of the curve's central angle from one to the other. */
function pointsAlong(from: PositionM, to: PositionM, { deltaDeg, turn }: Curve): PositionM[] {
  const delta = deltaDeg * DEG;
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const chord = Math.hypot(dx, dy);
  if (chord === 0) return [];
  const radius = chord / (2 * Math.sin(delta / 2));
  // The centre lies to the side of the bend, beyond the chord where the arc is more than half a circle.
  const side = turn === 'left' ? 1 : -1;
  const off = (radius * Math.cos(delta / 2) * side) / chord;
  const centre: PositionM = [from[0] + dx / 2 - dy * off, from[1] + dy / 2 + dx * off];
  const stepRad = 2 * Math.acos(Math.max(0, 1 - LARGEST_SAGITTA_M / radius));
  const parts = Math.max(2, Math.ceil(delta / Math.min(stepRad, Math.PI / 8)));
  const first = Math.atan2(from[1] - centre[1], from[0] - centre[0]);
  return Array.from({ length: parts - 1 }, (_, k): PositionM => {
    const angle = first + (side * delta * (k + 1)) / parts;
    return [centre[0] + radius * Math.cos(angle), centre[1] + radius * Math.sin(angle)];
  });
}

/** What curves add to the area between the chords, positive where the way runs anticlockwise. */
function segmentsArea(courses: readonly Course[], ends: readonly PositionM[]): number {
  return courses.reduce((sum, { curve }, i) => {
    if (curve === null) return sum;
    const delta = curve.deltaDeg * DEG;
    const [a, b] = [ends[i] as PositionM, ends[i + 1] as PositionM];
    const radius = Math.hypot(b[0] - a[0], b[1] - a[1]) / (2 * Math.sin(delta / 2));
    // A bend to the left bulges to the right of the chord: outward for a way that runs anticlockwise.
    return sum + ((radius * radius) / 2) * (delta - Math.sin(delta)) * (curve.turn === 'left' ? 1 : -1);
  }, 0);
}

/** Slips common in copying a deed, tried one course at a time. */
function findSlips(courses: readonly Course[], now: Misclosure): string[] {
  if (now.ratio === null || now.ratio >= CLOSED_RATIO) return [];
  const tries: readonly (readonly [string, (course: Course) => Course])[] = [
    ['runs the other way', (c) => ({ ...c, azimuthDeg: (c.azimuthDeg + 180) % 360 })],
    ['has east and west exchanged', (c) => ({ ...c, azimuthDeg: (360 - c.azimuthDeg) % 360 })],
    ['has north and south exchanged', (c) => ({ ...c, azimuthDeg: (540 - c.azimuthDeg) % 360 })],
    ['is in feet while the others are in metres', (c) => ({ ...c, lengthM: c.lengthM * 0.3048 })],
    ['is in metres while the others are in feet', (c) => ({ ...c, lengthM: c.lengthM / 0.3048 })],
  ];
  return courses.flatMap((_, i) =>
    tries.flatMap(([what, change]) => {
      const changed = courses.map((course, k) => (k === i ? change(course) : course));
      const ratio = misclosureOf(changed, changed.map(components)).ratio ?? Infinity;
      const closes = ratio >= CLOSED_RATIO && ratio >= BETTER_BY * (now.ratio ?? 0);
      return closes ? [`It closes where course ${i + 1} ${what}.`] : [];
    }),
  );
}

function azimuthOf(east: number, north: number): number {
  return (Math.atan2(east, north) / DEG + 360) % 360;
}
