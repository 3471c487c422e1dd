import { expect, test } from 'vitest';
import { quantile } from '../../../core/classify/quantile.ts';
import type { PolygonM, PositionM } from '../../../core/contract/model.ts';
import { krige } from '../../../core/geostat/krige.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import { prepareSimulation, simulateInto } from '../../../core/geostat/simulate.ts';
import {
  expectedDoubt,
  type NextByClassRequest,
  proposeNextByClass,
} from '../../../core/plan/next-by-class.ts';
import { polygonBlock } from '../geostat/block.ts';
import { seededNormal } from '../geostat/simulate.ts';

const quiet = { stopped: () => false, progress: () => {} };
const lot: PolygonM[] = [
  [
    [
      [0, 0],
      [30, 0],
      [30, 20],
      [0, 20],
    ],
  ],
];
const model: VariogramModel = {
  nugget: 0,
  structures: [{ kind: 'spherical', partialSill: 25, rangeM: 18 }],
};
const measured: PositionM[] = [
  [4, 4],
  [4, 14],
  [9, 9],
  [12, 4],
  [12, 16],
];
const errorVariance = 2;
const pointsAt = (places: readonly PositionM[]) => ({
  xy: Float64Array.from(places.flat()),
  values: Float64Array.from(places, ([x, y], i) => 40 + x / 5 - y / 6 + (i % 3)),
  errorVariances: new Float64Array(places.length).fill(errorVariance),
});
const request: NextByClassRequest = {
  points: pointsAt(measured),
  surface: { method: 'kriging', members: [{ model, transform: 'none', weight: 1 }], options: {} },
  count: 2,
  ground: lot,
  target: lot,
  statistic: { kind: 'mean' },
  limits: [42],
  occupied: measured,
  seed: 3,
};
/** Centres of square cells over the lot. */
const cellsOf = (stepM: number): PositionM[] => {
  const out: PositionM[] = [];
  for (let y = stepM / 2; y < 20; y += stepM) for (let x = stepM / 2; x < 30; x += stepM) out.push([x, y]);
  return out;
};

// The mean of normal ground is normal with its readings: what is left of its variance is the variance of block kriging,
// which no realisation enters.
test('for a mean, as good as the best of all pairs by block kriging, and the fall is told right', () => {
  const [polygon] = lot;
  const block = polygonBlock(polygon ?? [], 96);
  const exact = (places: readonly PositionM[]) =>
    krige(pointsAt(places), model, Float64Array.of(0, 0), { block }).variance[0] ?? 0;
  const places = cellsOf(3.3);
  let best = Number.POSITIVE_INFINITY;
  places.forEach((a, i) => {
    for (const b of places.slice(0, i)) best = Math.min(best, exact([...measured, a, b]));
  });
  const next = proposeNextByClass(request, quiet);
  const found = exact([...measured, ...next.added.map((p) => p.positionM)]);
  expect(found).toBeLessThan(best * 1.04);
  // 1500 realisations: a variance is known to 3.7 % (one standard error), its ratio to another better.
  expect(next.sdBefore ** 2 / exact(measured)).toBeGreaterThan(0.88);
  expect(next.sdBefore ** 2 / exact(measured)).toBeLessThan(1.12);
  expect(Math.abs((next.sdAfter / next.sdBefore) ** 2 - found / exact(measured))).toBeLessThan(0.05);
  expect(next.doubtAfter ?? 1).toBeLessThan(next.doubtBefore ?? 0);
}, 30_000);

// Without any regression: each realisation in turn is the truth, the others are weighed by how well they agree with what
// the probe would then have read (Bayes' rule), and what is left of the variance of the statistic is averaged.
test('for a third quartile, nearly as good as the best of all places by weighing realisations', () => {
  const candidates = cellsOf(2.5);
  const targets = cellsOf(1.25);
  // 2.5 m cells do not lie on the centres of those of 1.25 m: the nearest of these stands for each.
  const index = candidates.map(([x, y]) =>
    targets.reduce((b, [u, v], i) => {
      const [p, q] = targets[b] ?? [0, 0];
      return Math.hypot(u - x, v - y) < Math.hypot(p - x, q - y) ? i : b;
    }, 0),
  );
  const realisations = 700;
  const drawn = new Float64Array(realisations * targets.length);
  const simulation = prepareSimulation(request.points, request.surface, {
    cellsXy: Float64Array.from(targets.flat()),
    seed: 91,
    realisations,
  });
  simulateInto(simulation, 0, realisations, drawn);
  const own = (r: number) => drawn.subarray(r * targets.length, (r + 1) * targets.length);
  const statistic = Float64Array.from({ length: realisations }, (_, r) =>
    quantile(own(r), 0.75, 'linear-n-1'),
  );
  const normal = seededNormal(4);
  const noise = Float64Array.from({ length: realisations }, () => Math.sqrt(errorVariance) * normal());
  const variance = (weights: Float64Array) => {
    let [sum, first, second] = [0, 0, 0];
    weights.forEach((w, r) => {
      const s = statistic[r] ?? 0;
      sum += w;
      first += w * s;
      second += w * s * s;
    });
    return second / sum - (first / sum) ** 2;
  };
  const weights = new Float64Array(realisations);
  const left = index.map((cell) => {
    const z = Float64Array.from({ length: realisations }, (_, r) => own(r)[cell] ?? 0);
    let sum = 0;
    for (let truth = 0; truth < realisations; truth += 2) {
      const read = (z[truth] ?? 0) + (noise[truth] ?? 0);
      z.forEach((value, r) => {
        weights[r] = r === truth ? 0 : Math.exp(-((value - read) ** 2) / (2 * errorVariance));
      });
      sum += variance(weights);
    }
    return sum / (realisations / 2);
  });
  const before = variance(weights.fill(1));
  const bestFall = before - Math.min(...left);
  const asked = { ...request, count: 1, statistic: { kind: 'quantile', p: 0.75 } as const };
  const [place] = proposeNextByClass(asked, quiet).added;
  const [x, y] = place?.positionM ?? [0, 0];
  const nearest = candidates.reduce((b, [u, v], i) => {
    const [p, q] = candidates[b] ?? [0, 0];
    return Math.hypot(u - x, v - y) < Math.hypot(p - x, q - y) ? i : b;
  }, 0);
  expect(before - (left[nearest] ?? before)).toBeGreaterThan(0.85 * bestFall);
  // A place that tells little is told apart from it: the choice is not among equals.
  expect(before - Math.max(...left)).toBeLessThan(0.5 * bestFall);
}, 30_000);

// Two normals with correlation rho have different signs with probability arccos(rho) / pi (Sheppard 1898).
test('the doubt left follows the orthant probability of a normal pair', () => {
  for (const left of [1, 0.8, 0.5, 0.2, 0.01]) {
    const rho = Math.sqrt(1 - left);
    expect(expectedDoubt(0, 1, left, [0])).toBeCloseTo(Math.acos(rho) / Math.PI, 3);
  }
  // Far from every limit, or in the middle of three classes.
  expect(expectedDoubt(10, 1, 1, [0])).toBeLessThan(1e-6);
  expect(expectedDoubt(0, 1, 1, [-1, 1])).toBeCloseTo(0.3173, 3);
});

test('no room, a number that is none, and no points are refused in words', () => {
  expect(() => proposeNextByClass({ ...request, count: 0 }, quiet)).toThrow(/whole number/);
  expect(() => proposeNextByClass({ ...request, apartM: 40 }, quiet)).toThrow(/room for about 0/);
  const nothing = { ...request, points: pointsAt([]) };
  expect(() => proposeNextByClass(nothing, quiet)).toThrow(/Nothing is measured/);
});
