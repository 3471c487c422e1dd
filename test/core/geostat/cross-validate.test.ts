import { describe, expect, test } from 'vitest';
import {
  crossValidateIdw,
  crossValidateKriging,
  type LeaveOneOut,
} from '../../../core/geostat/cross-validate.ts';
import { krige } from '../../../core/geostat/krige.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import { caseModel, largestDifference, logZinc, meuseXy, readJson, readTable, zinc } from './reference.ts';

const log = { xy: meuseXy, values: logZinc };
const raw = { xy: meuseXy, values: zinc };
const points = readTable('loocv-points.csv');
const summaries = readJson('loocv.json') as Record<string, Record<string, number>>;

/** loocv.json and loocv-points.csv: gstat krige.cv (test/reference/geostat/README.md); 9 digits. */
function expectSame(mine: LeaveOneOut, name: string, scale: number): void {
  expect(largestDifference(mine.residual, points.column(`${name}_residual`))).toBeLessThan(1e-7 * scale);
  const theirs = summaries[name] as Record<string, number>;
  const { summary } = mine;
  expect(Math.abs(summary.meanError - (theirs['mean_error'] as number))).toBeLessThan(1e-7 * scale);
  expect(Math.abs(summary.rmse - (theirs['rmse'] as number))).toBeLessThan(1e-7 * scale);
  expect(Math.abs(summary.meanAbsoluteError - (theirs['mae'] as number))).toBeLessThan(1e-7 * scale);
  expect(summary.correlation).toBeCloseTo(theirs['cor_obs_pred'] as number, 7);
  if (!Number.isFinite(theirs['msdr'])) {
    expect(summary.msdr).toBeNull();
    return;
  }
  expect(largestDifference(mine.z, points.column(`${name}_zscore`))).toBeLessThan(1e-7);
  expect(summary.msdr).toBeCloseTo(theirs['msdr'] as number, 7);
  expect(summary.meanZ).toBeCloseTo(theirs['mean_zscore'] as number, 7);
}

describe('leave-one-out against the reference library', () => {
  const { model } = caseModel('ok-sph-global');
  test('ordinary, all points', () => expectSame(crossValidateKriging(log, model), 'ok_global', 1));
  test('ordinary, nearest 20', () =>
    expectSame(crossValidateKriging(log, model, { neighbourhood: { nearest: 20 } }), 'ok_nmax20', 1));
  test('linear drift', () =>
    expectSame(crossValidateKriging(log, caseModel('uk-xy-global').model, { drift: 'linear' }), 'uk_xy', 1));
  test('zinc', () =>
    expectSame(crossValidateKriging(raw, caseModel('ok-zinc-global').model), 'ok_zinc', 100));
  test('IDW', () => {
    expectSame(crossValidateIdw(raw, { power: 2 }), 'idw_p2', 100);
    expectSame(crossValidateIdw(raw, { power: 3, nearest: 12 }), 'idw_p3_nmax12', 100);
  });
});

describe('leave-one-out agrees with leaving out by hand', () => {
  const n = 40;
  const xy = meuseXy.slice(0, 2 * n);
  const values = logZinc.slice(0, n);
  const errorVariances = values.map((_, i) => 0.01 * (1 + (i % 3)));
  const model: VariogramModel = {
    nugget: 0.03,
    structures: [{ kind: 'spherical', partialSill: 0.6, rangeM: 900 }],
  };
  test.each([
    ['ordinary', {}],
    ['simple', { knownMean: 6 }],
    ['linear', { drift: 'linear' as const }],
    ['nearest 39', { neighbourhood: { nearest: 39 } }],
  ])('%s, with error variances', (_name, options) => {
    const mine = crossValidateKriging({ xy, values, errorVariances }, model, options);
    for (let i = 0; i < n; i++) {
      const keep = [...values.keys()].filter((k) => k !== i);
      const pick = (a: Float64Array) => Float64Array.from(keep, (k) => a[k] as number);
      const rest = {
        xy: Float64Array.from(keep.flatMap((k) => [xy[2 * k] as number, xy[2 * k + 1] as number])),
        values: pick(values),
        errorVariances: pick(errorVariances),
      };
      const hand = krige(rest, model, xy.subarray(2 * i, 2 * i + 2), options);
      expect(mine.predicted[i]).toBeCloseTo(hand.estimate[0] as number, 8);
      expect(mine.variance[i]).toBeCloseTo((hand.variance[0] as number) + (errorVariances[i] as number), 8);
    }
  });
  test('chance spread of the mean squared z is what simulated data show', () => {
    // exact theory: z ~ N(0, R), so var(mean z^2) = 2 sum R_ij^2 / n^2; here only its plausible size
    const { summary } = crossValidateKriging({ xy, values }, model);
    expect(summary.msdrSd).toBeGreaterThan(Math.sqrt(2 / n) * 0.99);
    expect(summary.msdrSd).toBeLessThan(Math.sqrt(2 / n) * 1.6);
  });
});

describe('verdict', () => {
  const { model } = caseModel('ok-sph-global');
  const scaled = (factor: number): VariogramModel => ({
    nugget: model.nugget * factor,
    structures: model.structures.map((s) => ({ ...s, partialSill: s.partialSill * factor })),
  });
  test('says when stated errors are too small, too large, or fit', () => {
    expect(crossValidateKriging(log, scaled(0.3)).summary.verdict).toMatch(/too small/);
    expect(crossValidateKriging(log, scaled(4)).summary.verdict).toMatch(/too large/);
    expect(crossValidateKriging(log, scaled(0.75)).summary.verdict).toMatch(/fit the misses/);
  });
  test('says when the map is no better than the mean', () => {
    const values = logZinc.map((_, i) => ((i * 7919) % 155) / 155);
    const pure: VariogramModel = { nugget: 0.08, structures: [] };
    expect(crossValidateKriging({ xy: meuseXy, values }, pure).summary.verdict).toMatch(
      /no better than by the plain mean/,
    );
    expect(crossValidateIdw({ xy: meuseXy, values }).summary.msdr).toBeNull();
  });
  test('two points say nothing', () => {
    const few = { xy: Float64Array.of(0, 0, 10, 0), values: Float64Array.of(1, 2) };
    expect(crossValidateKriging(few, model).summary.verdict).toMatch(/nothing can be said/);
  });
});
