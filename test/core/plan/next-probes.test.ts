import { describe, expect, test } from 'vitest';
import type { PolygonM, PositionM, RingM } from '../../../core/contract/model.ts';
import { krige } from '../../../core/geostat/krige.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import { gridPointsInside, prepareGround } from '../../../core/plan/ground-test.ts';
import { type NextProbesRequest, proposeNextProbes } from '../../../core/plan/next-probes.ts';
import { prepareVarianceUpdate } from '../../../core/plan/variance-update.ts';
import { seededUniform } from '../geostat/simulate.ts';

const quiet = { stopped: () => false, progress: () => {} };
const rectangle = (x: number, y: number, w: number, h: number): RingM => [
  [x, y],
  [x + w, y],
  [x + w, y + h],
  [x, y + h],
];
const model: VariogramModel = {
  nugget: 0.15,
  structures: [{ kind: 'exponential', partialSill: 0.85, rangeM: 9 }],
};
const lot: PolygonM[] = [[rectangle(0, 0, 40, 30)]];
const measured: PositionM[] = Array.from({ length: 16 }, (_, k) => [
  4 + (k % 4) * 4,
  4 + Math.floor(k / 4) * 4,
]);

function pointSet(positions: readonly PositionM[], errorVariance = 0) {
  return {
    xy: Float64Array.from(positions.flat()),
    values: new Float64Array(positions.length),
    errorVariances: new Float64Array(positions.length).fill(errorVariance),
  };
}
const request: NextProbesRequest = {
  points: pointSet(measured),
  members: [{ model, transform: 'none', weight: 1 }],
  count: 4,
  ground: lot,
  target: lot,
  criterion: 'mean',
  occupied: measured,
};

/** By solving the whole kriging system again; places off every probe. */
function variances(positions: readonly PositionM[], by: VariogramModel, errorVariance = 0): Float64Array {
  const places = gridPointsInside(lot, 1.93);
  return krige(pointSet(positions, errorVariance), by, Float64Array.from(places.flat())).variance;
}
const mean = (values: Float64Array) => values.reduce((s, v) => s + v, 0) / values.length;

describe('variance after added samples', () => {
  const uniform = seededUniform(11);
  const anywhere = (count: number) =>
    Array.from({ length: count }, (): PositionM => [uniform() * 40, uniform() * 30]);

  test.each(['constant', 'linear'] as const)('drift %s: the same as kriging from all of them', (drift) => {
    const data = anywhere(14);
    const candidates = anywhere(12);
    const targets = anywhere(30);
    const update = prepareVarianceUpdate(pointSet(data, 0.02), model, drift, 0.02, candidates, targets);
    const known = [...data];
    const compare = () => {
      const { variance } = krige(pointSet(known, 0.02), model, Float64Array.from(targets.flat()), { drift });
      variance.forEach((v, e) => void expect(update.targetVariance[e]).toBeCloseTo(v, 10));
    };
    compare();
    for (const c of [3, 7, 0, 11]) {
      update.add(c);
      known.push(candidates[c] as PositionM);
      compare();
    }
    update.reset();
    known.length = 14;
    compare();
  });
});

describe('next probes', () => {
  test('expected variances are those of kriging with them; each gain is what it lowers', () => {
    const found = proposeNextProbes(request, quiet);
    expect(found.added).toHaveLength(4);
    const all = [...measured, ...found.added.map((a) => a.positionM)];
    expect(found.before.mean).toBeCloseTo(mean(variances(measured, model)), 2);
    expect(found.after.mean).toBeCloseTo(mean(variances(all, model)), 2);
    const gained = found.added.reduce((sum, a) => sum + a.gain, 0);
    expect(gained).toBeCloseTo(1 - found.after.mean / found.before.mean, 12);
    expect(found.added.map((a) => a.gain)).toEqual(found.added.map((a) => a.gain).sort((a, b) => b - a));
    expect(found.added.every((a) => a.added)).toBe(true);
    expect(structuredClone(found)).toEqual(found);
    expect(proposeNextProbes(request, quiet)).toEqual(found);
  });

  test('two probes: as good as the best of all pairs on a 2.5 m grid', () => {
    const found = proposeNextProbes({ ...request, count: 2 }, quiet);
    const places = gridPointsInside(lot, 2.5);
    const targets = gridPointsInside(lot, 1.93);
    const update = prepareVarianceUpdate(pointSet(measured), model, 'constant', 0, places, targets);
    let best = Infinity;
    for (let a = 0; a < places.length; a++) {
      update.reset();
      update.add(a);
      const now = mean(update.targetVariance);
      for (let b = a + 1; b < places.length; b++) {
        // the fall that b brings, without carrying the update out
        let squares = 0;
        for (let e = 0; e < targets.length; e++)
          squares += (update.cross[b * targets.length + e] as number) ** 2;
        best = Math.min(best, now - squares / update.spread(b) / targets.length);
      }
    }
    const own = mean(variances([...measured, ...found.added.map((p) => p.positionM)], model));
    expect(own).toBeLessThan(best * 1.002);
  }, 120_000);

  test('by worst variance the worst is lower than by mean, and the other way round', () => {
    const byMean = proposeNextProbes(request, quiet);
    const byWorst = proposeNextProbes({ ...request, criterion: 'worst' }, quiet);
    expect(byWorst.after.worst).toBeLessThan(byMean.after.worst);
    expect(byMean.after.mean).toBeLessThan(byWorst.after.mean);
  });

  test('only on allowed ground, off all probes, refused ones too, and off each other', () => {
    const ground: PolygonM[] = [[rectangle(0, 0, 22, 30)]];
    const refused: PositionM = [20, 25];
    const found = proposeNextProbes(
      { ...request, ground, count: 8, occupied: [...measured, refused], apartM: 3 },
      quiet,
    );
    const places = found.added.map((a) => a.positionM);
    const allowed = prepareGround(ground);
    places.forEach((p, i) => {
      expect(allowed.contains(...p)).toBe(true);
      for (const q of [...measured, refused, ...places.slice(0, i)])
        expect(Math.hypot(p[0] - q[0], p[1] - q[1])).toBeGreaterThanOrEqual(3 - 1e-9);
    });
  });

  test('a target of its own pulls the probes to it', () => {
    const house: PolygonM[] = [[rectangle(28, 18, 10, 10)]];
    const found = proposeNextProbes({ ...request, target: house }, quiet);
    for (const {
      positionM: [x, y],
    } of found.added) {
      expect(x).toBeGreaterThan(24);
      expect(y).toBeGreaterThan(14);
    }
  });

  test('several models: the average of what each expects', () => {
    const other: VariogramModel = {
      nugget: 0.4,
      structures: [{ kind: 'spherical', partialSill: 0.6, rangeM: 15 }],
    };
    const found = proposeNextProbes(
      {
        ...request,
        members: [
          { model, transform: 'none', weight: 3 },
          { model: other, transform: 'none', weight: 1 },
        ],
      },
      quiet,
    );
    const all = [...measured, ...found.added.map((a) => a.positionM)];
    const expected = 0.75 * mean(variances(all, model)) + 0.25 * mean(variances(all, other));
    expect(found.after.mean).toBeCloseTo(expected, 2);
  });

  const refused: [Partial<NextProbesRequest>, RegExp][] = [
    [{ points: pointSet([]) }, /Nothing is measured yet/],
    [{ count: 0 }, /0 more probes/],
    [{ count: 2.5 }, /2.5 more probes/],
    [{ count: 150, ground: [[rectangle(0, 0, 8, 8)]] }, /room for/],
    [{ members: [] }, /variogram model/],
    [{ ground: [] }, /ground for the next probes is empty/],
    [{ apartM: 100 }, /room for about 0/],
  ];
  test.each(refused)('refused: %#', (change, message) => {
    expect(() => proposeNextProbes({ ...request, ...change }, quiet)).toThrow(message);
  });

  test('stops when asked', () => {
    expect(() => proposeNextProbes(request, { ...quiet, stopped: () => true })).toThrow(/stopped/);
  });
});
