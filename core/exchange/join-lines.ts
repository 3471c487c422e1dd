import type { PositionNative } from '../geo/frame.ts';
import { openRing } from './geometry.ts';

export interface JoinedLine {
  /** Without a repeated last point where closed. */
  readonly points: PositionNative[];
  readonly closed: boolean;
  /** Which of the given lines are in it, in their order along it. */
  readonly members: readonly number[];
}

/** Ends nearer than this, in the unit of the drawing, are one: drawings snap exactly, their text rounds. */
const SAME_END = 1e-4;

/** Lines joined end to end. Where more than two meet, none is joined there: nobody can say which goes on. */
export function joinLines(lines: readonly (readonly PositionNative[])[]): JoinedLine[] {
  const ends = new Map<string, number[]>();
  const keyOf = ([x, y]: PositionNative) => `${Math.round(x / SAME_END)} ${Math.round(y / SAME_END)}`;
  const endOf = (line: number, last: boolean) => (last ? lines[line]?.at(-1) : lines[line]?.[0]) ?? [0, 0];
  lines.forEach((_, line) => {
    for (const last of [false, true]) {
      const key = keyOf(endOf(line, last));
      ends.set(key, [...(ends.get(key) ?? []), line]);
    }
  });
  const used = new Set<number>();
  const next = (at: PositionNative, from: number): number | null => {
    const meeting = ends.get(keyOf(at)) ?? [];
    const other = meeting.find((line) => line !== from);
    return meeting.length === 2 && other !== undefined && !used.has(other) ? other : null;
  };
  return lines.flatMap((line, start): JoinedLine[] => {
    if (used.has(start)) return [];
    used.add(start);
    const members = [start];
    let points = [...line];
    for (const forward of [true, false]) {
      let current = start;
      for (;;) {
        const at = (forward ? points.at(-1) : points[0]) ?? [0, 0];
        const other = next(at, current);
        if (other === null) break;
        used.add(other);
        current = other;
        const piece = [...(lines[other] ?? [])];
        const startsHere = keyOf(piece[0] ?? [0, 0]) === keyOf(at);
        if (startsHere !== forward) piece.reverse();
        points = forward ? [...points, ...piece.slice(1)] : [...piece.slice(0, -1), ...points];
        if (forward) members.push(other);
        else members.unshift(other);
      }
    }
    const closed = points.length > 3 && keyOf(points[0] ?? [0, 0]) === keyOf(points.at(-1) ?? [1, 1]);
    if (!closed) return [{ points, closed, members }];
    points[points.length - 1] = points[0] as PositionNative;
    return [{ points: openRing(points), closed, members }];
  });
}
