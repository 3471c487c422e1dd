import IsValidOp from 'jsts/org/locationtech/jts/operation/valid/IsValidOp.js';
import { describe, expect, test } from 'vitest';
import { contourBands, contourLines } from '../../../core/contour/contour.ts';
import { cellCentre, gridForLot, type LotGrid } from '../../../core/contour/grid.ts';
import { chooseLevels } from '../../../core/contour/levels.ts';
import type { PolygonM, PositionM, RingM } from '../../../core/contract/model.ts';
import type { ContourBand } from '../../../core/contract/results.ts';
import { polygonGeometry } from '../../../core/geo/jsts.ts';
import {
  distanceToRing,
  findRingCrossing,
  intersectPolygons,
  pointInPolygon,
  polygonsArea,
  ringArea,
} from '../../../core/geo/planar.ts';

const lot: RingM = [
  [0, 0],
  [52, 3],
  [48, 41],
  [20, 38],
  [-2, 30],
];
const clip: PolygonM[] = [[lot]];

function fill({ grid, near }: LotGrid, f: (x: number, y: number) => number): Float64Array {
  return Float64Array.from(near, (isNear, at) => {
    const [x, y] = cellCentre(grid, at % grid.columns, Math.floor(at / grid.columns));
    return isNear === 1 ? f(x, y) : Number.NaN;
  });
}

function expectSound(bands: readonly ContourBand[], area: number) {
  const polygons = bands.flatMap((band) => band.polygons);
  for (const polygon of polygons) {
    expect(IsValidOp.isValid(polygonGeometry(polygon))).toBe(true);
    expect(ringArea(polygon[0] ?? [])).toBeGreaterThan(0);
    for (const hole of polygon.slice(1)) expect(ringArea(hole)).toBeLessThan(0);
  }
  expect(Math.abs(polygonsArea(polygons) - area)).toBeLessThan(2e-3);
  for (const [i, a] of bands.entries()) {
    for (const b of bands.slice(i + 1)) {
      expect(polygonsArea(intersectPolygons(a.polygons, b.polygons))).toBeLessThan(1e-6);
    }
  }
}

describe('a plane: isolines are straight and exact', () => {
  const lotGrid = gridForLot(lot, 0.7);
  const plane = (x: number, y: number) => 20 + 0.4 * x - 0.3 * y;
  const values = fill(lotGrid, plane);
  const levels = [5, 15, 20, 27.5, 40];

  test('every point of a line has the level; ends lie on the lot', () => {
    const lines = contourLines(lotGrid.grid, values, levels, clip);
    expect(new Set(lines.map((line) => line.level))).toEqual(new Set([15, 20, 27.5]));
    for (const line of lines) {
      expect(line.closed).toBe(false);
      for (const [x, y] of line.points) expect(Math.abs(plane(x, y) - line.level)).toBeLessThan(1e-9);
      for (const end of [line.points[0], line.points.at(-1)]) {
        expect(distanceToRing(end as PositionM, lot)).toBeLessThan(1e-9);
      }
    }
  });

  test('bands have the areas of the half planes, and fill the lot', () => {
    const bands = contourBands(lotGrid.grid, values, levels, clip);
    expectSound(bands, ringArea(lot));
    for (const band of bands) {
      // the strip between two levels as a long rectangle across the plane's slope, cut with the lot
      const along = (level: number, t: number): PositionM => {
        const s = (level - 20) / 0.25;
        return [0.4 * s + 0.3 * t, -0.3 * s + 0.4 * t];
      };
      const from = band.from === 5 ? -500 : band.from;
      const to = band.to ?? 500;
      const strip: RingM = [along(from, -500), along(to, -500), along(to, 500), along(from, 500)];
      const expected = polygonsArea(intersectPolygons([[strip]], clip));
      expect(Math.abs(polygonsArea(band.polygons) - expected)).toBeLessThan(2e-3);
    }
    expect(bands.at(-1)).toEqual({ from: 40, to: null, polygons: [] });
  });
});

describe('a cone: isolines are circles', () => {
  const lotGrid = gridForLot(lot, 0.5);
  const [cx, cy] = [22, 18];
  const cone = (x: number, y: number) => 60 - 2 * Math.hypot(x - cx, y - cy);
  const values = fill(lotGrid, cone);
  const levels = [0, 30, 40, 50];

  test('circles of the right radius, closed where they fit in the lot', () => {
    const lines = contourLines(lotGrid.grid, values, levels, clip);
    const inner = lines.filter((line) => line.level === 50 || line.level === 40);
    expect(inner.map((line) => line.closed)).toEqual([true, true]);
    for (const line of lines) {
      for (const [x, y] of line.points) {
        // linear interpolation of a cone is off by at most h^2 / (8 r): far below a cell
        expect(Math.abs(Math.hypot(x - cx, y - cy) - (60 - line.level) / 2)).toBeLessThan(0.01);
      }
      const ends = [line.points[0], line.points.at(-1)] as [PositionM, PositionM];
      const repeats = ends[0][0] === ends[1][0] && ends[0][1] === ends[1][1];
      expect(repeats).toBe(false);
    }
  });

  test('bands are discs and rings with holes', () => {
    const bands = contourBands(lotGrid.grid, values, levels, clip);
    expectSound(bands, ringArea(lot));
    const [, , ring, disc] = bands;
    expect(disc?.polygons[0]).toHaveLength(1);
    expect(ring?.polygons[0]).toHaveLength(2);
    expect(polygonsArea(disc?.polygons ?? [])).toBeCloseTo(Math.PI * 25, 0);
    expect(polygonsArea(ring?.polygons ?? [])).toBeCloseTo(Math.PI * 75, 0);
  });
});

describe('a rough field', () => {
  const lotGrid = gridForLot(lot, 0.5);
  const field = (x: number, y: number) => 30 + 12 * Math.sin(x / 3) * Math.cos(y / 2.5) + 0.3 * x;
  const values = fill(lotGrid, field);
  const levels = [10, 20, 25, 30, 35, 40, 45];

  function bilinear([x, y]: PositionM): number {
    const { grid } = lotGrid;
    const [u, v] = [(x - grid.x0M) / grid.cellM, (y - grid.y0M) / grid.cellM];
    const [i, j] = [Math.floor(u), Math.floor(v)];
    const [s, t] = [u - i, v - j];
    const at = (c: number, r: number) => values[r * grid.columns + c] as number;
    return (
      (1 - t) * ((1 - s) * at(i, j) + s * at(i + 1, j)) + t * ((1 - s) * at(i, j + 1) + s * at(i + 1, j + 1))
    );
  }

  test('lines lie where the bilinear surface has the level, within a twentieth of a cell', () => {
    const lines = contourLines(lotGrid.grid, values, levels, clip);
    expect(lines.length).toBeGreaterThan(10);
    let worstM = 0;
    for (const line of lines) {
      for (const point of line.points) {
        const [x, y] = point;
        const h = 1e-4;
        const slope = Math.hypot(
          (field(x + h, y) - field(x - h, y)) / (2 * h),
          (field(x, y + h) - field(x, y - h)) / (2 * h),
        );
        if (slope < 1) continue; // on a flat top the distance to a level says nothing
        worstM = Math.max(worstM, Math.abs(bilinear(point) - line.level) / slope);
      }
    }
    expect(worstM).toBeLessThan(0.05 * lotGrid.grid.cellM);
  });

  test('bands are sound and hold only values of their range', () => {
    const bands = contourBands(lotGrid.grid, values, levels, clip);
    expectSound(bands, ringArea(lot));
    const { grid, inside } = lotGrid;
    inside.forEach((isInside, at) => {
      if (isInside === 0) return;
      const value = values[at] as number;
      const centre = cellCentre(grid, at % grid.columns, Math.floor(at / grid.columns));
      const home = bands.filter((band) => band.polygons.some((polygon) => pointInPolygon(centre, polygon)));
      if (distanceToRing(centre, lot) < 1e-4) return; // the lot's edge is snapped to 10 micrometres
      expect(home.length).toBeGreaterThan(0);
      expect(home.some((band) => value >= band.from && value < (band.to ?? Infinity))).toBe(true);
    });
  });
});

describe('many lots and fields', () => {
  // Same generator as everywhere (Numerical Recipes' LCG), so that a failure can be found again by its number.
  function makeRandom(start: number): () => number {
    let state = start;
    return () => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 4294967296;
    };
  }

  test.each(Array.from({ length: 32 }, (_, i) => i))(
    'case %i: valid, disjoint from the outside, no ground lost',
    (number) => {
      const random = makeRandom(number + 1);
      const corners = 3 + Math.floor(random() * 10);
      const radiusM = 5 + random() * 60;
      const isRound = number % 4 === 1;
      const ring = Array.from({ length: corners }, (_, i): PositionM => {
        const angle = ((i + 0.8 * random()) * 2 * Math.PI) / corners;
        const r = radiusM * (0.3 + 0.7 * random());
        const place: PositionM = [r * Math.cos(angle), r * Math.sin(angle)];
        return isRound ? [Math.round(place[0]), Math.round(place[1])] : place;
      });
      if (findRingCrossing(ring) !== null || ringArea(ring) < 5) return;
      // whole metres on a 1 m grid put corners and sides on cell edges; stepped values lie exactly on levels
      const lotGrid = isRound ? gridForLot(ring, 1) : gridForLot(ring, null, 3000);
      const [a, b, phase] = [random() * 0.6, random() * 0.6, random() * 6];
      const values = fill(lotGrid, (x, y) => {
        const smooth = 30 + 10 * Math.sin(a * x + phase) * Math.cos(b * y);
        if (number % 4 === 2) return smooth + 3 * random();
        return number % 4 === 3 ? Math.round(smooth / 5) * 5 : smooth;
      });
      const known = values.filter((value) => !Number.isNaN(value));
      const levels = chooseLevels(Math.min(...known), Math.max(...known), [20, 30], 8);
      const polygons = contourBands(lotGrid.grid, values, levels, [[ring]]).flatMap((band) => band.polygons);
      for (const polygon of polygons) expect(IsValidOp.isValid(polygonGeometry(polygon))).toBe(true);
      expect(Math.abs(polygonsArea(polygons) - ringArea(ring))).toBeLessThan(1e-5 * 10 * radiusM);
    },
  );
});

describe('awkward input', () => {
  const lotGrid = gridForLot(lot, 1);

  test('values exactly on a level', () => {
    const steps = fill(lotGrid, (x) => Math.round(x / 6) * 10);
    expectSound(contourBands(lotGrid.grid, steps, [0, 10, 20, 30, 40], clip), ringArea(lot));
    const flat = fill(lotGrid, () => 20);
    const bands = contourBands(lotGrid.grid, flat, [10, 20, 30], clip);
    expectSound(bands, ringArea(lot));
    expect(polygonsArea(bands[1]?.polygons ?? [])).toBeCloseTo(ringArea(lot), 2);
    expect(contourLines(lotGrid.grid, flat, [10, 20, 30], clip)).toEqual([]);
  });

  test('a saddle', () => {
    const values = fill(lotGrid, (x, y) => 20 + (x - 22.5) * (y - 18.5));
    expectSound(contourBands(lotGrid.grid, values, [-500, 10, 20, 30], clip), ringArea(lot));
  });

  test('missing cells inside the lot stay blank, and no line follows their edge', () => {
    const values = fill(lotGrid, (x, y) => (Math.hypot(x - 30, y - 20) < 6 ? Number.NaN : 20 + x));
    const bands = contourBands(lotGrid.grid, values, [10, 40, 50, 60], clip);
    const covered = polygonsArea(bands.flatMap((band) => band.polygons));
    expect(covered).toBeLessThan(ringArea(lot) - 100);
    expect(covered).toBeGreaterThan(ringArea(lot) - Math.PI * 7.5 ** 2);
    for (const line of contourLines(lotGrid.grid, values, [40, 50, 60], clip)) {
      for (const [x] of line.points) expect(x).toBeCloseTo(line.level - 20, 9);
    }
  });

  test('a lot with a hole and a lot of two parts', () => {
    const parts: PolygonM[] = [
      [
        [
          [2, 2],
          [20, 2],
          [20, 25],
          [2, 25],
        ],
        [
          [8, 15],
          [12, 15],
          [12, 10],
          [8, 10],
        ],
      ],
      [
        [
          [30, 8],
          [44, 8],
          [44, 30],
          [30, 30],
        ],
      ],
    ];
    const values = fill(lotGrid, (x, y) => x + y);
    const bands = contourBands(lotGrid.grid, values, [0, 20, 40, 60], parts);
    expectSound(bands, polygonsArea(parts));
  });

  test('levels that do not rise and arrays of the wrong length are refused', () => {
    const values = fill(lotGrid, (x) => x);
    expect(() => contourBands(lotGrid.grid, values, [10, 10], clip)).toThrow(/must rise/);
    expect(() => contourLines(lotGrid.grid, values.slice(1), [10], clip)).toThrow(/do not fill/);
    expect(contourLines(lotGrid.grid, values, [10], [])).toEqual([]);
  });
});
