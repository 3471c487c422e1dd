/** Parallel lines against exact arithmetic: squares, an L, a triangle's inscribed shape; distances measured back. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { PositionM } from '../../../core/contract/model.ts';
import { parallelSides, rectangleBySides } from '../../../core/geo/parallel.ts';
import { pointInPolygon, ringArea } from '../../../core/geo/planar.ts';

const L_SHAPE: PositionM[] = [
  [0, 0],
  [30, 0],
  [30, 10],
  [12, 10],
  [12, 25],
  [0, 25],
];

/** Distance of a point from the line through a side. */
function offSide(ring: readonly PositionM[], side: number, [x, y]: PositionM): number {
  const [a, b] = [ring[side] as PositionM, ring[(side + 1) % ring.length] as PositionM];
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  return ((b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])) / length;
}

test('inward and outward, whichever way the ring runs', () => {
  for (const ring of [L_SHAPE, L_SHAPE.toReversed()]) {
    const inner = parallelSides(ring, 'all', 2).points;
    expect(Math.abs(ringArea(inner))).toBeCloseTo(26 * 6 + 8 * 15, 9);
    const outer = parallelSides(ring, 'all', -1).points;
    expect(Math.abs(ringArea(outer))).toBeCloseTo(32 * 12 + 14 * 15, 9);
  }
});

test('single sides make lines, corners where they meet', () => {
  expect(parallelSides(L_SHAPE, [0], 3)).toEqual({
    shape: 'line',
    points: [
      [0, 3],
      [30, 3],
    ],
  });
  expect(parallelSides(L_SHAPE, [5, 0], 3).points).toEqual([
    [3, 25],
    [3, 3],
    [30, 3],
  ]);
  expect(() => parallelSides(L_SHAPE, [0, 2], 3)).toThrow(/do not follow/);
  expect(() => parallelSides(L_SHAPE, [9], 3)).toThrow(/no side 10/);
});

test('more than fits is refused, not turned inside out', () => {
  expect(() => parallelSides(L_SHAPE, 'all', 6)).toThrow(/meets itself/);
  expect(() =>
    parallelSides(
      [
        [0, 0],
        [10, 0],
        [10, 0.01],
      ],
      'all',
      -1,
    ),
  ).toThrow(/too sharp/);
});

test('a corner in the middle of a straight side is no corner of the parallel', () => {
  const ring: PositionM[] = [
    [0, 0],
    [5, 0],
    [10, 0],
    [10, 10],
    [0, 10],
  ];
  expect(parallelSides(ring, 'all', 1).points).toHaveLength(4);
});

test('every corner keeps its distance from both its sides', () => {
  const radius = fc.double({ min: 20, max: 40, noNaN: true });
  fc.assert(
    fc.property(
      fc.array(radius, { minLength: 3, maxLength: 9 }),
      fc.double({ min: 0.1, max: 1, noNaN: true }),
      (radii, d) => {
        const ring = radii.map((r, i): PositionM => {
          const angle = (2 * Math.PI * i) / radii.length;
          return [r * Math.cos(angle), r * Math.sin(angle)];
        });
        parallelSides(ring, 'all', d).points.forEach((point, i) => {
          expect(offSide(ring, i, point)).toBeCloseTo(d, 7);
          expect(offSide(ring, (i - 1 + ring.length) % ring.length, point)).toBeCloseTo(d, 7);
        });
      },
    ),
    { numRuns: 200 },
  );
});

test('a rectangle by its distances from two lot lines, square or not', () => {
  const skew: PositionM[] = [
    [0, 0],
    [40, 0],
    [44, 35],
    [-6, 30],
  ];
  for (const lot of [skew, skew.toReversed()]) {
    const south = lot === skew ? 0 : 2;
    for (const other of lot === skew ? [1, 3] : [1, 3]) {
      const ring = rectangleBySides(lot, {
        side: south,
        distanceM: 5,
        otherSide: other,
        otherDistanceM: 3,
        widthM: 12,
        depthM: 9,
      });
      const inside = lot === skew ? 1 : -1;
      const from = (side: number) => Math.min(...ring.map((corner) => inside * offSide(lot, side, corner)));
      expect(from(south)).toBeCloseTo(5, 9);
      expect(from(other)).toBeCloseTo(3, 9);
      expect(ringArea(ring)).toBeCloseTo(108, 9);
      expect(ring.every((corner) => pointInPolygon(corner, [lot]))).toBe(true);
    }
  }
  expect(() =>
    rectangleBySides(
      [
        [0, 0],
        [9, 0],
        [9, 9],
        [0, 9],
      ],
      {
        side: 0,
        distanceM: 1,
        otherSide: 2,
        otherDistanceM: 1,
        widthM: 2,
        depthM: 2,
      },
    ),
  ).toThrow(/parallel/);
});
