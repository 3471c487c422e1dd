/** Checks against exact arithmetic on the shared edges, and against JTS' own test of validity. */
import IsValidOp from 'jsts/org/locationtech/jts/operation/valid/IsValidOp.js';
import { describe, expect, test } from 'vitest';
import { contourBands } from '../../../core/contour/contour.ts';
import { simplifyBands } from '../../../core/contour/simplify-bands.ts';
import type { PolygonM, PositionM, RingM } from '../../../core/contract/model.ts';
import type { ContourBand, GridSpec } from '../../../core/contract/results.ts';
import { polygonGeometry } from '../../../core/geo/jsts.ts';
import { distanceToRing, pointInPolygons, polygonsArea, ringArea } from '../../../core/geo/planar.ts';

const grid: GridSpec = { x0M: 0.25, y0M: 0.25, cellM: 0.5, columns: 80, rows: 60 };
const lot: RingM = [
  [1.1, 0.9],
  [38.7, 2.2],
  [36.3, 29.1],
  [3.4, 27.7],
];
const levels = [16, 20, 24, 28, 32, 36, 40, 44, 48];

/** Islands, saddles and borders close to each other. */
function bumpy(phase: number): ContourBand[] {
  const values = Float64Array.from({ length: grid.columns * grid.rows }, (_, i) => {
    const x = grid.x0M + grid.cellM * (i % grid.columns);
    const y = grid.y0M + grid.cellM * Math.floor(i / grid.columns);
    return (
      30 + 12 * Math.sin(x / 4 + phase) * Math.cos(y / 5) + 0.4 * x + 2 * Math.sin(x * 1.7 + y * 1.3 + phase)
    );
  });
  return contourBands(grid, values, levels, [[lot]]);
}

const pointsOf = (bands: readonly ContourBand[]) => bands.flatMap((b) => b.polygons.flat(2));
const ground = (bands: readonly ContourBand[]): PolygonM[] => bands.flatMap((b) => b.polygons);

/** How often each edge is walked, by its ends, whichever way round. */
function edges(bands: readonly ContourBand[]): Map<string, number> {
  const out = new Map<string, number>();
  for (const ring of ground(bands).flat()) {
    ring.forEach((a, i) => {
      const b = ring[(i + 1) % ring.length] as PositionM;
      const key = [`${a}`, `${b}`].sort().join(' ');
      out.set(key, (out.get(key) ?? 0) + 1);
    });
  }
  return out;
}

describe.each([0, 1, 2.5, 4])('a bumpy field, %d', (phase) => {
  const bands = bumpy(phase);

  test.each([0.05, 0.3, 1])(
    'within %d m: fewer points, and still one sheet without gap or overlap',
    (tolerance) => {
      const thin = simplifyBands(bands, tolerance);
      expect(pointsOf(thin).length).toBeLessThan((tolerance < 0.1 ? 0.95 : 0.7) * pointsOf(bands).length);
      expect(thin.map(({ from, to }) => [from, to])).toEqual(bands.map(({ from, to }) => [from, to]));
      for (const polygon of ground(thin)) {
        expect(new IsValidOp(polygonGeometry(polygon) as never).isValid()).toBe(true);
      }
      // The lot itself to the tenth of a millimetre at which its corners meet the bands.
      expect(polygonsArea(ground(thin))).toBeCloseTo(polygonsArea(ground(bands)), 7);
      expect(polygonsArea(ground(thin))).toBeCloseTo(Math.abs(ringArea(lot)), 3);
      // An edge is walked twice, once from each side, or lies on the lot line.
      for (const [key, times] of edges(thin)) {
        if (times === 2) continue;
        expect(times).toBe(1);
        for (const end of key.split(' ')) {
          const point = end.split(',').map(Number) as unknown as PositionM;
          expect(distanceToRing(point, lot)).toBeLessThan(1e-4);
        }
      }
      // Every point of the old borders is near one of the new, and any place belongs to one band.
      const rings = ground(thin).flat();
      for (const [i, point] of pointsOf(bands).entries()) {
        if (i % 7 !== 0) continue;
        expect(Math.min(...rings.map((ring) => distanceToRing(point, ring)))).toBeLessThanOrEqual(
          tolerance + 1e-9,
        );
      }
      for (let k = 0; k < 60; k++) {
        const place: PositionM = [6 + ((k * 7.31) % 28), 5 + ((k * 3.77) % 20)];
        const holders = thin.filter((band) => pointInPolygons(place, band.polygons));
        expect(holders).toHaveLength(1);
      }
    },
  );
});

test('a tolerance of nothing changes nothing, and one that is no length is refused', () => {
  const bands = bumpy(0);
  expect(simplifyBands(bands, 0)).toEqual(bands);
  expect(simplifyBands([], 1)).toEqual([]);
  expect(() => simplifyBands(bands, Number.NaN)).toThrow(/is no length/);
});

test('an island smaller than the tolerance stays an island', () => {
  const hole: RingM = [
    [5, 5],
    [5, 5.2],
    [5.2, 5.2],
    [5.2, 5],
  ];
  const sheet: RingM = [
    [0, 0],
    [10, 0],
    [10, 10],
    [0, 10],
  ];
  const bands: ContourBand[] = [
    { from: 0, to: 1, polygons: [[sheet, hole]] },
    { from: 1, to: null, polygons: [[hole.toReversed()]] },
  ];
  const thin = simplifyBands(bands, 3);
  expect(polygonsArea(ground(thin))).toBeCloseTo(100, 9);
  expect(thin[1]?.polygons[0]?.[0]?.length).toBeGreaterThanOrEqual(3);
});
