import { describe, expect, test } from 'vitest';
import {
  fitLikelihood,
  logLikelihood,
  prepareLikelihood,
  profileShares,
} from '../../../core/geostat/likelihood.ts';
import { semivarianceAt, totalSill, type VariogramModel } from '../../../core/geostat/models.ts';
import { logZinc, meuseXy } from './reference.ts';
import { seededNormal, seededUniform, simulateField } from './simulate.ts';

const model: VariogramModel = {
  nugget: 0.3,
  structures: [{ kind: 'exponential', partialSill: 1.2, rangeM: 25 }],
};
const uniform = seededUniform(5);
const n = 7;
const xy = Float64Array.from({ length: 2 * n }, () => 100 * uniform());
const values = Float64Array.from({ length: n }, () => 10 * uniform());
const errorVariances = Float64Array.from({ length: n }, (_, i) => 0.1 * i);
type Matrix = number[][];

function covarianceMatrix(): Matrix {
  return Array.from({ length: n }, (_, i) =>
    Array.from({ length: n }, (_, j) =>
      i === j
        ? totalSill(model) + (errorVariances[i] as number)
        : totalSill(model) -
          semivarianceAt(
            model,
            (xy[2 * i] as number) - (xy[2 * j] as number),
            (xy[2 * i + 1] as number) - (xy[2 * j + 1] as number),
          ),
    ),
  );
}

/** Log density of N(0, k) at y, by Gaussian elimination: another road than the Cholesky of the code under test. */
function logDensity(k: Matrix, y: readonly number[]): number {
  const m = y.length;
  const a = k.map((row, i) => [...row, y[i] as number]);
  let logDet = 0;
  let quadratic = 0;
  for (let i = 0; i < m; i++) {
    const pivotRow = a[i] as number[];
    const pivot = pivotRow[i] as number;
    logDet += Math.log(pivot);
    // after elimination each pivot is a conditional variance and its right side the conditional deviation
    quadratic += (pivotRow[m] as number) ** 2 / pivot;
    for (let r = i + 1; r < m; r++) {
      const row = a[r] as number[];
      const factor = (row[i] as number) / pivot;
      for (let c = i; c <= m; c++) row[c] = (row[c] as number) - factor * (pivotRow[c] as number);
    }
  }
  return -0.5 * (m * Math.log(2 * Math.PI) + logDet + quadratic);
}

/** Orthonormal rows that annul the given columns (Gram and Schmidt on unit vectors). */
function contrasts(columns: Matrix): Matrix {
  const basis: Matrix = [];
  const add = (v: number[]): boolean => {
    const w = [...v];
    for (let round = 0; round < 2; round++)
      for (const b of basis) {
        const d = b.reduce((s, x, i) => s + x * (w[i] as number), 0);
        for (let i = 0; i < n; i++) w[i] = (w[i] as number) - d * (b[i] as number);
      }
    const norm = Math.hypot(...w);
    if (norm < 1e-6) return false;
    basis.push(w.map((x) => x / norm));
    return true;
  };
  for (const c of columns) add(c);
  const kept = basis.length;
  for (let i = 0; i < n; i++) add(Array.from({ length: n }, (_, k) => (k === i ? 1 : 0)));
  return basis.slice(kept);
}

const columnsOf = (drift: 'constant' | 'linear'): Matrix => {
  const ones = Array<number>(n).fill(1);
  if (drift === 'constant') return [ones];
  return [ones, ones.map((_, i) => xy[2 * i] as number), ones.map((_, i) => xy[2 * i + 1] as number)];
};

describe('likelihood against its definition', () => {
  test.each(['constant', 'linear'] as const)(
    'restricted, %s drift: density of the error contrasts',
    (drift) => {
      const a = contrasts(columnsOf(drift));
      const k = covarianceMatrix();
      const y = a.map((row) => row.reduce((s, v, i) => s + v * (values[i] as number), 0));
      const ka = a.map((r) =>
        a.map((c) =>
          r.reduce(
            (s, v, i) => s + v * c.reduce((t, w, j) => t + w * ((k[i] as number[])[j] as number), 0),
            0,
          ),
        ),
      );
      const data = prepareLikelihood({ xy, values, errorVariances }, { drift, restricted: true });
      expect(logLikelihood(data, model)).toBeCloseTo(logDensity(ka, y), 8);
    },
  );

  test('plain: normal density, highest at the generalised mean', () => {
    const data = prepareLikelihood({ xy, values, errorVariances }, { restricted: false });
    const at = (mean: number) =>
      logDensity(
        covarianceMatrix(),
        [...values].map((v) => v - mean),
      );
    let best = Number.NEGATIVE_INFINITY;
    for (let mean = 0; mean < 10; mean += 0.001) best = Math.max(best, at(mean));
    expect(logLikelihood(data, model)).toBeCloseTo(best, 5);
    expect(logLikelihood(data, model)).toBeGreaterThanOrEqual(best);
  });

  test('the profiled sill is the best one', () => {
    const data = prepareLikelihood({ xy, values });
    const [profile] = profileShares(data, { kind: 'exponential' }, 25, [0.2]);
    const sill = profile?.sill as number;
    const at = (s: number) =>
      logLikelihood(data, {
        nugget: 0.2 * s,
        structures: [{ kind: 'exponential', partialSill: 0.8 * s, rangeM: 25 }],
      });
    expect(at(sill)).toBeCloseTo(profile?.logLikelihood as number, 10);
    expect(at(sill * 1.05)).toBeLessThan(at(sill));
    expect(at(sill * 0.95)).toBeLessThan(at(sill));
  });

  test('with error variances, likelihood and sill belong together', () => {
    const data = prepareLikelihood({ xy, values, errorVariances });
    const [profile] = profileShares(data, { kind: 'exponential' }, 25, [0.2]);
    const s = profile?.sill as number;
    const whole: VariogramModel = {
      nugget: 0.2 * s,
      structures: [{ kind: 'exponential', partialSill: 0.8 * s, rangeM: 25 }],
    };
    expect(logLikelihood(data, whole)).toBeCloseTo(profile?.logLikelihood as number, 9);
  });

  test('a singular covariance has none; too few points for the drift are refused', () => {
    const twice = { xy: Float64Array.of(0, 0, 0, 0, 9, 9), values: Float64Array.of(1, 2, 3) };
    const data = prepareLikelihood(twice);
    expect(logLikelihood(data, { ...model, nugget: 0, structures: model.structures })).toBe(
      Number.NEGATIVE_INFINITY,
    );
    expect(logLikelihood(data, model)).toBeGreaterThan(-100);
    expect(() => prepareLikelihood(twice, { drift: 'linear' })).toThrow(/cannot carry/);
  });
});

describe('fit by restricted likelihood', () => {
  test('no point of a fine grid does better on meuse', () => {
    const data = prepareLikelihood({ xy: meuseXy, values: logZinc });
    const fit = fitLikelihood(data, { kind: 'spherical' }, { shortestRangeM: 50, longestRangeM: 4000 });
    let best = Number.NEGATIVE_INFINITY;
    const shares = Array.from({ length: 15 }, (_, i) => i / 20);
    for (let r = 300; r < 3000; r *= 1.08)
      for (const p of profileShares(data, { kind: 'spherical' }, r, shares))
        best = Math.max(best, p.logLikelihood);
    expect(fit?.logLikelihood).toBeGreaterThan(best - 0.01);
  });

  test('truth lies within three standard errors in nearly all simulated fields, and the spread is as stated', () => {
    const truth: VariogramModel = {
      nugget: 0.3,
      structures: [{ kind: 'exponential', partialSill: 0.7, rangeM: 15 }],
    };
    const zs: number[] = [];
    for (let seed = 1; seed <= 30; seed++) {
      const random = seededUniform(seed);
      const places = Float64Array.from({ length: 240 }, () => 100 * random());
      const field = simulateField(places, truth, seededNormal(100 + seed));
      const fit = fitLikelihood(
        prepareLikelihood({ xy: places, values: field }),
        { kind: 'exponential' },
        { shortestRangeM: 1, longestRangeM: 150 },
      );
      if (fit === null || Number.isNaN(fit.standardErrors.nuggetShare)) continue;
      const sill = fit.model.nugget + (fit.model.structures[0]?.partialSill ?? 0);
      zs.push((fit.model.nugget / sill - 0.3) / fit.standardErrors.nuggetShare);
    }
    expect(zs.length).toBeGreaterThan(15);
    const rms = Math.sqrt(zs.reduce((s, z) => s + z * z, 0) / zs.length);
    expect(rms).toBeGreaterThan(0.5);
    expect(rms).toBeLessThan(1.6);
  });

  test('groups give nearly the fit of all points together', () => {
    const truth: VariogramModel = {
      nugget: 0.2,
      structures: [{ kind: 'exponential', partialSill: 0.8, rangeM: 8 }],
    };
    const random = seededUniform(9);
    const places = Float64Array.from({ length: 700 }, () => 100 * random());
    const field = simulateField(places, truth, seededNormal(10));
    const span = { shortestRangeM: 0.5, longestRangeM: 100 };
    const whole = fitLikelihood(
      prepareLikelihood({ xy: places, values: field }),
      { kind: 'exponential' },
      span,
    );
    const split = prepareLikelihood({ xy: places, values: field }, { maximumGroup: 100 });
    expect(split.groups.length).toBe(4);
    const parts = fitLikelihood(split, { kind: 'exponential' }, span);
    const ratio = (parts?.model.structures[0]?.rangeM ?? 0) / (whole?.model.structures[0]?.rangeM ?? 1);
    expect(ratio).toBeGreaterThan(0.6);
    expect(ratio).toBeLessThan(1.6);
  });
});
