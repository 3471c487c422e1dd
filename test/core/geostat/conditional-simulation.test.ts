import { describe, expect, test } from 'vitest';
import { empiricalVariogram } from '../../../core/geostat/empirical-variogram.ts';
import { krige } from '../../../core/geostat/krige.ts';
import type { ModelMember } from '../../../core/geostat/plausible-models.ts';
import type { PointSet } from '../../../core/geostat/points.ts';
import { predictSurface, type SurfaceMethod } from '../../../core/geostat/predict-surface.ts';
import { prepareSimulation, type SimulationRequest, simulateInto } from '../../../core/geostat/simulate.ts';
import { caseModel, gridXy, interleave, logZinc, meuseXy, readJson, readTable } from './reference.ts';
import { seededNormal, seededUniform, simulateField } from './simulate.ts';

function draw(points: PointSet, surface: SurfaceMethod, request: SimulationRequest): Float64Array {
  const out = new Float64Array(request.realisations * (request.cellsXy.length / 2));
  simulateInto(prepareSimulation(points, surface, request), 0, request.realisations, out);
  return out;
}

function moments(ensemble: Float64Array, count: number) {
  const cells = ensemble.length / count;
  const mean = new Float64Array(cells);
  const sd = new Float64Array(cells);
  for (let c = 0; c < cells; c++) {
    for (let r = 0; r < count; r++)
      mean[c] = (mean[c] as number) + (ensemble[r * cells + c] as number) / count;
    let squares = 0;
    for (let r = 0; r < count; r++)
      squares += ((ensemble[r * cells + c] as number) - (mean[c] as number)) ** 2;
    sd[c] = Math.sqrt(squares / (count - 1));
  }
  return { mean, sd };
}

/** Root mean square of (mean - expected) over its Monte Carlo error, its largest, and the extremes of sd ratios. */
function compare(ensemble: Float64Array, count: number, expected: Float64Array, expectedSd: Float64Array) {
  const { mean, sd } = moments(ensemble, count);
  const z = mean.map(
    (m, c) => (m - (expected[c] as number)) / ((expectedSd[c] as number) / Math.sqrt(count)),
  );
  const ratio = sd.map((s, c) => s / (expectedSd[c] as number));
  return {
    rmsZ: Math.sqrt(z.reduce((s, v) => s + v * v, 0) / z.length),
    worstZ: z.reduce((m, v) => Math.max(m, Math.abs(v)), 0),
    lowRatio: ratio.reduce((m, v) => Math.min(m, v), 9),
    highRatio: ratio.reduce((m, v) => Math.max(m, v), 0),
    meanRatio: ratio.reduce((s, v) => s + v, 0) / ratio.length,
  };
}

const alone = (member: Omit<ModelMember, 'weight'>, options = {}): SurfaceMethod => ({
  method: 'kriging',
  members: [{ ...member, weight: 1 }],
  options,
});

describe('against the reference (R gstat on meuse: test/reference/geostat/README.md)', () => {
  const COUNT = 400;
  const points = { xy: meuseXy, values: logZinc };
  const reference = readTable('simulation-summary.csv');
  const cellsXy = interleave(reference.column('x'), reference.column('y'));
  const { model } = caseModel('ok-sph-global');
  // README: mean within 4 standard errors, sd within 4 standard errors of its own
  const sdTolerance = 4 / Math.sqrt(2 * (COUNT - 1));
  test.each([
    ['ordinary', 'ok', {}],
    ['simple', 'sk', { knownMean: 5.9 }],
  ])('%s kriging: mean and sd of 20 cells', (_name, prefix, options) => {
    const ensemble = draw(points, alone({ model, transform: 'none' }, options), { cellsXy, seed: 11, realisations: COUNT }); // biome-ignore format: one line
    const found = compare(
      ensemble,
      COUNT,
      reference.column(`${prefix}_pred`),
      reference.column(`${prefix}_sd`),
    );
    expect(found.worstZ).toBeLessThan(4);
    expect(found.rmsZ).toBeLessThan(1.6);
    expect(found.lowRatio).toBeGreaterThan(1 - sdTolerance);
    expect(found.highRatio).toBeLessThan(1 + sdTolerance);
    // the reference's own 200 realisations, which carry the Monte Carlo error of both
    const theirs = reference.column(`${prefix}global_mean`);
    const sd = reference.column(`${prefix}_sd`);
    const { mean } = moments(ensemble, COUNT);
    mean.forEach((m, c) => {
      const error = (sd[c] as number) * Math.sqrt(1 / COUNT + 1 / 200);
      expect(Math.abs(m - (theirs[c] as number)) / error).toBeLessThan(4);
    });
  });
  test('simple kriging: covariances between cells', () => {
    const count = 4000;
    const covariance = readTable('simulation-sk-covariance.csv');
    const cells = cellsXy.length / 2;
    const expected = Array.from({ length: cells }, (_, i) =>
      Object.values(covariance.rows[i] as object).map(Number),
    );
    const ensemble = draw(points, alone({ model, transform: 'none' }, { knownMean: 5.9 }), { cellsXy, seed: 2, realisations: count }); // biome-ignore format: one line
    const { mean } = moments(ensemble, count);
    for (let a = 0; a < cells; a++)
      for (let b = 0; b <= a; b++) {
        let sum = 0;
        for (let r = 0; r < count; r++)
          sum += ((ensemble[r * cells + a] as number) - (mean[a] as number)) * ((ensemble[r * cells + b] as number) - (mean[b] as number)); // biome-ignore format: one line
        const at = (i: number, j: number) => (expected[i] as number[])[j] as number;
        const error = Math.sqrt((at(a, a) * at(b, b) + at(a, b) ** 2) / count);
        expect(Math.abs(sum / (count - 1) - at(a, b)) / error).toBeLessThan(4.5);
      }
  });
  test('variogram of the realisations on the grid', () => {
    const block = (readJson('cases.json') as { simulation: { mean_variogram_of_realisations: { dist: number[]; np: number[]; okglobal: number[] } } }).simulation.mean_variogram_of_realisations; // biome-ignore format: one line
    const count = 200;
    const ensemble = draw(points, alone({ model, transform: 'none' }), { cellsXy: gridXy, seed: 5, realisations: count }); // biome-ignore format: one line
    const cells = gridXy.length / 2;
    const sums = new Float64Array(block.dist.length);
    for (let r = 0; r < count; r++) {
      const values = ensemble.slice(r * cells, (r + 1) * cells);
      const { semivariance, pairs, distM } = empiricalVariogram(
        { xy: gridXy, values },
        { cutoffM: 1500, lagM: 150 },
      );
      semivariance.forEach((g, k) => {
        sums[k] = (sums[k] as number) + g / count;
      });
      expect(pairs[0]).toBe(block.np[0]);
      expect(distM[0]).toBeCloseTo(block.dist[0] as number, 3);
    }
    // both are means over 200 realisations that share the data: within 5 percent
    block.okglobal.forEach((g, k) => {
      expect(Math.abs((sums[k] as number) / g - 1)).toBeLessThan(0.05);
    });
  });
});

const uniform = seededUniform(3);
const xy = Float64Array.from({ length: 80 }, () => 60 * uniform());
const field = simulateField(
  xy,
  { nugget: 0.2, structures: [{ kind: 'spherical', partialSill: 0.8, rangeM: 25 }] },
  seededNormal(4),
);
const SIDE = 30;
const cellsXy = Float64Array.from({ length: 2 * SIDE * SIDE }, (_, k) =>
  k % 2 === 0 ? 1 + 2 * ((k >> 1) % SIDE) : 1 + 2 * Math.floor((k >> 1) / SIDE),
);
const model = { nugget: 0.2, structures: [{ kind: 'spherical' as const, partialSill: 0.8, rangeM: 25 }] };
const COUNT = 500;

describe('against kriging, on a grid too large for one factor', () => {
  const check = (
    points: PointSet,
    surface: SurfaceMethod,
    cells: Float64Array,
    tolerance = 0.03,
    widest = 0.18,
  ) => {
    const ensemble = draw(points, surface, { cellsXy: cells, seed: 8, realisations: COUNT });
    const { estimate, standardError } = predictSurface(points, surface, cells);
    const found = compare(ensemble, COUNT, estimate, standardError);
    expect(found.rmsZ).toBeLessThan(1.35);
    expect(Math.abs(found.meanRatio - 1)).toBeLessThan(tolerance);
    expect(found.lowRatio).toBeGreaterThan(1 - widest);
    expect(found.highRatio).toBeLessThan(1 + widest);
  };
  const points = { xy, values: field };
  test('one model', () => check(points, alone({ model, transform: 'none' }), cellsXy));
  test('a linear drift', () =>
    check(points, alone({ model, transform: 'none' }, { drift: 'linear' }), cellsXy));
  test('pure nugget', () => check(points, alone({ model: { nugget: 1, structures: [] }, transform: 'none' }), cellsXy)); // biome-ignore format: one line
  test('smooth, short of data', () => {
    const smooth = { nugget: 0.001, structures: [{ kind: 'gaussian' as const, partialSill: 1, rangeM: 15 }] };
    check(points, alone({ model: smooth, transform: 'none' }), cellsXy);
  });
  test('points with errors of their own: the truth is drawn, noise filtered out', () => {
    const errorVariances = field.map((_, i) => (i % 3 === 0 ? 0.5 : 0.05));
    check({ ...points, errorVariances }, alone({ model, transform: 'none' }), cellsXy);
  });
  test('models averaged, with wider errors', () => {
    const other = {
      nugget: 0.5,
      structures: [{ kind: 'exponential' as const, partialSill: 0.5, rangeM: 5 }],
    };
    const members = [
      { model, transform: 'none' as const, weight: 0.7 },
      { model: other, transform: 'none' as const, weight: 0.3 },
    ];
    check(points, { method: 'kriging', members, options: {}, errorFactor: 1.25 }, cellsXy);
  });
  test('logarithms: mean, sd and probability of the value', () => {
    const values = field.map((v) => Math.exp(3 + 0.5 * v));
    const log = { nugget: 0.05, structures: [{ kind: 'spherical' as const, partialSill: 0.2, rangeM: 25 }] };
    const members = [1, 2].map(() => ({ model: log, transform: 'log' as const, weight: 0.5 }));
    for (const errorFactor of [1, 1.3]) {
      const surface: SurfaceMethod = { method: 'kriging', members, options: {}, errorFactor };
      // the deviation of skewed values is known less well from as many draws
      check({ xy, values }, surface, cellsXy, 0.04, 0.4);
      const ensemble = draw({ xy, values }, surface, { cellsXy, seed: 8, realisations: COUNT });
      const { exceedance } = predictSurface({ xy, values }, surface, cellsXy, { limit: 25 });
      let squares = 0;
      const cells = SIDE * SIDE;
      for (let c = 0; c < cells; c++) {
        let above = 0;
        for (let r = 0; r < COUNT; r++) if ((ensemble[r * cells + c] as number) > 25) above++;
        const p = (exceedance as Float64Array)[c] as number;
        squares += (above / COUNT - p) ** 2 / Math.max(1e-3, (p * (1 - p)) / COUNT) / cells;
      }
      expect(Math.sqrt(squares)).toBeLessThan(1.35);
    }
  });
});

describe('realisations', () => {
  const points = { xy, values: field };
  const surface = alone({ model, transform: 'none' });
  test('meet the points, and the mean of points at one place', () => {
    const twice = {
      xy: Float64Array.from([...xy, 21, 31, 21, 31]),
      values: Float64Array.from([...field, 1, 2]),
    };
    const cells = Float64Array.from([...xy, 21, 31]);
    const ensemble = draw(twice, surface, { cellsXy: cells, seed: 1, realisations: 20 });
    for (let r = 0; r < 20; r++) {
      field.forEach((v, i) => {
        expect(ensemble[r * 41 + i]).toBeCloseTo(v, 8);
      });
      expect(ensemble[r * 41 + 40]).toBeCloseTo(1.5, 8);
    }
  });
  test('depend on seed and number alone, to the last bit', () => {
    const all = draw(points, surface, { cellsXy, seed: 9, realisations: 40 });
    const cells = SIDE * SIDE;
    const few = prepareSimulation(points, surface, { cellsXy, seed: 9, realisations: 25 });
    const one = new Float64Array(cells);
    simulateInto(few, 17, 18, one);
    expect(one).toEqual(all.slice(17 * cells, 18 * cells));
    const other = draw(points, surface, { cellsXy, seed: 10, realisations: 1 });
    expect(other).not.toEqual(all.slice(0, cells));
  });
  test('hold the members in proportion to their weights', () => {
    const members = [0.6, 0.3, 0.1].map((weight) => ({ model, transform: 'none' as const, weight }));
    const { memberOf } = prepareSimulation(points, { method: 'kriging', members, options: {} }, { cellsXy, seed: 4, realisations: 200 }); // biome-ignore format: one line
    [120, 60, 20].forEach((count, m) => {
      expect(Math.abs(memberOf.filter((v) => v === m).length - count)).toBeLessThanOrEqual(2);
    });
  });
  test('an error common to all values is one factor a realisation', () => {
    const request = { cellsXy, seed: 3, realisations: 400 };
    const values = field.map((v) => 50 + v);
    const ensemble = draw({ xy, values }, surface, { ...request, commonURel: 0.1 });
    const cells = SIDE * SIDE;
    const means = Float64Array.from({ length: 400 }, (_, r) => ensemble.slice(r * cells, (r + 1) * cells).reduce((s, v) => s + v, 0) / cells); // biome-ignore format: one line
    const { mean, sd } = moments(means, 400);
    expect((sd[0] as number) / (mean[0] as number)).toBeGreaterThan(0.085);
    expect((sd[0] as number) / (mean[0] as number)).toBeLessThan(0.115);
  });
  test('what cannot be simulated is refused', () => {
    const request = { cellsXy, seed: 1, realisations: 5 };
    expect(() => prepareSimulation(points, { method: 'idw', options: {} }, request)).toThrow(/no error/);
    expect(() => prepareSimulation(points, surface, { ...request, realisations: 0 })).toThrow(
      /0 realisations/,
    );
    const block = { offsetsXy: new Float64Array(2), weights: Float64Array.of(1) };
    expect(() => prepareSimulation(points, alone({ model, transform: 'none' }, { block }), request)).toThrow(
      /block/,
    );
  });
});

test('kriging variance of the reference is what the summary file states (the file is used above)', () => {
  const reference = readTable('simulation-summary.csv');
  const cells = interleave(reference.column('x'), reference.column('y'));
  const out = krige({ xy: meuseXy, values: logZinc }, caseModel('ok-sph-global').model, cells);
  out.variance.forEach((v, i) => {
    expect(Math.sqrt(v)).toBeCloseTo(reference.column('ok_sd')[i] as number, 6);
  });
});
