import { afterAll, describe, expect, test } from 'vitest';
import { chooseModel } from '../../../core/geostat/auto-model.ts';
import { defaultLags, empiricalVariogram, sparseLags } from '../../../core/geostat/empirical-variogram.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import { type ModelMember, transformPoints } from '../../../core/geostat/plausible-models.ts';
import {
  crossValidateSurface,
  predictSurface,
  type SurfaceMethod,
} from '../../../core/geostat/predict-surface.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';

const oneThread = createJobRunner({ threads: 1 });
const twoThreads = createJobRunner({ threads: 2 });
afterAll(() => Promise.all([oneThread.close(), twoThreads.close()]));

/** Made up: points from a fixed recurrence, and a square of cells over them. */
function makeCase(pointCount: number, side: number) {
  let seed = 12345;
  const next = () => {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    return seed / 2147483648;
  };
  const xy = Float64Array.from({ length: 2 * pointCount }, () => next() * 100);
  const values = Float64Array.from(
    { length: pointCount },
    (_, i) => 30 + 10 * Math.sin((xy[2 * i] ?? 0) / 20) + next(),
  );
  const errorVariances = Float64Array.from({ length: pointCount }, () => next() * 4);
  const step = 100 / (side - 1);
  const cellsXy = Float64Array.from({ length: 2 * side * side }, (_, i) =>
    i % 2 === 0 ? ((i / 2) % side) * step : Math.floor(i / 2 / side) * step,
  );
  return { points: { xy, values, errorVariances }, cellsXy };
}

function makeModel(partialSill: number, rangeM: number): VariogramModel {
  return { nugget: partialSill / 50, structures: [{ kind: 'spherical', partialSill, rangeM }] };
}

const plain: ModelMember = { model: makeModel(50, 40), transform: 'none', weight: 1 };
const log: ModelMember = { model: makeModel(0.06, 30), transform: 'log', weight: 1 };
const half = (member: ModelMember): ModelMember => ({ ...member, weight: 0.5 });

const surfaces: readonly [string, SurfaceMethod][] = [
  ['one model, all points', { method: 'kriging', members: [plain], options: {} }],
  ['one model of the logarithm', { method: 'kriging', members: [log], options: {} }],
  [
    'two models averaged',
    { method: 'kriging', members: [half(plain), half(log)], options: {}, errorFactor: 1.3 },
  ],
  ['a drift', { method: 'kriging', members: [plain], options: { drift: 'linear' } }],
  ['nearest points', { method: 'kriging', members: [plain], options: { neighbourhood: { nearest: 12 } } }],
  ['IDW', { method: 'idw', options: { power: 2 } }],
];

const bytes = (values: Float64Array) => Buffer.from(values.buffer, values.byteOffset, values.byteLength);

describe('a surface by tiles', () => {
  test.each(surfaces)(
    '%s: the same bytes with one thread, with two, and without jobs',
    async (_, surface) => {
      const input = { ...makeCase(60, 41), surface, limit: 33 };
      const direct = predictSurface(input.points, surface, input.cellsXy, { limit: 33 });
      const results = await Promise.all([
        oneThread.run('surface-tiles', input),
        twoThreads.run('surface-tiles', input),
      ]);
      for (const result of results) {
        for (const part of ['estimate', 'standardError', 'exceedance'] as const) {
          expect(bytes(result[part] as Float64Array).equals(bytes(direct[part] as Float64Array)), part).toBe(
            true,
          );
        }
        expect(result.estimate.every(Number.isFinite)).toBe(true);
      }
    },
  );

  test('many points are treated as without jobs', async () => {
    const input = { ...makeCase(1600, 6), surface: surfaces[0]?.[1] as SurfaceMethod };
    const direct = predictSurface(input.points, input.surface, input.cellsXy);
    const result = await twoThreads.run('surface-tiles', input);
    expect(result.estimate).toEqual(direct.estimate);
    expect(result.exceedance).toBeNull();
  });

  test('cancelling ends it long before its time', async () => {
    const abort = new AbortController();
    const shares: number[] = [];
    const job = twoThreads.run(
      'surface-tiles',
      { ...makeCase(600, 200), surface: surfaces[0]?.[1] as SurfaceMethod },
      {
        signal: abort.signal,
        onProgress: (done) => {
          shares.push(done);
          abort.abort();
        },
      },
    );
    await expect(job).rejects.toMatchObject({ code: 'CANCELLED' });
    expect(shares[0]).toBeLessThan(0.5);
  });

  test('what cannot be kriged is refused with its place', async () => {
    const points = { xy: Float64Array.of(0, 0, 0, 0), values: Float64Array.of(1, 2) };
    const bare = { ...plain, model: { ...plain.model, nugget: 0 } };
    const surface: SurfaceMethod = { method: 'kriging', members: [bare], options: {} };
    await expect(
      oneThread.run('surface-tiles', { points, cellsXy: Float64Array.of(1, 1), surface }),
    ).rejects.toMatchObject({ code: 'SINGULAR', details: { distanceM: 0 } });
  });
});

test.each(surfaces)('cross-validation in a worker is the one without: %s', async (_, surface) => {
  const { points } = makeCase(60, 2);
  expect(await oneThread.run('cross-validate', { points, surface })).toEqual(
    crossValidateSurface(points, surface),
  );
});

describe('choosing a model in a worker', () => {
  test('is the choice made without, with the variogram of the values chosen', async () => {
    const { points } = makeCase(60, 2);
    const { choice, variogram } = await oneThread.run('choose-model', { points, options: {} });
    expect(choice).toEqual(chooseModel(points));
    const data = transformPoints(choice.points, choice.transform);
    const lags = { ...sparseLags(data), minimumPairs: 10 };
    expect(variogram?.empirical).toEqual(empiricalVariogram(data, lags));
    expect(variogram?.fitted?.model.structures[0]?.kind).toBe(
      choice.model?.structures[0]?.kind ?? 'exponential',
    );
  });

  test('without a model has no variogram', async () => {
    const points = { xy: Float64Array.of(0, 0, 5, 5), values: Float64Array.of(10, 20) };
    expect(await oneThread.run('choose-model', { points, options: {} })).toMatchObject({
      choice: { method: 'idw' },
      variogram: null,
    });
  });

  test('too few bins give no fitted curve, and many points the usual lags', async () => {
    const few = { xy: Float64Array.of(0, 0, 5, 0, 0, 5), values: Float64Array.of(10, 20, 15) };
    const shape = { kind: 'spherical' as const };
    expect(
      await oneThread.run('describe-variogram', { points: few, transform: 'none', shape }),
    ).toMatchObject({ fitted: null });
    const { points } = makeCase(150, 2);
    const many = await oneThread.run('describe-variogram', { points, transform: 'log', shape });
    expect(many.empirical).toEqual(empiricalVariogram(transformPoints(points, 'log'), defaultLags(points)));
    expect(many.fitted?.model.structures[0]?.kind).toBe('spherical');
  });
});

test('choosing a model says how far it is and hears a stop', async () => {
  const { points } = makeCase(300, 2);
  const abort = new AbortController();
  const shares: number[] = [];
  const job = oneThread.run(
    'choose-model',
    { points, options: {} },
    {
      signal: abort.signal,
      onProgress: (done) => {
        shares.push(done);
        if (done > 0) abort.abort();
      },
    },
  );
  await expect(job).rejects.toMatchObject({ code: 'CANCELLED' });
  expect(shares.at(-1)).toBeGreaterThan(0);
  expect(shares.at(-1)).toBeLessThan(0.7);
});
