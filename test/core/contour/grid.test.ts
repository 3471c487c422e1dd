import fc from 'fast-check';
import { expect, test } from 'vitest';
import { cellCentre, gridForLot } from '../../../core/contour/grid.ts';
import type { PositionM, RingM } from '../../../core/contract/model.ts';
import { distanceToRing, pointInPolygon } from '../../../core/geo/planar.ts';

const lot: RingM = [
  [0, 0],
  [52, 3],
  [48, 41],
  [20, 20],
  [-2, 30],
];

test('inside and near agree with the plain definitions, cell by cell', () => {
  const { grid, inside, near } = gridForLot(lot, 1);
  for (let row = 0; row < grid.rows; row++) {
    for (let column = 0; column < grid.columns; column++) {
      const centre = cellCentre(grid, column, row);
      const at = row * grid.columns + column;
      const isInside = pointInPolygon(centre, [lot]);
      expect(inside[at]).toBe(isInside ? 1 : 0);
      expect(near[at]).toBe(isInside || distanceToRing(centre, lot) <= 1.5 ? 1 : 0);
    }
  }
});

test('every point of the lot lies between four near centres', () => {
  const { grid, near } = gridForLot(lot, 1.25);
  fc.assert(
    fc.property(
      fc.double({ min: -2, max: 52, noNaN: true }),
      fc.double({ min: 0, max: 41, noNaN: true }),
      (x, y) => {
        if (!pointInPolygon([x, y], [lot])) return;
        const column = Math.floor((x - grid.x0M) / grid.cellM);
        const row = Math.floor((y - grid.y0M) / grid.cellM);
        for (const [dc, dr] of [
          [0, 0],
          [1, 0],
          [0, 1],
          [1, 1],
        ] as const) {
          expect(near[(row + dr) * grid.columns + column + dc]).toBe(1);
        }
      },
    ),
    { numRuns: 500 },
  );
});

test('a chosen cell is round and puts 100 to 160 cells along the long side', () => {
  for (const side of [3, 18, 45, 60, 99, 130, 250, 1234, 5000]) {
    const ring: PositionM[] = [
      [0, 0],
      [side, 0],
      [side, side / 3],
      [0, side / 3],
    ];
    const { grid } = gridForLot(ring, null);
    expect(side / grid.cellM).toBeGreaterThanOrEqual(99.9);
    expect(side / grid.cellM).toBeLessThanOrEqual(160);
    expect(String(grid.cellM).replace(/[0.]/g, '').length).toBeLessThanOrEqual(3);
  }
});

test('too many cells: coarser when chosen, refused when asked for', () => {
  const square: RingM = [
    [0, 0],
    [100, 0],
    [100, 100],
    [0, 100],
  ];
  const { grid } = gridForLot(square, null, 4000);
  expect(grid.columns * grid.rows).toBeLessThanOrEqual(4000);
  expect(() => gridForLot(square, 0.1)).toThrow(/0\.1 m make 10\d\d x 10\d\d cells/);
  expect(() =>
    gridForLot(
      [
        [1, 1],
        [1, 1],
        [1, 1],
      ],
      null,
    ),
  ).toThrow(/no extent/);
});
