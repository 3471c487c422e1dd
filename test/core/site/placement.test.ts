import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PolygonM, PositionM, RingM } from '../../../core/contract/model.ts';
import type { GridSpec } from '../../../core/contract/results.ts';
import { intersectPolygons, polygonsArea, ringArea, subtractPolygons } from '../../../core/geo/planar.ts';
import { coverCells } from '../../../core/site/cell-cover.ts';
import { prepareContainment } from '../../../core/site/containment.ts';
import { AS_DRAWN, type Pose, placeRing, ringCentroid } from '../../../core/site/placement.ts';
import { liesWithin } from './lies-within.ts';

const rectangle = (x: number, y: number, w: number, h: number): RingM => [
  [x, y],
  [x + w, y],
  [x + w, y + h],
  [x, y + h],
];
/** An L of 10 by 8 with a 6 by 5 piece missing at the north-east. */
const ell: RingM = [
  [0, 0],
  [10, 0],
  [10, 3],
  [4, 3],
  [4, 8],
  [0, 8],
];
const poses = fc.record({
  dxM: fc.double({ min: -30, max: 30, noNaN: true }),
  dyM: fc.double({ min: -30, max: 30, noNaN: true }),
  turnDeg: fc.double({ min: -360, max: 360, noNaN: true }),
  mirrored: fc.boolean(),
});

describe('placing', () => {
  test('centroid of an L by hand: two rectangles', () => {
    const [x, y] = ringCentroid(ell);
    expect(x).toBeCloseTo((30 * 5 + 20 * 2) / 50, 12);
    expect(y).toBeCloseTo((30 * 1.5 + 20 * 5.5) / 50, 12);
  });

  test('a quarter turn keeps round numbers; mirrored swaps left and right', () => {
    const house = rectangle(0, 0, 10, 4);
    expect(placeRing(house, { ...AS_DRAWN, turnDeg: 90 })[0]).toEqual([7, -3]);
    const mirrored = placeRing(ell, { ...AS_DRAWN, mirrored: true });
    const [cx] = ringCentroid(ell);
    expect(mirrored[0]?.[0]).toBeCloseTo(2 * cx, 12);
    expect(ringArea(mirrored)).toBeCloseTo(50, 9);
  });

  test('area and lengths stay, the centroid moves by the pose', () => {
    fc.assert(
      fc.property(poses, (pose: Pose) => {
        const placed = placeRing(ell, pose);
        expect(ringArea(placed)).toBeCloseTo(50, 8);
        const [ax, ay] = ringCentroid(ell);
        const [bx, by] = ringCentroid(placed);
        expect(bx - ax).toBeCloseTo(pose.dxM, 8);
        expect(by - ay).toBeCloseTo(pose.dyM, 8);
      }),
      { seed: 4 },
    );
  });
});

describe('containment', () => {
  const lot: PolygonM = [rectangle(0, 0, 40, 30)];
  const ground = subtractPolygons([lot], [[rectangle(18, -1, 2, 20)], [rectangle(30, 20, 3, 3)]]);
  const quick = prepareContainment(ground);

  test('quick and exact test agree wherever the building is put', () => {
    let inside = 0;
    fc.assert(
      fc.property(poses, (pose) => {
        const placed = placeRing(ell, pose);
        const outsideM2 = polygonsArea(subtractPolygons([[placed]], ground));
        if (outsideM2 > 0 && outsideM2 < 1e-4) return;
        const exact = liesWithin(placed, ground);
        if (exact) inside++;
        expect(quick.holds(placed)).toBe(exact);
      }),
      { numRuns: 3000, seed: 8 },
    );
    expect(inside).toBeGreaterThan(100);
  });

  test.each<[string, RingM, boolean]>([
    ['flush with two edges', rectangle(0, 0, 18, 10), true],
    ['exactly the gap over the trench', rectangle(10, 19, 20, 11), true],
    ['a millimetre into the trench', rectangle(0.001, 0, 18, 10), false],
    ['over the small hole entirely', rectangle(25, 15, 12, 12), false],
    ['exactly around the trench end', rectangle(10, 18.5, 20, 11), false],
    ['touching the small hole', rectangle(33, 15, 7, 15), true],
    ['exactly on the small hole', rectangle(30, 20, 3, 3), false],
    [
      'corner to corner across the small hole',
      [
        [30, 23],
        [33, 20],
        [35, 22],
        [32, 25],
      ],
      false,
    ],
    ['off the lot', rectangle(100, 100, 5, 5), false],
    ['bridging the trench below its end', rectangle(10, 2, 20, 10), false],
  ])('%s', (_, ring, expected) => {
    expect(quick.holds(ring)).toBe(expected);
    expect(liesWithin(ring, ground)).toBe(expected);
  });
});

describe('cells under a footprint', () => {
  const grid: GridSpec = { x0M: 0.25, y0M: 0.25, cellM: 0.5, columns: 40, rows: 30 };

  test('by hand: a rectangle a quarter cell off', () => {
    const cover = coverCells(rectangle(1.125, 1, 1, 0.5), grid);
    expect([...cover.cells]).toEqual([82, 83, 84]);
    expect([...cover.shares]).toEqual([0.75, 1, 0.25]);
    expect(cover.areaM2).toBeCloseTo(0.5, 12);
    expect(cover.offGridShare).toBeCloseTo(0, 12);
  });

  test('each share is that of an overlay in the plane, on and off the grid', () => {
    fc.assert(
      fc.property(poses, (pose) => {
        const placed = placeRing(ell, pose);
        const cover = coverCells(placed, grid);
        const onGrid = polygonsArea(intersectPolygons([[placed]], [[rectangle(0, 0, 20, 15)]]));
        const sum = cover.shares.reduce((s, v) => s + v, 0) * 0.25;
        expect(sum).toBeCloseTo(onGrid, 6);
        expect(cover.offGridShare).toBeCloseTo(1 - onGrid / 50, 6);
        for (let k = 0; k < cover.cells.length; k += 17) {
          const cell = cover.cells[k] as number;
          const corner: PositionM = [(cell % 40) * 0.5, Math.floor(cell / 40) * 0.5];
          const exact = polygonsArea(intersectPolygons([[placed]], [[rectangle(...corner, 0.5, 0.5)]]));
          expect((cover.shares[k] as number) * 0.25).toBeCloseTo(exact, 7);
        }
      }),
      { numRuns: 150, seed: 5 },
    );
  });

  test('either way round', () => {
    const forward = coverCells(ell, grid);
    expect(coverCells(ell.toReversed(), grid)).toEqual(forward);
  });
});
