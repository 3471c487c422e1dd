import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PositionM } from '../../../core/contract/model.ts';
import { gridScaleAndConvergence } from '../../../core/geo/crs.ts';
import {
  applySimilarity,
  type ControlPoint,
  convertTied,
  fitLocalGrid,
  fitSimilarity,
  invertSimilarity,
  localToMapped,
  mappedToLocal,
} from '../../../core/geo/local-grid.ts';

const METRES = { kind: 'local', unit: 'm', label: 'stake' } as const;
const FEET = { kind: 'local', unit: 'ft', label: 'stake' } as const;
const UTM33 = 32633;
const M_PER_FT = 0.3048;

/** Control points made with a known turn (of the y axis, clockwise), scale and shift. */
function makePoints(
  local: readonly PositionM[],
  { turnDeg = 30, scale = 1, at = [617060, 5450380] as PositionM, unitM = 1 } = {},
): ControlPoint[] {
  const turn = (turnDeg * Math.PI) / 180;
  return local.map(([x, y], i) => ({
    label: `C${i + 1}`,
    local: [x, y],
    mapped: [
      at[0] + scale * unitM * (x * Math.cos(turn) + y * Math.sin(turn)),
      at[1] + scale * unitM * (y * Math.cos(turn) - x * Math.sin(turn)),
    ],
  }));
}

const SQUARE: PositionM[] = [
  [0, 0],
  [60, 0],
  [60, 40],
  [0, 40],
];
const SCALE = gridScaleAndConvergence(UTM33, 617060, 5450380).scaleFactor;

test('published example of a two-dimensional conformal transformation', () => {
  // Ghilani, Adjustment Computations, chapter 18 (three control points; data and result from memory): a = -4.51249,
  // b = -0.25371, Te = 1 050 003.715, Tn = 50 542.131 with E = ax - by + Te, N = bx + ay + Tn.
  const from: PositionM[] = [
    [121.622, -128.066],
    [141.228, 187.718],
    [175.802, 135.728],
  ];
  const to: PositionM[] = [
    [1049422.4, 51089.2],
    [1049413.95, 49659.3],
    [1049244.95, 49884.95],
  ];
  const fit = fitSimilarity(from, to);
  expect(fit.a).toBeCloseTo(-4.51249, 5);
  expect(fit.b).toBeCloseTo(-0.25371, 5);
  const [te, tn] = applySimilarity(fit, [0, 0]);
  expect(te).toBeCloseTo(1050003.715, 2);
  expect(tn).toBeCloseTo(50542.131, 2);
});

describe('a tie of a local grid', () => {
  test('turn, scale and place are found; distances come out in grid metres', () => {
    const fit = fitLocalGrid(METRES, UTM33, makePoints(SQUARE, { turnDeg: 30, scale: SCALE }));
    expect(fit.turnDeg).toBeCloseTo(30, 8);
    expect(fit.scale).toBeCloseTo(SCALE, 10);
    expect(fit.expectedScale).toBeCloseTo(SCALE, 6);
    expect(fit.standardDeviationM).toBeLessThan(1e-8);
    expect(fit.warnings).toEqual([]);
    const [a, b] = localToMapped(fit.tie, 1, [
      [0, 0],
      [0, 100],
    ]) as [PositionM, PositionM];
    expect(Math.hypot(b[0] - a[0], b[1] - a[1])).toBeCloseTo(100 * SCALE, 8);
    // 30 degrees clockwise of north: east is half the length
    expect(b[0] - a[0]).toBeCloseTo(50 * SCALE, 8);
  });

  test('feet on one side, metres on the other', () => {
    const fit = fitLocalGrid(
      FEET,
      UTM33,
      makePoints(SQUARE, { unitM: M_PER_FT, scale: SCALE, turnDeg: 350 }),
    );
    expect(fit.scale).toBeCloseTo(SCALE, 10);
    expect(fit.turnDeg).toBeCloseTo(350, 8);
    expect(localToMapped(fit.tie, M_PER_FT, [[0, 0]])[0]?.[0]).toBeCloseTo(617060, 7);
  });

  test('a slip of 0.3 m in one of four points shows where it is', () => {
    const points = makePoints(SQUARE, { scale: SCALE });
    const moved = points.map(
      (p, i): ControlPoint => (i === 2 ? { ...p, mapped: [p.mapped[0] + 0.3, p.mapped[1]] } : p),
    );
    const fit = fitLocalGrid(METRES, UTM33, moved);
    const worst = fit.residuals.reduce((a, b) => (a.lengthM > b.lengthM ? a : b));
    expect(worst.label).toBe('C3');
    // residuals of a least-squares fit with free shift add up to nothing
    expect(fit.residuals.reduce((sum, r) => sum + r.eastM, 0)).toBeCloseTo(0, 8);
    const sumOfSquares = fit.residuals.reduce((sum, r) => sum + r.eastM ** 2 + r.northM ** 2, 0);
    expect(fit.standardDeviationM).toBeCloseTo(Math.sqrt(sumOfSquares / 4), 12);
    expect(fit.warnings.join(' ')).toMatch(/scale is 0\.\d+ % off/);
  });

  test('two points fit, and that this proves nothing is said', () => {
    const fit = fitLocalGrid(METRES, UTM33, makePoints(SQUARE.slice(0, 2), { scale: SCALE }));
    expect(fit.standardDeviationM).toBeNull();
    expect(fit.warnings[0]).toMatch(/third/);
  });

  test.each([
    ['feet taken for metres', makePoints(SQUARE, { unitM: M_PER_FT }), /0\.30\d+ m.*look like feet/],
    ['metres taken for feet', makePoints(SQUARE, { unitM: 1 / M_PER_FT }), /3\.28\d* m.*look like metres/],
    [
      'exchanged axes',
      makePoints(SQUARE).map((p): ControlPoint => ({ ...p, local: [p.local[1], p.local[0]] })),
      /exchanged/,
    ],
    ['nonsense', makePoints(SQUARE, { scale: 1.2 }), /do not belong together/],
    ['one point', makePoints(SQUARE.slice(0, 1)), /at least 2/],
    ['one place', makePoints([SQUARE[0], SQUARE[0], SQUARE[0]] as PositionM[]), /one place/],
    ['no number', [{ label: 'A', local: [Number.NaN, 0], mapped: [1, 2] }] as ControlPoint[], /"A".*NaN/],
  ])('%s is refused', (_, points, message) => {
    expect(() => fitLocalGrid(METRES, UTM33, points)).toThrow(message);
  });

  test('a system in degrees is refused', () => {
    expect(() => fitLocalGrid(METRES, 4326, makePoints(SQUARE))).toThrow(/degrees/);
  });
});

test('any similarity is found again and undone (property)', () => {
  const coordinate = fc.double({ min: -500, max: 500, noNaN: true });
  const point = fc.tuple(coordinate, coordinate);
  fc.assert(
    fc.property(
      fc.array(point, { minLength: 2, maxLength: 12 }),
      fc.double({ min: 0, max: 359.9, noNaN: true }),
      fc.double({ min: 0.99, max: 1.01, noNaN: true }),
      (local, turnDeg, scale) => {
        const [x0, y0] = local[0] as PositionM;
        const spread = Math.max(...local.map(([x, y]) => Math.hypot(x - x0, y - y0)));
        fc.pre(spread > 1);
        const points = makePoints(local, { turnDeg, scale });
        const fit = fitLocalGrid(METRES, UTM33, points);
        expect(Math.abs(fit.scale - scale)).toBeLessThan(1e-7);
        const mapped = localToMapped(
          fit.tie,
          1,
          points.map((p) => p.local),
        );
        mapped.forEach(([x, y], i) => {
          const [u, v] = (points[i] as ControlPoint).mapped;
          expect(Math.hypot(x - u, y - v)).toBeLessThan(1e-6);
        });
        mappedToLocal(fit.tie, 1, mapped).forEach(([x, y], i) => {
          const [u, v] = (points[i] as ControlPoint).local;
          expect(Math.hypot(x - u, y - v)).toBeLessThan(1e-6);
        });
        const there = applySimilarity(fit.tie.similarity, [12, 34]);
        const back = applySimilarity(invertSimilarity(fit.tie.similarity), there);
        expect(Math.hypot(back[0] - 12, back[1] - 34)).toBeLessThan(1e-6);
      },
    ),
    { seed: 7, numRuns: 100 },
  );
});

test('a file in degrees comes into a tied grid of feet, and goes back', () => {
  const { tie } = fitLocalGrid(FEET, UTM33, makePoints(SQUARE, { unitM: M_PER_FT, turnDeg: 0 }));
  // test/reference/projections, point 2: 16.6068, 49.1951 is 617063.4656, 5450387.1286 in EPSG:32633
  const place: PositionM = [16.6068, 49.1951];
  const [local = [0, 0]] = convertTied({ kind: 'epsg', code: 4326 }, FEET, tie, [place]);
  expect(local[0] * M_PER_FT).toBeCloseTo(3.4656, 3);
  expect(local[1] * M_PER_FT).toBeCloseTo(7.1286, 3);
  const [back = [0, 0]] = convertTied(FEET, { kind: 'epsg', code: 4326 }, tie, [local]);
  expect(back[0]).toBeCloseTo(place[0], 9);
  expect(back[1]).toBeCloseTo(place[1], 9);
  expect(() => convertTied(FEET, { kind: 'epsg', code: 4326 }, null, [local])).toThrow(/control points/);
});
