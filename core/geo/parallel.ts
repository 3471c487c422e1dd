/** Lines and outlines parallel to those that are there, at exact distances. Corners stay corners: nothing is rounded. */
import type { PositionM, RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { findRingCrossing, ringArea } from './planar.ts';

/** Sides that bend by less than this are one line: where they meet is not where both run through. */
const STRAIGHT = 1e-9;
/** A corner so sharp that the parallel lines meet farther off than this many distances is no corner to build on. */
const LONGEST_SPIKE = 20;

interface Line {
  readonly at: PositionM;
  /** Length 1. */
  readonly along: PositionM;
}

/**
 * Sides of a simple ring moved parallel by `distanceM`, inward where positive.
 * @param sides - from 0 at the first corner; those that follow each other make one line
 * @returns all sides: a ring of as many corners; some: a line
 * @throws AppError BAD_INPUT for a side there is not, sides that do not follow each other, and where nothing is left
 */
export function parallelSides(
  ring: RingM,
  sides: readonly number[] | 'all',
  distanceM: number,
): { readonly shape: 'polygon' | 'line'; readonly points: PositionM[] } {
  const n = ring.length;
  if (sides === 'all' || new Set(sides).size === n)
    return { shape: 'polygon', points: shrink(ring, distanceM) };
  const chosen = inARow(sides, n);
  const lines = chosen.map((side) => movedSide(ring, side, distanceM));
  const first = lines[0] as Line;
  const points: PositionM[] = [first.at];
  for (let i = 1; i < lines.length; i++) points.push(cross(lines[i - 1] as Line, lines[i] as Line));
  const end = corner(ring, (chosen.at(-1) ?? 0) + 1);
  points.push(footOn(lines.at(-1) as Line, end));
  return { shape: 'line', points };
}

/**
 * A rectangle inside a ring: one edge parallel to `side` at `distanceM` from it, moved along until
 * its nearest corner stands `otherDistanceM` off the line of `otherSide`.
 * @throws AppError BAD_INPUT where the two sides are parallel, or are no sides of the ring
 */
export function rectangleBySides(
  ring: RingM,
  input: {
    readonly side: number;
    readonly distanceM: number;
    readonly otherSide: number;
    readonly otherDistanceM: number;
    readonly widthM: number;
    readonly depthM: number;
  },
): PositionM[] {
  const base = movedSide(ring, input.side, input.distanceM);
  const other = movedSide(ring, input.otherSide, 0);
  const inward = inwardOf(ring, base.along);
  const otherInward = inwardOf(ring, other.along);
  // How fast the distance from the other side grows along this one.
  const gain = base.along[0] * otherInward[0] + base.along[1] * otherInward[1];
  if (Math.abs(gain) < STRAIGHT) {
    throw new AppError(
      'BAD_INPUT',
      `Sides ${input.side + 1} and ${input.otherSide + 1} are parallel: they do not fix a place along each other.`,
      { field: 'otherSide' },
    );
  }
  const away = gain > 0 ? 1 : -1;
  const corners = (shift: number): PositionM[] =>
    [
      [0, 0],
      [input.widthM * away, 0],
      [input.widthM * away, input.depthM],
      [0, input.depthM],
    ].map(
      ([u = 0, v = 0]): PositionM => [
        base.at[0] + base.along[0] * (shift + u) + inward[0] * v,
        base.at[1] + base.along[1] * (shift + u) + inward[1] * v,
      ],
    );
  const nearest = Math.min(
    ...corners(0).map(([x, y]) => (x - other.at[0]) * otherInward[0] + (y - other.at[1]) * otherInward[1]),
  );
  const placed = corners((input.otherDistanceM - nearest) / gain);
  return ringArea(placed) < 0 ? placed.reverse() : placed;
}

function shrink(ring: RingM, distanceM: number): PositionM[] {
  const kept = ring.filter((_, i) => {
    // Between two pieces of one line there is no corner to move.
    const [a, b, c] = [corner(ring, i - 1 + ring.length), corner(ring, i), corner(ring, i + 1)];
    const turn = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]);
    return (
      Math.abs(turn) > STRAIGHT * Math.hypot(b[0] - a[0], b[1] - a[1]) * Math.hypot(c[0] - b[0], c[1] - b[1])
    );
  });
  const lines = kept.map((_, i) => movedSide(kept, i, distanceM));
  const moved = lines.map((line, i) => cross(lines.at(i - 1) as Line, line));
  const isTurned = moved.some((point, i) => {
    const next = corner(moved, i + 1);
    const { along } = lines[i] as Line;
    return (next[0] - point[0]) * along[0] + (next[1] - point[1]) * along[1] <= 0;
  });
  const isSpike = moved.some((point, i) => {
    const [x, y] = kept[i] as PositionM;
    return Math.hypot(point[0] - x, point[1] - y) > LONGEST_SPIKE * Math.abs(distanceM);
  });
  if (isSpike) {
    throw new AppError('BAD_INPUT', 'A corner is too sharp for a parallel outline: take single sides.', {
      field: 'sides',
    });
  }
  if (isTurned || findRingCrossing(moved) !== null) {
    throw new AppError(
      'BAD_INPUT',
      `At ${distanceM} m the parallel outline meets itself: a side is shorter than the distance lets it be. Take less, or single sides.`,
      { field: 'distanceM' },
    );
  }
  return moved;
}

function movedSide(ring: RingM, side: number, distanceM: number): Line {
  if (side >= ring.length) {
    throw new AppError('BAD_INPUT', `There is no side ${side + 1}: the outline has ${ring.length}.`, {
      field: 'side',
    });
  }
  const [a, b] = [corner(ring, side), corner(ring, side + 1)];
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const along: PositionM = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
  const [nx, ny] = inwardOf(ring, along);
  return { at: [a[0] + nx * distanceM, a[1] + ny * distanceM], along };
}

/** To the left of a side where the ring runs anticlockwise. */
function inwardOf(ring: RingM, [x, y]: PositionM): PositionM {
  return ringArea(ring) < 0 ? [y, -x] : [-y, x];
}

function corner(ring: RingM, i: number): PositionM {
  return ring[i % ring.length] as PositionM;
}

function cross(a: Line, b: Line): PositionM {
  const turn = a.along[0] * b.along[1] - a.along[1] * b.along[0];
  if (Math.abs(turn) < STRAIGHT) return b.at;
  const [dx, dy] = [b.at[0] - a.at[0], b.at[1] - a.at[1]];
  const t = (dx * b.along[1] - dy * b.along[0]) / turn;
  return [a.at[0] + a.along[0] * t, a.at[1] + a.along[1] * t];
}

function footOn({ at, along }: Line, [x, y]: PositionM): PositionM {
  const t = (x - at[0]) * along[0] + (y - at[1]) * along[1];
  return [at[0] + along[0] * t, at[1] + along[1] * t];
}

function inARow(sides: readonly number[], n: number): number[] {
  const chosen = new Set(sides);
  const missing = [...chosen].find((side) => side >= n);
  if (missing !== undefined) {
    throw new AppError('BAD_INPUT', `There is no side ${missing + 1}: the outline has ${n}.`, {
      field: 'sides',
    });
  }
  const starts = [...chosen].filter((side) => !chosen.has((side - 1 + n) % n));
  const [start] = starts;
  if (start === undefined || starts.length > 1) {
    throw new AppError(
      'BAD_INPUT',
      `Sides ${[...chosen].map((side) => side + 1).join(', ')} do not follow each other: make a line for each.`,
      { field: 'sides' },
    );
  }
  return Array.from({ length: chosen.size }, (_, k) => (start + k) % n);
}
