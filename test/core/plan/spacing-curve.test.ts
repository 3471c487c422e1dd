import { describe, expect, test } from 'vitest';
import type { RingM } from '../../../core/contract/model.ts';
import {
  computeSpacingCurve,
  findElbow,
  type SpacingCurveRequest,
} from '../../../core/plan/spacing-curve.ts';

const quiet = { stopped: () => false, progress: () => {} };
const lot: RingM = [
  [0, 0],
  [40, 0],
  [40, 30],
  [0, 30],
];
const request: SpacingCurveRequest = {
  pattern: 'square',
  sizes: [6, 9, 12, 16, 20, 30, 42, 60].map((count) => ({ count })),
  ground: [[lot]],
  footprint: null,
  around: 'all',
  target: [[lot]],
  model: { nugget: 0.2, structures: [{ kind: 'spherical', partialSill: 0.8, rangeM: 20 }] },
  errorVariance: 0,
  barriers: [],
  start: [-5, 15],
  pace: { minutesPerTest: 20, walkingMetresPerMinute: 40, instruments: 1, days: 1 },
  dailyMinutes: 60,
};

describe('map error against work', () => {
  const curve = computeSpacingCurve(request, quiet);

  test('more probes: more hours, less error, down to the nugget at best', () => {
    expect(curve.points.map((p) => p.probes)).toEqual([6, 9, 12, 16, 20, 30, 42, 60]);
    curve.points.slice(1).forEach((point, i) => {
      const before = curve.points[i];
      expect(point.hoursOfWork).toBeGreaterThan(before?.hoursOfWork ?? 0);
      expect(point.meanVariance).toBeLessThan(before?.meanVariance ?? 0);
    });
    for (const point of curve.points) {
      expect(point.unexplained).toBeGreaterThan(0.2);
      expect(point.worstVariance).toBeGreaterThan(point.meanVariance);
      expect(point.mapError).toBeCloseTo(Math.sqrt(point.meanVariance), 12);
    }
  });

  test('hours are tests, walk and daily work', () => {
    const point = curve.points[3];
    expect(point?.hoursOfWork).toBeCloseTo((16 * 20 + (point?.walkM ?? 0) / 40 + 60) / 60, 9);
    expect(point?.longestDayHours).toBe(point?.hoursOfWork);
  });

  test('the elbow lies within the curve and is the farthest below the chord', () => {
    expect(curve.elbow).toBeGreaterThan(0);
    expect(curve.elbow).toBeLessThan(7);
  });

  test('two instruments: about half the day', () => {
    const two = computeSpacingCurve(
      { ...request, sizes: [{ count: 20 }], pace: { ...request.pace, instruments: 2 } },
      quiet,
    );
    const one = curve.points.find((p) => p.probes === 20);
    expect(two.points[0]?.longestDayHours).toBeLessThan(0.65 * (one?.longestDayHours ?? 0));
    expect(two.elbow).toBeNull();
  });

  test('refused: no sizes', () => {
    expect(() => computeSpacingCurve({ ...request, sizes: [] }, quiet)).toThrow(/No spacing/);
  });
});

// Check value 55: centre of a 10 m square, spherical range 20, sill 1, no nugget: 0.4517 (own arithmetic of the trade facts)
test('variance in the middle of a square with a probe at each corner', () => {
  const around = (x: number, y: number): RingM => [
    [x - 0.01, y - 0.01],
    [x + 0.01, y - 0.01],
    [x + 0.01, y + 0.01],
    [x - 0.01, y + 0.01],
  ];
  const corners = [around(0, 0), around(10, 0), around(10, 10), around(0, 10)];
  const curve = computeSpacingCurve(
    {
      ...request,
      sizes: [{ spacingM: 10 }],
      ground: corners.map((ring) => [ring]),
      target: [[around(5, 5)]],
      model: { nugget: 0, structures: [{ kind: 'spherical', partialSill: 1, rangeM: 20 }] },
    },
    quiet,
  );
  expect(curve.points[0]?.probes).toBe(4);
  expect(curve.points[0]?.meanVariance).toBeCloseTo(0.4517, 2);
});

test('elbow by hand: (0,1) (1,0.2) (10,0)', () => {
  expect(
    findElbow([
      [0, 1],
      [1, 0.2],
      [10, 0],
    ]),
  ).toBe(1);
  expect(
    findElbow([
      [0, 1],
      [5, 0.5],
      [10, 0],
    ]),
  ).toBeNull();
});
