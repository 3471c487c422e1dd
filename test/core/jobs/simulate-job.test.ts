import { afterAll, expect, test } from 'vitest';
import { prepareSimulation, simulateInto } from '../../../core/geostat/simulate.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import type { SimulateInput } from '../../../core/jobs/simulate.ts';
import { seededUniform } from '../geostat/simulate.ts';

const oneThread = createJobRunner({ threads: 1 });
const twoThreads = createJobRunner({ threads: 2 });
afterAll(() => Promise.all([oneThread.close(), twoThreads.close()]));

const SIDE = 26;
function makeInput(realisations: number): SimulateInput {
  const uniform = seededUniform(12);
  const xy = Float64Array.from({ length: 50 }, () => 50 * uniform());
  const values = Float64Array.from({ length: 25 }, () => 10 + 30 * uniform());
  const model = (rangeM: number) => ({
    nugget: 0.02,
    structures: [{ kind: 'exponential' as const, partialSill: 0.2, rangeM }],
  });
  const members = [8, 15, 30].map((rangeM) => ({
    model: model(rangeM),
    transform: 'log' as const,
    weight: 1 / 3,
  }));
  return {
    points: {
      xy,
      values,
      lowerBounds: { xy: Float64Array.of(20, 20, 33, 8), bounds: Float64Array.of(35, 30) },
    },
    surface: { method: 'kriging', members, options: {}, errorFactor: 1.2 },
    cellsXy: Float64Array.from({ length: 2 * SIDE * SIDE }, (_, k) =>
      k % 2 === 0 ? 1 + 2 * ((k >> 1) % SIDE) : 1 + 2 * Math.floor((k >> 1) / SIDE),
    ),
    seed: 7,
    realisations,
    commonURel: 0.05,
    limits: [20, 30],
    quantiles: [0, 0.5, 1],
  };
}
const bytes = (values: Float64Array) => Buffer.from(values.buffer, values.byteOffset, values.byteLength);

test('the same bytes with one thread, with two, and without jobs', async () => {
  const input = makeInput(150);
  const direct = new Float64Array(150 * SIDE * SIDE);
  simulateInto(prepareSimulation(input.points, input.surface, input), 0, 150, direct);
  for (const runner of [oneThread, twoThreads]) {
    const { ensemble } = await runner.run('simulate', input);
    expect(bytes(ensemble).equals(bytes(direct))).toBe(true);
    expect(ensemble.buffer).toBeInstanceOf(SharedArrayBuffer);
  }
});

test('mean, deviation, shares and quantiles are those of the realisations', async () => {
  const count = 101;
  const out = await twoThreads.run('simulate', makeInput(count));
  const cells = SIDE * SIDE;
  for (const c of [0, 77, cells - 1]) {
    const values = Float64Array.from(
      { length: count },
      (_, r) => out.ensemble[r * cells + c] as number,
    ).sort();
    const mean = values.reduce((s, v) => s + v, 0) / count;
    expect(out.mean[c]).toBeCloseTo(mean, 9);
    expect(out.standardDeviation[c]).toBeCloseTo(
      Math.sqrt(values.reduce((s, v) => s + (v - mean) ** 2, 0) / (count - 1)),
      9,
    );
    expect(out.exceedance[1]?.[c]).toBeCloseTo(values.filter((v) => v > 30).length / count, 12);
    expect(out.quantiles.map((q) => q[c])).toEqual([values[0], values[50], values[100]]);
  }
});

test('what does not fit into memory is refused, and a stop is heard', async () => {
  await expect(oneThread.run('simulate', makeInput(1_000_000))).rejects.toMatchObject({ code: 'BAD_INPUT' });
  const abort = new AbortController();
  const job = twoThreads.run('simulate', makeInput(20_000), {
    signal: abort.signal,
    onProgress: () => abort.abort(),
  });
  await expect(job).rejects.toMatchObject({ code: 'CANCELLED' });
});
