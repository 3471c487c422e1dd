import { describe, expect, test } from 'vitest';
import { contourLines } from '../../../core/contour/contour.ts';
import { simplifyContours } from '../../../core/contour/simplify.ts';
import type { PositionM, RingM } from '../../../core/contract/model.ts';
import type { GridSpec } from '../../../core/contract/results.ts';
import { distanceToSegment } from '../../../core/geo/planar.ts';

const grid: GridSpec = { x0M: 0.25, y0M: 0.25, cellM: 0.5, columns: 80, rows: 60 };
const lot: RingM = [
  [0.5, 0.5],
  [39.5, 0.5],
  [39.5, 29.5],
  [0.5, 29.5],
];
/** A bumpy field whose isolines lie close to each other in places. */
const values = Float64Array.from({ length: grid.columns * grid.rows }, (_, i) => {
  const x = grid.x0M + grid.cellM * (i % grid.columns);
  const y = grid.y0M + grid.cellM * Math.floor(i / grid.columns);
  return 30 + 12 * Math.sin(x / 4) * Math.cos(y / 5) + 0.6 * x + 2 * Math.sin(x * 1.7 + y * 1.3);
});
const lines = contourLines(grid, values, [20, 24, 28, 32, 36, 40, 44, 48], [[lot]]);

function distanceToLine(p: PositionM, points: readonly PositionM[]): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i + 1 < points.length; i++) {
    least = Math.min(least, distanceToSegment(p, points[i] as PositionM, points[i + 1] as PositionM));
  }
  return least;
}

const whole = (points: readonly PositionM[], closed: boolean): readonly PositionM[] =>
  closed ? [...points, points[0] as PositionM] : points;

const side = (a: PositionM, b: PositionM, c: PositionM) =>
  (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

function crosses(a: readonly PositionM[], b: readonly PositionM[]): boolean {
  for (let i = 0; i + 1 < a.length; i++) {
    for (let j = 0; j + 1 < b.length; j++) {
      const [p, q, r, s] = [a[i], a[i + 1], b[j], b[j + 1]] as [PositionM, PositionM, PositionM, PositionM];
      if (side(p, q, r) * side(p, q, s) < 0 && side(r, s, p) * side(r, s, q) < 0) return true;
    }
  }
  return false;
}

describe.each([0.02, 0.1, 0.3])('within %f m', (toleranceM) => {
  const simple = simplifyContours(lines, toleranceM);

  test('every point stays within the tolerance of its line, both ways, and ends stay', () => {
    simple.forEach((line, i) => {
      const before = lines[i] as (typeof lines)[number];
      expect(line.level).toBe(before.level);
      const after = whole(line.points, line.closed);
      for (const p of before.points) expect(distanceToLine(p, after)).toBeLessThanOrEqual(toleranceM + 1e-9);
      const original = whole(before.points, before.closed);
      for (const p of line.points) expect(distanceToLine(p, original)).toBeLessThan(1e-9);
      if (!line.closed) {
        expect(line.points[0]).toEqual(before.points[0]);
        expect(line.points.at(-1)).toEqual(before.points.at(-1));
      }
    });
  });

  test('no two lines cross', () => {
    for (let i = 0; i < simple.length; i++) {
      for (let j = 0; j < i; j++) {
        const [a, b] = [simple[i], simple[j]] as [(typeof simple)[number], (typeof simple)[number]];
        expect(crosses(whole(a.points, a.closed), whole(b.points, b.closed))).toBe(false);
      }
    }
  });
});

test('fewer points, the more the tolerance; none lost at 0', () => {
  const count = (tolerance: number) =>
    simplifyContours(lines, tolerance).reduce((sum, line) => sum + line.points.length, 0);
  expect(count(0)).toBe(lines.reduce((sum, line) => sum + line.points.length, 0));
  expect(count(0.1)).toBeLessThan(0.7 * count(0));
  expect(count(0.3)).toBeLessThan(count(0.1));
  expect(() => simplifyContours(lines, -1)).toThrow(/no length/);
});
