import { describe, expect, test } from 'vitest';
import type { RingM } from '../../core/contract/model.ts';
import type { SurfaceResult } from '../../core/contract/results.ts';
import { mockView } from '../../renderer/dev/mock-project.ts';
import { mockSurface } from '../../renderer/dev/mock-results.ts';
import { placedRing, placementConflicts, ringCentre, underRing } from '../../renderer/map/placement.ts';

const L_SHAPE: RingM = [
  [0, 0],
  [4, 0],
  [4, 2],
  [2, 2],
  [2, 4],
  [0, 4],
];

/** Estimate equal to the east coordinate: means and quartiles are known by plane geometry. */
function slope(cellM: number): SurfaceResult {
  const [columns, rows] = [Math.round(20 / cellM), Math.round(20 / cellM)];
  const grid = { x0M: cellM / 2, y0M: cellM / 2, cellM, columns, rows };
  const values = Float64Array.from({ length: columns * rows }, (_, i) => grid.x0M + (i % columns) * cellM);
  const probability = values.map((value) => (value > 10 ? 1 : 0));
  return {
    ...mockSurface(mockView('/x.gasplat')),
    grid,
    estimateKBqPerM3: values,
    exceedance: { limitKBqPerM3: 10, probability },
  };
}

describe('a footprint moved by hand', () => {
  test('turns about the centre of its area', () => {
    // Two rectangles: 4 x 2 about (2, 1) and 2 x 2 about (1, 3).
    const [x, y] = ringCentre(L_SHAPE);
    expect(x).toBeCloseTo((8 * 2 + 4 * 1) / 12, 12);
    expect(y).toBeCloseTo((8 * 1 + 4 * 3) / 12, 12);
    const turned = placedRing(L_SHAPE, { dxM: 3, dyM: -1, turnDeg: 90, mirrored: false });
    const [u, v] = ringCentre(turned);
    expect(u).toBeCloseTo(x + 3, 12);
    expect(v).toBeCloseTo(y - 1, 12);
    expect(turned[1]?.[0]).toBeCloseTo(x + 3 - (0 - y), 12);
    expect(turned[1]?.[1]).toBeCloseTo(y - 1 + (4 - x), 12);
  });

  test('not moved, it is the same ring', () => {
    expect(placedRing(L_SHAPE, { dxM: 0, dyM: 0, turnDeg: 0, mirrored: false })).toBe(L_SHAPE);
  });

  test('reads mean, third quartile and share above from the cells under it', () => {
    const square: RingM = [
      [5, 5],
      [15, 5],
      [15, 15],
      [5, 15],
    ];
    const under = underRing(slope(0.1), square);
    expect(under?.meanKBqPerM3).toBeCloseTo(10, 6);
    expect(under?.upperQuartileKBqPerM3).toBeCloseTo(12.5, 1);
    expect(under?.highestKBqPerM3).toBeCloseTo(15, 1);
    expect(under?.shareAbove).toBeCloseTo(0.5, 6);
    expect(under?.offSurface).toBe(0);
  });

  test('says how much of it lies off the surface, and nothing where all of it does', () => {
    const half: RingM = [
      [15, 5],
      [25, 5],
      [25, 15],
      [15, 15],
    ];
    expect(underRing(slope(0.1), half)?.offSurface).toBeCloseTo(0.5, 2);
    expect(
      underRing(slope(0.1), placedRing(half, { dxM: 50, dyM: 0, turnDeg: 0, mirrored: false })),
    ).toBeNull();
  });

  test('tells the lot line and each keep-out it meets', () => {
    const lot: RingM = [
      [0, 0],
      [20, 0],
      [20, 20],
      [0, 20],
    ];
    const cable = {
      id: 'k1',
      label: 'Cable',
      shape: 'line' as const,
      points: [[0, 10] as const, [20, 10] as const],
      bufferM: 1,
    };
    const house = (yM: number): RingM => L_SHAPE.map(([x, y]) => [x + 5, y + yM] as const);
    expect(placementConflicts(house(2), lot, [cable])).toEqual([]);
    expect(placementConflicts(house(5.5), lot, [cable])).toEqual(['It meets the keep-out Cable.']);
    expect(placementConflicts(house(-1), lot, [])).toEqual(['It reaches over the lot line.']);
    // A tree that stands wholly inside.
    const tree = {
      ...cable,
      id: 'k2',
      label: 'Tree',
      points: [[6, 3] as const, [6.2, 3] as const],
      bufferM: 0.2,
    };
    expect(placementConflicts(house(2), lot, [tree])).toEqual(['It meets the keep-out Tree.']);
  });
});
