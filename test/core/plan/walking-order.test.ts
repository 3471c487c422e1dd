import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PositionM } from '../../../core/contract/model.ts';
import { cutOrder, shareRoute } from '../../../core/plan/split-route.ts';
import { planRoute } from '../../../core/plan/walking-order.ts';
import { seededUniform } from '../geostat/simulate.ts';

const quiet = { stopped: () => false, progress: () => {} };
const far = (a: PositionM, b: PositionM) => Math.hypot(a[0] - b[0], a[1] - b[1]);

function randomPlaces(count: number, seed: number): PositionM[] {
  const uniform = seededUniform(seed);
  return Array.from({ length: count }, () => [uniform() * 100, uniform() * 60]);
}

function walkLength(start: PositionM, probes: readonly PositionM[], order: readonly number[]): number {
  const stops = [start, ...order.map((i) => probes[i] as PositionM), start];
  return stops.slice(1).reduce((sum, stop, i) => sum + far(stops[i] as PositionM, stop), 0);
}

function bruteForce(start: PositionM, probes: readonly PositionM[]): number {
  let best = Infinity;
  const visit = (at: PositionM, left: number[], walked: number) => {
    if (walked >= best) return;
    if (left.length === 0) best = Math.min(best, walked + far(at, start));
    for (const i of left) {
      const next = probes[i] as PositionM;
      visit(
        next,
        left.filter((j) => j !== i),
        walked + far(at, next),
      );
    }
  };
  visit(
    start,
    probes.map((_, i) => i),
    0,
  );
  return best;
}

describe('walking order', () => {
  test('up to nine probes: as short as the shortest of all orders, and the bound is below it', () => {
    for (let seed = 1; seed <= 60; seed++) {
      const [start, ...probes] = randomPlaces(2 + (seed % 9), seed) as [PositionM, ...PositionM[]];
      const route = planRoute(start, probes, quiet);
      const shortest = bruteForce(start, probes);
      expect(route.lengthM).toBeCloseTo(shortest, 9);
      expect(walkLength(start, probes, route.order)).toBeCloseTo(route.lengthM, 9);
      expect(route.lowerBoundM).toBeLessThanOrEqual(shortest + 1e-9);
    }
  }, 60_000);

  test('places on a circle: once around', () => {
    const ring = Array.from({ length: 40 }, (_, k): PositionM => {
      const t = (((k * 17) % 40) * Math.PI) / 20;
      return [50 * Math.cos(t), 50 * Math.sin(t)];
    });
    const [start, ...probes] = ring as [PositionM, ...PositionM[]];
    const route = planRoute(start, probes, quiet);
    expect(route.lengthM).toBeCloseTo(40 * 100 * Math.sin(Math.PI / 40), 6);
    expect(route.gap).toBeLessThan(1e-6);
  });

  test('a grid of an even number of nodes: every step one spacing', () => {
    const grid = Array.from({ length: 48 }, (_, k): PositionM => [(k % 8) * 5, Math.floor(k / 8) * 5]);
    const [start, ...probes] = grid as [PositionM, ...PositionM[]];
    const route = planRoute(start, probes, quiet);
    expect(route.lengthM).toBeCloseTo(48 * 5, 6);
    expect(route.gap).toBeLessThan(1e-4);
  });

  test('60 at random: within 3 % of the bound; 400: within 6 %', () => {
    for (const [count, gap] of [
      [60, 0.03],
      [400, 0.06],
    ] as const) {
      const [start, ...probes] = randomPlaces(count, 5) as [PositionM, ...PositionM[]];
      const route = planRoute(start, probes, quiet);
      expect([...route.order].sort((a, b) => a - b)).toEqual(probes.map((_, i) => i));
      expect(route.gap).toBeLessThan(gap);
      expect(route.gap).toBeGreaterThanOrEqual(0);
    }
  }, 60_000);

  test('every probe once, never longer than out and back to each, whatever the places', () => {
    const place = fc.tuple(fc.integer({ min: 0, max: 9 }), fc.integer({ min: 0, max: 9 }));
    fc.assert(
      fc.property(place, fc.array(place, { maxLength: 14 }), (start, probes) => {
        const route = planRoute(start, probes, quiet);
        expect([...route.order].sort((a, b) => a - b)).toEqual(probes.map((_, i) => i));
        expect(route.lengthM).toBeLessThanOrEqual(2 * probes.reduce((s, p) => s + far(start, p), 0) + 1e-9);
        expect(route.lowerBoundM).toBeLessThanOrEqual(route.lengthM);
      }),
      { numRuns: 60, seed: 2 },
    );
  }, 60_000);

  test('a place that is no place is refused', () => {
    expect(() => planRoute([0, 0], [[1, Number.NaN]], quiet)).toThrow(/Probe 1 is not at a place/);
  });
});

describe('work shared out', () => {
  const pace = { minutesPerTest: 20, walkingMetresPerMinute: 40, instruments: 2, days: 2 };

  test('all probes once, over four parts, the longest close to an even share', () => {
    const [start, ...probes] = randomPlaces(33, 9) as [PositionM, ...PositionM[]];
    const work = shareRoute(start, probes, planRoute(start, probes, quiet), pace, quiet);
    expect(work.parts.map((p) => [p.day, p.instrument])).toEqual([
      [1, 1],
      [1, 2],
      [2, 1],
      [2, 2],
    ]);
    expect(work.parts.flatMap((p) => p.route.order).sort((a, b) => a - b)).toEqual(probes.map((_, i) => i));
    expect(work.evenShareMinutes).toBe(160);
    expect(work.longestMinutes).toBeGreaterThan(160);
    expect(work.longestMinutes).toBeLessThan(160 + 10);
    for (const part of work.parts)
      expect(part.minutes).toBeCloseTo(
        part.route.order.length * 20 + walkLength(start, probes, part.route.order) / 40,
        9,
      );
  });

  test('more parts than probes: no empty part comes back', () => {
    const probes: PositionM[] = [
      [10, 0],
      [0, 10],
    ];
    const work = shareRoute([0, 0], probes, planRoute([0, 0], probes, quiet), { ...pace, days: 5 }, quiet);
    expect(work.parts).toHaveLength(2);
    expect(work.longestMinutes).toBeCloseTo(20.5, 9);
  });

  test.each([
    { instruments: 0 },
    { days: 1.5 },
    { minutesPerTest: -1 },
    { walkingMetresPerMinute: Number.NaN },
  ])('refused: %j', (change) => {
    const route = planRoute([0, 0], [[1, 1]], quiet);
    expect(() => shareRoute([0, 0], [[1, 1]], route, { ...pace, ...change }, quiet)).toThrow(/must be/);
  });
});

test('an order cut where it stands: no other cut of it has a shorter longest piece', () => {
  const places: PositionM[] = Array.from({ length: 9 }, (_, i) => [(i * 7) % 11, (i * 5) % 13]);
  const pace = { minutesPerTest: 4, walkingMetresPerMinute: 2, instruments: 3, days: 1 };
  const start: PositionM = [0, 0];
  const minutes = (piece: readonly PositionM[]) => {
    const stops = [start, ...piece, start];
    const lengthM = stops.slice(1).reduce((sum, [x, y], i) => {
      const [u, v] = stops[i] as PositionM;
      return sum + Math.hypot(x - u, y - v);
    }, 0);
    return lengthM / 2 + 4 * piece.length;
  };
  let least = Number.POSITIVE_INFINITY;
  for (let a = 1; a < 8; a++) {
    for (let b = a + 1; b < 9; b++) {
      const pieces = [places.slice(0, a), places.slice(a, b), places.slice(b)];
      least = Math.min(least, Math.max(...pieces.map(minutes)));
    }
  }
  const cut = cutOrder(start, places, pace);
  expect(cut.sizes.reduce((sum, size) => sum + size, 0)).toBe(9);
  expect(cut.longestMinutes).toBeLessThanOrEqual(least * 1.001);
});
