import { describe, expect, test } from 'vitest';
import { chooseModel } from '../../../core/geostat/auto-model.ts';
import { krige } from '../../../core/geostat/krige.ts';
import { normalCdf } from '../../../core/geostat/normal.ts';
import { quickNormalCdf } from '../../../core/geostat/normal-table.ts';
import type { PointSet } from '../../../core/geostat/points.ts';
import {
  crossValidateSurface,
  predictSurface,
  type SurfaceMethod,
} from '../../../core/geostat/predict-surface.ts';
import { largestRelativeDifference } from './reference.ts';
import { seededNormal, seededUniform, simulateField } from './simulate.ts';

const uniform = seededUniform(31);
const xy = Float64Array.from({ length: 50 }, () => 60 * uniform());
const model = { nugget: 0.1, structures: [{ kind: 'spherical' as const, partialSill: 0.5, rangeM: 30 }] };
const logs = simulateField(xy, model, seededNormal(32)).map((v) => 3 + v);
const values = logs.map(Math.exp);
const cells = Float64Array.of(10, 10, 33, 41, 70, 20);
const single: SurfaceMethod = {
  method: 'kriging',
  members: [{ model, transform: 'log', weight: 1 }],
  options: {},
};

const without = (points: PointSet, i: number): PointSet => ({
  xy: points.xy.filter((_, k) => k >> 1 !== i),
  values: points.values.filter((_, k) => k !== i),
});

describe('leave-one-out of the surface as it is drawn', () => {
  const members = [model, { ...model, nugget: 0.4 }].map((m) => ({
    model: m,
    transform: 'log' as const,
    weight: 0.5,
  }));
  test.each<[string, SurfaceMethod]>([
    ['one model of the logarithm (its estimate needs the Lagrange term)', single],
    ['with a drift', { ...single, options: { drift: 'linear' } }],
    ['nearest points', { ...single, options: { neighbourhood: { nearest: 8 } } }],
    ['two models', { method: 'kriging', members, options: {}, errorFactor: 1.2 }],
  ])('%s: what predictSurface gives without the point', (_name, surface) => {
    const loo = crossValidateSurface({ xy, values }, surface);
    values.forEach((_, i) => {
      const out = predictSurface(without({ xy, values }, i), surface, xy.slice(2 * i, 2 * i + 2));
      expect((loo.predicted[i] as number) / (out.estimate[0] as number)).toBeCloseTo(1, 8);
      expect(Math.sqrt(loo.variance[i] as number) / (out.standardError[0] as number)).toBeCloseTo(1, 8);
    });
  });
  test('the verdict never calls predictions too high where the mean error says too low', () => {
    for (let seed = 1; seed < 60; seed++) {
      const skewed = simulateField(xy, model, seededNormal(seed)).map((v) => Math.exp(3 + 1.6 * v));
      const { summary } = crossValidateSurface({ xy, values: skewed }, single);
      if (/too high on average/.test(summary.verdict)) expect(summary.meanError).toBeLessThan(0);
      if (/too low on average/.test(summary.verdict)) expect(summary.meanError).toBeGreaterThan(0);
    }
  });
  test('a lean beyond chance is said', () => {
    const biased: SurfaceMethod = {
      method: 'kriging',
      members: [{ model, transform: 'none', weight: 1 }],
      options: { knownMean: 9 },
    };
    expect(crossValidateSurface({ xy, values: logs }, biased).summary.verdict).toMatch(/too high on average/);
  });
});

describe('errors widened by cross-validation', () => {
  const factor = 1.4;
  test('estimate unchanged; error and probability wider alike', () => {
    const plain: SurfaceMethod = {
      method: 'kriging',
      members: [{ model, transform: 'none', weight: 1 }],
      options: {},
    };
    const base = predictSurface({ xy, values: logs }, plain, cells, { limit: 3.5 });
    const wide = predictSurface({ xy, values: logs }, { ...plain, errorFactor: factor }, cells, {
      limit: 3.5,
    });
    expect(wide.estimate).toEqual(base.estimate);
    expect(largestRelativeDifference(wide.standardError, base.standardError.map((s) => factor * s))).toBeLessThan(1e-12); // biome-ignore format: one line
    wide.exceedance?.forEach((p, i) => {
      const z = ((wide.estimate[i] as number) - 3.5) / (wide.standardError[i] as number);
      expect(p).toBeCloseTo(normalCdf(z), 12);
    });
  });
  test('logarithm: the distribution is wider with the same mean', () => {
    const members = [1, 2].map(() => ({ model, transform: 'log' as const, weight: 0.5 }));
    const surface: SurfaceMethod = { method: 'kriging', members, options: {}, errorFactor: factor };
    const wide = predictSurface({ xy, values }, surface, cells, { limit: 30 });
    const { estimate, variance } = krige({ xy, values: logs }, model, cells);
    wide.estimate.forEach((mean, i) => {
      const v = factor ** 2 * (variance[i] as number);
      expect(mean).toBeCloseTo(Math.exp((estimate[i] as number) + (variance[i] as number) / 2), 8);
      expect((wide.standardError[i] as number) / mean).toBeCloseTo(Math.sqrt(Math.expm1(v)), 8);
      const z = (Math.log(30) - (Math.log(mean) - v / 2)) / Math.sqrt(v);
      expect(wide.exceedance?.[i]).toBeCloseTo(1 - normalCdf(z), 8);
    });
  });
});

test('the quick distribution function is the exact one within 1e-9', () => {
  for (let z = -12; z <= 12; z += 0.00713)
    expect(Math.abs(quickNormalCdf(z) - normalCdf(z))).toBeLessThan(1e-9);
  expect([quickNormalCdf(Number.NaN), quickNormalCdf(Number.NEGATIVE_INFINITY), quickNormalCdf(Number.POSITIVE_INFINITY)]).toEqual([Number.NaN, 0, 1]); // biome-ignore format: one line
});

describe('points of the choice', () => {
  test("keep the caller's order, so that residuals belong to the caller's points", () => {
    const choice = chooseModel({ xy, values });
    expect(choice.points).toEqual({ xy, values });
    expect([...choice.rows]).toEqual([...values.keys()]);
    const loo = crossValidateSurface(choice.points, choice.surface);
    loo.predicted.forEach((p, i) => {
      expect(p + (loo.residual[i] as number)).toBeCloseTo(values[i] as number, 9);
    });
  });
  test('name the rows kept where some repeat, and carry errors and lower bounds along', () => {
    const pick = [3, 7, 3, 1, 7, 0, 12, 15, 20, 22];
    const lowerBounds = { xy: Float64Array.of(1, 2), bounds: Float64Array.of(20) };
    const points = {
      xy: Float64Array.from(pick.flatMap((i) => [xy[2 * i] as number, xy[2 * i + 1] as number])),
      values: Float64Array.from(pick, (i) => values[i] as number),
      errorVariances: Float64Array.from(pick, (i) => i / 10),
      lowerBounds,
    };
    const choice = chooseModel(points);
    expect([...choice.rows]).toEqual([0, 1, 3, 5, 6, 7, 8, 9]);
    choice.rows.forEach((row, i) => {
      expect(choice.points.values[i]).toBe(points.values[row]);
      expect(choice.points.errorVariances?.[i]).toBe(points.errorVariances[row]);
      expect([...choice.points.xy.slice(2 * i, 2 * i + 2)]).toEqual([
        ...points.xy.slice(2 * row, 2 * row + 2),
      ]);
    });
    expect(choice.points.lowerBounds).toEqual(lowerBounds);
  });
});
