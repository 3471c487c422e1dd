import { afterAll, describe, expect, test } from 'vitest';
import { interpolateIdw } from '../../../core/geostat/idw.ts';
import { krige } from '../../../core/geostat/krige.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import type { SurfaceMethod } from '../../../core/jobs/surface-tiles.ts';

const oneThread = createJobRunner({ threads: 1 });
const twoThreads = createJobRunner({ threads: 2 });
afterAll(() => Promise.all([oneThread.close(), twoThreads.close()]));

/** Made up: 60 points and 41 x 41 cells from a fixed recurrence. */
function makeCase() {
  let seed = 12345;
  const next = () => {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    return seed / 2147483648;
  };
  const xy = Float64Array.from({ length: 120 }, () => next() * 100);
  const values = Float64Array.from(
    { length: 60 },
    (_, i) => 30 + 10 * Math.sin((xy[2 * i] ?? 0) / 20) + next(),
  );
  const errorVariances = Float64Array.from({ length: 60 }, () => next() * 4);
  const cellsXy = new Float64Array(41 * 41 * 2);
  for (let i = 0; i < 41 * 41; i++) {
    cellsXy[2 * i] = (i % 41) * 2.5;
    cellsXy[2 * i + 1] = Math.floor(i / 41) * 2.5;
  }
  return { points: { xy, values, errorVariances }, cellsXy };
}

const model: VariogramModel = { nugget: 1, structures: [{ kind: 'spherical', partialSill: 50, rangeM: 40 }] };
const methods: readonly [string, SurfaceMethod][] = [
  ['kriging, all points', { kind: 'kriging', model, options: {} }],
  ['kriging, nearest', { kind: 'kriging', model, options: { neighbourhood: { nearest: 12 } } }],
  ['kriging, drift', { kind: 'kriging', model, options: { drift: 'linear' } }],
  ['IDW', { kind: 'idw', options: { power: 2 } }],
];

describe.each(methods)('%s', (_, method) => {
  test('one thread, two threads and none give the same bytes', async () => {
    const { points, cellsXy } = makeCase();
    const input = { points, cellsXy, method };
    const one = await oneThread.run('surface-tiles', input);
    const two = await twoThreads.run('surface-tiles', input);
    const bytes = (values: Float64Array) => Buffer.from(values.buffer, values.byteOffset, values.byteLength);
    for (const part of ['estimate', 'variance', 'lagrange'] as const) {
      expect(bytes(one[part]).equals(bytes(two[part]))).toBe(true);
    }
    const direct =
      method.kind === 'idw'
        ? interpolateIdw(points, cellsXy, method.options)
        : krige(points, method.model, cellsXy, method.options).estimate;
    expect(bytes(one.estimate).equals(bytes(direct))).toBe(true);
    expect(one.estimate.every(Number.isFinite)).toBe(true);
  });
});

test('what cannot be kriged is refused with its place', async () => {
  const points = { xy: Float64Array.of(0, 0, 0, 0), values: Float64Array.of(1, 2) };
  const bare: VariogramModel = { nugget: 0, structures: [{ kind: 'spherical', partialSill: 1, rangeM: 10 }] };
  await expect(
    oneThread.run('surface-tiles', {
      points,
      cellsXy: Float64Array.of(1, 1),
      method: { kind: 'kriging', model: bare, options: {} },
    }),
  ).rejects.toMatchObject({ code: 'SINGULAR', details: { distanceM: 0 } });
});
