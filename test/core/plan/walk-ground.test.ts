import RelateOp from 'jsts/org/locationtech/jts/operation/relate/RelateOp.js';
import { describe, expect, test } from 'vitest';
import type { KeepOut, PolygonM, PositionM, RingM } from '../../../core/contract/model.ts';
import { lineGeometry, polygonsGeometry } from '../../../core/geo/jsts.ts';
import { cutOrder, shareRoute } from '../../../core/plan/split-route.ts';
import { walkBarriers, walkGround } from '../../../core/plan/walk-ground.ts';
import { planRoute } from '../../../core/plan/walking-order.ts';
import { seededUniform } from '../geostat/simulate.ts';

const quiet = { stopped: () => false, progress: () => {} };
const far = (a: PositionM, b: PositionM) => Math.hypot(a[0] - b[0], a[1] - b[1]);
const area = (...points: PositionM[]): KeepOut => ({
  id: 'a',
  label: 'area',
  shape: 'polygon',
  points,
  bufferM: 2,
});
const line = (...points: PositionM[]): KeepOut => ({ ...area(...points), shape: 'line' });
const house = area([8, -3], [12, -3], [12, 5], [8, 5]);
const lengthOf = (keepOuts: readonly KeepOut[], ...stops: PositionM[]) =>
  walkGround(walkBarriers(keepOuts)).line(stops).lengthM;

describe('a way round', () => {
  const round = 2 * Math.hypot(8, 3) + 4;

  test('a rectangle: by its nearer side, as worked out by hand; the strip round it is walked over', () => {
    const ground = walkGround(walkBarriers([house]));
    const { points, lengthM, forcedLegs } = ground.line([
      [0, 0],
      [20, 0],
    ]);
    expect(lengthM).toBeCloseTo(round, 2);
    expect(lengthM).toBeGreaterThanOrEqual(round);
    expect(forcedLegs).toBe(0);
    expect(points.map(([x, y]) => [Math.round(x), Math.round(y)])).toEqual([
      [0, 0],
      [8, -3],
      [12, -3],
      [20, 0],
    ]);
    expect(
      ground.distances([
        [0, 0],
        [20, 0],
      ])[1],
    ).toBeCloseTo(lengthM, 9);
  });

  test('along a wall, and to a probe on it, is no way through it', () => {
    expect(lengthOf([house], [0, -3], [20, -3])).toBeCloseTo(20, 2);
    expect(lengthOf([house], [8, 0], [0, 0])).toBeCloseTo(8, 2);
    expect(lengthOf([house], [8, 0], [12, 0])).toBeCloseTo(3 + 4 + 3, 1);
  });

  test('an area is walked round and a service over, unless said otherwise; a fence by its end', () => {
    const service = line([10, -50], [10, 50]);
    expect(lengthOf([service], [0, 0], [20, 0])).toBe(20);
    expect(lengthOf([{ ...house, blocksWalk: false }], [0, 0], [20, 0])).toBe(20);
    const fence = { ...line([10, -4], [10, 50]), blocksWalk: true };
    expect(lengthOf([fence], [0, 0], [20, 0])).toBeCloseTo(2 * Math.hypot(10, 4), 0);
  });

  test('two that touch are one: no way between them', () => {
    const next = area([8, 5], [12, 5], [12, 40], [8, 40]);
    expect(lengthOf([house, next], [0, 4], [20, 4])).toBeCloseTo(2 * Math.hypot(8, 7) + 4, 2);
  });

  test('a bay: out of it and round', () => {
    const bay = area([0, 0], [10, 0], [10, 8], [8, 8], [8, 2], [2, 2], [2, 8], [0, 8]);
    expect(lengthOf([bay], [5, 3], [5, -1])).toBeCloseTo(Math.hypot(3, 5) + 2 + 8 + Math.hypot(5, 1), 1);
  });

  test('a place inside is left by the nearest edge; a closed yard is said', () => {
    expect(lengthOf([house], [9, 0], [0, 0])).toBeCloseTo(9, 2);
    expect(lengthOf([house], [9, 0], [11, 0])).toBe(2);
    const yard: PolygonM[] = [
      [
        [
          [0, 0],
          [10, 0],
          [10, 10],
          [0, 10],
        ],
        [
          [2, 2],
          [2, 8],
          [8, 8],
          [8, 2],
        ],
      ],
    ];
    const walk = walkGround(yard).line([
      [5, 5],
      [20, 5],
    ]);
    expect(walk.forcedLegs).toBe(1);
    expect(walk.lengthM).toBe(15);
  });

  test('random houses: as short as the shortest of all orders of corners that the planar library lets through', () => {
    for (let seed = 1; seed <= 12; seed++) {
      const uniform = seededUniform(seed);
      const rings = [0, 1].map((k): RingM => {
        const [cx, cy, turn] = [8 + 14 * k, 10 * uniform(), uniform()];
        return [0, 1, 2].map((i): PositionM => {
          const t = turn + (i * 2 * Math.PI) / 3 + uniform();
          return [cx + 5 * Math.cos(t), cy + 5 * Math.sin(t)];
        });
      });
      const [from, to]: PositionM[] = [
        [0, 10 * uniform()],
        [30, 10 * uniform()],
      ];
      const solid = polygonsGeometry(rings.map((ring) => [ring]));
      const open = (a: PositionM, b: PositionM) =>
        far(a, b) < 1e-9 || !RelateOp.relate(lineGeometry([a, b]), solid).matches('T********');
      let best = Infinity;
      const visit = (at: PositionM, left: readonly PositionM[], walked: number) => {
        if (walked + far(at, to as PositionM) >= best) return;
        if (open(at, to as PositionM)) best = walked + far(at, to as PositionM);
        left.forEach((next, i) => {
          if (open(at, next)) visit(next, left.toSpliced(i, 1), walked + far(at, next));
        });
      };
      visit(from as PositionM, rings.flat(), 0);
      const found = walkGround(rings.map((ring) => [ring])).line([from as PositionM, to as PositionM]);
      expect(found.lengthM).toBeGreaterThan(best - 1e-6);
      expect(found.lengthM).toBeLessThan(best + 0.02);
    }
  });
});

describe('rounds with something in the way', () => {
  const barriers = walkBarriers([house, area([20, 10], [34, 10], [34, 14], [20, 14])]);
  const ground = walkGround(barriers);
  const uniform = seededUniform(4);
  const probes = Array.from({ length: 60 }, (): PositionM => [40 * uniform(), 30 * uniform()]);
  const pace = { minutesPerTest: 20, walkingMetresPerMinute: 50, instruments: 2, days: 1 };
  const start: PositionM = [0, 0];

  test('order, hours and line are of the same walk; 60 probes are planned at once', () => {
    const began = process.cpuUsage().user;
    const route = planRoute(start, probes, quiet, ground);
    expect((process.cpuUsage().user - began) / 1e6).toBeLessThan(2);
    expect(route.line.lengthM).toBeCloseTo(route.lengthM, 6);
    expect(route.lengthM).toBeGreaterThanOrEqual(route.lowerBoundM);
    const straight = planRoute(start, probes, quiet);
    const overHouses = ground.line([start, ...straight.order.map((i) => probes[i] as PositionM), start]);
    expect(route.lengthM).toBeLessThanOrEqual(overHouses.lengthM + 1e-9);
    const work = shareRoute(start, probes, route, pace, quiet, ground);
    for (const part of work.parts) {
      expect(part.route.line.lengthM).toBeCloseTo(part.route.lengthM, 6);
      expect(part.minutes).toBeCloseTo(part.route.order.length * 20 + part.route.line.lengthM / 50, 6);
    }
    const cut = cutOrder(start, probes, pace, ground);
    expect(cut.line.lengthM).toBeGreaterThan(cutOrder(start, probes, pace).line.lengthM);
    expect(cut.sizes.reduce((a, b) => a + b, 0)).toBe(60);
  });
});
