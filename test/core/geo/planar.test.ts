import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PositionM, RingM } from '../../../core/contract/model.ts';
import {
  boundingBox,
  bufferLine,
  bufferPolygons,
  distanceToRing,
  findRingCrossing,
  intersectPolygons,
  normaliseRing,
  pointInPolygon,
  polygonsArea,
  ringArea,
  subtractPolygons,
  unionPolygons,
  validateLot,
} from '../../../core/geo/planar.ts';

const square = (x: number, y: number, side: number): RingM => [
  [x, y],
  [x + side, y],
  [x + side, y + side],
  [x, y + side],
];

describe('rings', () => {
  test('area is signed and keeps its digits far from the origin', () => {
    expect(ringArea(square(0, 0, 3))).toBe(9);
    expect(ringArea([...square(0, 0, 3)].reverse())).toBe(-9);
    expect(ringArea(square(6e5, 5.4e6, 3))).toBe(9);
    expect(ringArea([])).toBe(0);
  });

  test('a regular polygon has the area of the formula', () => {
    const ring = Array.from({ length: 12 }, (_, i): PositionM => {
      const t = (i * Math.PI) / 6;
      return [10 * Math.cos(t), 10 * Math.sin(t)];
    });
    expect(ringArea(ring)).toBeCloseTo(0.5 * 12 * 100 * Math.sin(Math.PI / 6), 10);
  });

  test('normalising drops the closing repeat, turns the way round and keeps the first corner', () => {
    const closedClockwise: RingM = [
      [0, 0],
      [0, 2],
      [0, 2],
      [2, 2],
      [2, 0],
      [0, 0],
    ];
    expect(normaliseRing(closedClockwise)).toEqual([
      [0, 0],
      [2, 0],
      [2, 2],
      [0, 2],
    ]);
  });

  test('crossing, touching and folding back are found with their sides', () => {
    expect(findRingCrossing(square(0, 0, 5))).toBeNull();
    const bowTie: RingM = [
      [0, 0],
      [4, 4],
      [4, 0],
      [0, 4],
    ];
    expect(findRingCrossing(bowTie)).toEqual({ edgeA: 0, edgeB: 2, at: [2, 2] });
    const touching: RingM = [
      [0, 0],
      [4, 0],
      [4, 4],
      [2, 0],
      [0, 4],
    ];
    expect(findRingCrossing(touching)?.at).toEqual([2, 0]);
    const spike: RingM = [
      [0, 0],
      [4, 0],
      [8, 0],
      [4, 0],
      [4, 4],
    ];
    expect(findRingCrossing(spike)).not.toBeNull();
    expect(
      findRingCrossing([
        [0, 0],
        [2, 0],
        [4, 0],
        [4, 4],
        [0, 4],
      ]),
    ).toBeNull();
  });

  test('star-shaped rings never cross, and swapping two corners of a convex one always does', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 1, max: 9, noNaN: true }), { minLength: 4, maxLength: 40 }),
        (radii) => {
          const at = (r: number, i: number): PositionM => {
            const t = (2 * Math.PI * i) / radii.length;
            return [r * Math.cos(t), r * Math.sin(t)];
          };
          expect(findRingCrossing(radii.map(at))).toBeNull();
          const convex = radii.map((_, i) => at(5, i));
          [convex[1], convex[2]] = [convex[2] as PositionM, convex[1] as PositionM];
          expect(findRingCrossing(convex)).not.toBeNull();
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('places and polygons', () => {
  const ringWithHole = [square(0, 0, 10), [...square(4, 4, 2)].reverse()];

  test('inside, in the hole, on the edge, outside', () => {
    expect(pointInPolygon([1, 1], ringWithHole)).toBe(true);
    expect(pointInPolygon([5, 5], ringWithHole)).toBe(false);
    expect(pointInPolygon([4, 5], ringWithHole)).toBe(true);
    expect(pointInPolygon([10, 3], ringWithHole)).toBe(true);
    expect(pointInPolygon([10.001, 3], ringWithHole)).toBe(false);
    expect(pointInPolygon([-1, 10], ringWithHole)).toBe(false);
  });

  test('distance to the edge, from inside and past a corner', () => {
    expect(distanceToRing([5, 2], square(0, 0, 10))).toBe(2);
    expect(distanceToRing([13, 14], square(0, 0, 10))).toBe(5);
    expect(boundingBox(square(-1, 2, 3))).toEqual({ minX: -1, minY: 2, maxX: 2, maxY: 5 });
  });
});

describe('overlays', () => {
  const a = [square(0, 0, 10)];
  const b = [square(6, 6, 10)];

  test('areas obey |A| + |B| = |A and B| + |A or B|, and differences close', () => {
    expect(polygonsArea(intersectPolygons([a], [b]))).toBeCloseTo(16, 12);
    expect(polygonsArea(unionPolygons([a, b]))).toBeCloseTo(184, 12);
    expect(polygonsArea(subtractPolygons([a], [b]))).toBeCloseTo(84, 12);
    expect(intersectPolygons([a], [[square(20, 20, 1)]])).toEqual([]);
    expect(subtractPolygons([a], [[square(-1, -1, 20)]])).toEqual([]);
  });

  test('a hole stays a hole, with the orientations promised', () => {
    const [ring] = subtractPolygons([a], [[square(4, 4, 2)]]);
    expect(ring).toHaveLength(2);
    expect(ringArea(ring?.[0] ?? [])).toBe(100);
    expect(ringArea(ring?.[1] ?? [])).toBe(-4);
  });

  // The planar library snaps corners that lie within 1e-9 of the shapes' extent of each other (JTS, GeometrySnapper):
  // over sides of some hundred metres that is an area of up to 1e-5 m2. Corners to the millimetre are never so near.
  test.each([
    ['to the millimetre', fc.integer({ min: -50_000, max: 50_000 }).map((mm) => mm / 1000), 5e-7],
    ['any', fc.double({ min: -50, max: 50, noNaN: true }), 1e-9 * 100 * 2 * 100 * (2 + Math.SQRT2)],
  ])('random triangles, corners %s: inclusion and exclusion', (_, coordinate, toleranceM2) => {
    const triangle = fc
      .tuple(...Array.from({ length: 6 }, () => coordinate))
      .map(
        ([p, q, r, s, t, u]): RingM =>
          normaliseRing([
            [p, q],
            [r, s],
            [t, u],
          ] as RingM),
      )
      .filter((ring) => ring.length === 3 && ringArea(ring) > 0.01);
    fc.assert(
      fc.property(triangle, triangle, (p, q) => {
        const both = polygonsArea(intersectPolygons([[p]], [[q]]));
        const any = polygonsArea(unionPolygons([[p], [q]]));
        const rest = polygonsArea(subtractPolygons([[p]], [[q]]));
        expect(Math.abs(both + any - ringArea(p) - ringArea(q))).toBeLessThan(toleranceM2);
        expect(Math.abs(rest - (ringArea(p) - both))).toBeLessThan(toleranceM2);
      }),
      { numRuns: 150 },
    );
  });

  test('buffers: area of a grown square (Steiner) and of a shrunk one', () => {
    const grown = polygonsArea(bufferPolygons([a], 2));
    const steiner = 100 + 40 * 2 + Math.PI * 4;
    expect(grown).toBeLessThan(steiner);
    expect(grown).toBeGreaterThan(steiner - 0.03);
    expect(polygonsArea(bufferPolygons([a], -2))).toBeCloseTo(36, 12);
    expect(bufferPolygons([a], -5.1)).toEqual([]);
    const strip = polygonsArea(
      bufferLine(
        [
          [0, 0],
          [10, 0],
        ],
        1,
      ),
    );
    expect(strip).toBeGreaterThan(20 + Math.PI - 0.02);
    expect(strip).toBeLessThan(20 + Math.PI);
  });
});

describe('validateLot', () => {
  test('a good outline, whichever way round', () => {
    const lot = validateLot([...square(0, 0, 40)].reverse());
    expect(lot.areaM2).toBe(1600);
    expect(lot.warnings).toEqual([]);
    expect(ringArea(lot.ring)).toBeGreaterThan(0);
  });

  test('the corners of a crossing are named as entered', () => {
    // corner 2 is entered twice: the numbers must still be the person's own
    const ring: RingM = [
      [0, 0],
      [40, 40],
      [40, 40],
      [40, 0],
      [0, 40],
      [0, 0],
    ];
    expect(() => validateLot(ring, { file: 'lot.csv' })).toThrow(
      /corner 1 to 2 meets the side from corner 4 to 5 at 20\.00, 20\.00/,
    );
    try {
      validateLot(ring, { file: 'lot.csv' });
    } catch (error) {
      expect(error).toMatchObject({ code: 'BAD_INPUT', details: { file: 'lot.csv' } });
    }
  });

  test('too few corners, no area, no numbers, odd sizes', () => {
    expect(() =>
      validateLot([
        [0, 0],
        [1, 1],
        [0, 0],
      ]),
    ).toThrow(/2 different corners/);
    expect(() =>
      validateLot([
        [0, 0],
        [1, 0],
        [2, 0],
      ]),
    ).toThrow(/crosses itself|no area/);
    expect(() =>
      validateLot([
        [0, 0],
        [1, Number.NaN],
        [2, 0],
      ]),
    ).toThrow(/Corner 2/);
    expect(validateLot(square(0, 0, 0.5)).warnings[0]).toMatch(/only 0\.25 m²/);
    expect(validateLot(square(0, 0, 5000)).warnings[0]).toMatch(/25\.0 km²/);
  });
});
