import { describe, expect, test } from 'vitest';
import {
  defaultLags,
  type EmpiricalVariogram,
  empiricalVariogram,
  sparseLags,
  variogramCloud,
} from '../../../core/geostat/empirical-variogram.ts';
import { type FitWeights, fitVariogram, type StructureShape } from '../../../core/geostat/fit-variogram.ts';
import { semivariances } from '../../../core/geostat/models.ts';
import { largestRelativeDifference, logZinc, meuseXy, readJson, zinc } from './reference.ts';
import { seededNormal } from './simulate.ts';

interface Binned {
  readonly np: number[];
  readonly dist: number[];
  readonly gamma: number[];
}
interface Directional extends Binned {
  readonly direction_deg_cw_from_north: number;
}

const reference = readJson('variogram-experimental.json') as Record<string, Binned> & {
  default_logzinc: Binned & { cutoff: number; width: number };
  directional_logzinc: { directions: Directional[] };
};
const log = { xy: meuseXy, values: logZinc };
const raw = { xy: meuseXy, values: zinc };

function expectSame(mine: EmpiricalVariogram, theirs: Binned): void {
  expect([...mine.pairs]).toEqual(theirs.np);
  expect(largestRelativeDifference(mine.distM, theirs.dist)).toBeLessThan(1e-9);
  expect(largestRelativeDifference(mine.semivariance, theirs.gamma)).toBeLessThan(1e-9);
}

/** Residuals of a plane fitted by least squares, by the normal equations on centred coordinates. */
function planeResiduals(xy: Float64Array, z: Float64Array): Float64Array {
  const n = z.length;
  const column = (k: number) => Float64Array.from({ length: n }, (_, i) => xy[2 * i + k] as number);
  const centre = (a: Float64Array) => a.map((v) => v - a.reduce((s, w) => s + w, 0) / n);
  const [x, y, c] = [centre(column(0)), centre(column(1)), centre(z)];
  const s = (a: Float64Array, b: Float64Array) => a.reduce((sum, v, i) => sum + v * (b[i] as number), 0);
  const det = s(x, x) * s(y, y) - s(x, y) ** 2;
  const bx = (s(x, c) * s(y, y) - s(y, c) * s(x, y)) / det;
  const by = (s(y, c) * s(x, x) - s(x, c) * s(x, y)) / det;
  return c.map((v, i) => v - bx * (x[i] as number) - by * (y[i] as number));
}

// variogram-experimental.json: gstat 2.1.0 on meuse, see test/reference/geostat/README.md
describe('binned variogram against the reference library', () => {
  test('default lags', () => {
    const lags = defaultLags(log);
    expect(lags.cutoffM).toBeCloseTo(reference.default_logzinc.cutoff, 6);
    expect(lags.lagM).toBeCloseTo(reference.default_logzinc.width, 6);
    expectSame(empiricalVariogram(log), reference.default_logzinc);
  });
  const lags = { cutoffM: 1500, lagM: 100 };
  test('given lags, log and raw', () => {
    expectSame(empiricalVariogram(log, lags), reference['explicit_logzinc'] as Binned);
    expectSame(empiricalVariogram(raw, lags), reference['explicit_zinc'] as Binned);
  });
  test('robust estimator', () => {
    expectSame(
      empiricalVariogram(log, { ...lags, estimator: 'robust' }),
      reference['cressie_logzinc'] as Binned,
    );
  });
  test.each([0, 45, 90, 135])('direction %i', (azimuthDeg) => {
    const theirs = reference.directional_logzinc.directions.find(
      (d) => d.direction_deg_cw_from_north === azimuthDeg,
    );
    const direction = { azimuthDeg, toleranceDeg: 22.5 };
    expectSame(empiricalVariogram(log, { cutoffM: 1500, lagM: 150, direction }), theirs as Directional);
  });
  test('residuals of a plane', () => {
    const values = planeResiduals(meuseXy, logZinc);
    expectSame(
      empiricalVariogram({ xy: meuseXy, values }, lags),
      reference['linear_trend_residuals'] as Binned,
    );
  });
});

describe('few points', () => {
  const square = {
    xy: Float64Array.of(0, 0, 10, 0, 20, 0, 0, 10, 10, 10, 20, 10),
    values: Float64Array.of(1, 2, 4, 3, 5, 9),
  };
  test('the cloud holds each pair once', () => {
    const cloud = variogramCloud(square);
    expect(cloud.distM.length).toBe(15);
    expect([cloud.distM[0], cloud.halfSquare[0], cloud.azimuthDeg[0]]).toEqual([10, 0.5, 90]);
  });
  test('lag is the typical spacing, cutoff half the largest distance', () => {
    const lags = sparseLags(square);
    expect(lags.lagM).toBe(10);
    expect(lags.cutoffM).toBeCloseTo(Math.hypot(20, 10) / 2, 12);
  });
  test('thin bins are joined without losing a pair', () => {
    const plain = empiricalVariogram(square, { cutoffM: 25, lagM: 5 });
    const joined = empiricalVariogram(square, { cutoffM: 25, lagM: 5, minimumPairs: 6 });
    const total = (v: EmpiricalVariogram, of: (i: number) => number) =>
      v.pairs.reduce((s, np, i) => s + np * of(i), 0);
    expect(total(joined, () => 1)).toBe(15);
    expect(Math.min(...joined.pairs)).toBeGreaterThanOrEqual(6);
    expect(total(joined, (i) => joined.semivariance[i] as number)).toBeCloseTo(
      total(plain, (i) => plain.semivariance[i] as number),
      10,
    );
  });
  test('one place has no variogram', () => {
    expect(() => sparseLags({ xy: Float64Array.of(1, 1, 1, 1), values: Float64Array.of(1, 2) })).toThrow(
      /two places/,
    );
  });
});

interface Fit {
  readonly nugget: number;
  readonly partial_sill: number;
  readonly range: number;
  readonly weighted_sse: number;
}
const SHAPES: Record<string, StructureShape> = {
  Sph: { kind: 'spherical' },
  Exp: { kind: 'exponential' },
  Gau: { kind: 'gaussian' },
  Mat: { kind: 'matern', smoothness: 1.5 },
};
const METHODS: Record<string, FitWeights> = { 1: 'pairs', 6: 'equal', 7: 'pairs/dist2' };

// variogram-fits.json (gstat) and nonnegative_fit_optim of check-independent.json (base R optim), same source
describe('weighted least squares against the reference fits', () => {
  const theirs = readJson('variogram-fits.json') as Record<string, Record<string, Record<string, Fit>>>;
  const optim = (readJson('check-independent.json') as { nonnegative_fit_optim: typeof theirs })
    .nonnegative_fit_optim;
  const sets: Record<string, EmpiricalVariogram> = {
    default_logzinc: empiricalVariogram(log),
    explicit_logzinc: empiricalVariogram(log, { cutoffM: 1500, lagM: 100 }),
    explicit_zinc: empiricalVariogram(raw, { cutoffM: 1500, lagM: 100 }),
  };
  const cases = Object.keys(sets).flatMap((set) =>
    Object.keys(METHODS).flatMap((method) =>
      Object.keys(SHAPES).map((shape) => [set, method, shape] as const),
    ),
  );
  test.each(cases)('%s, weights %s, %s', (set, method, shape) => {
    const fit = fitVariogram(sets[set] as EmpiricalVariogram, [SHAPES[shape] as StructureShape], {
      weights: METHODS[method] as FitWeights,
    });
    const best = optim[set]?.[method]?.[shape] as Fit;
    const gstat = theirs[set]?.[method]?.[shape] as Fit;
    const [structure] = fit.model.structures;
    expect(fit.weightedSse).toBeLessThanOrEqual(gstat.weighted_sse * (1 + 1e-7));
    expect(fit.weightedSse).toBeLessThanOrEqual(best.weighted_sse * (1 + 1e-6));
    expect(structure?.rangeM).toBeGreaterThan(best.range * 0.998);
    expect(structure?.rangeM).toBeLessThan(best.range * 1.002);
    expect(structure?.partialSill).toBeGreaterThan(best.partial_sill * 0.998);
    expect(structure?.partialSill).toBeLessThan(best.partial_sill * 1.002);
    expect(Math.abs(fit.model.nugget - best.nugget)).toBeLessThan(0.002 * (best.nugget + best.partial_sill));
    expect(fit.rangeAtLimit).toBe(false);
  });

  test('standard errors are the spread of fits to repeated data', () => {
    const truth = { nugget: 0.3, partialSill: 1, rangeM: 60 };
    const distM = Float64Array.from({ length: 15 }, (_, i) => 8 * (i + 1));
    const exact = semivariances(
      {
        nugget: truth.nugget,
        structures: [{ kind: 'spherical', partialSill: truth.partialSill, rangeM: truth.rangeM }],
      },
      distM,
    );
    const random = seededNormal(7);
    const fits = Array.from({ length: 150 }, () => {
      const semivariance = exact.map((g) => g + 0.05 * random());
      return fitVariogram(
        { cutoffM: 120, lagM: 8, distM, pairs: distM.map(() => 1), semivariance },
        [{ kind: 'spherical' }],
        { weights: 'equal' },
      );
    });
    const compare = (
      value: (f: (typeof fits)[number]) => number,
      error: (f: (typeof fits)[number]) => number,
    ) => {
      const mean = fits.reduce((sum, f) => sum + value(f), 0) / fits.length;
      const sd = Math.sqrt(fits.reduce((sum, f) => sum + (value(f) - mean) ** 2, 0) / fits.length);
      const stated = Math.sqrt(fits.reduce((sum, f) => sum + error(f) ** 2, 0) / fits.length);
      expect(stated / sd).toBeGreaterThan(0.8);
      expect(stated / sd).toBeLessThan(1.2);
    };
    compare(
      (f) => f.model.nugget,
      (f) => f.standardErrors.nugget,
    );
    compare(
      (f) => f.model.structures[0]?.partialSill ?? 0,
      (f) => f.standardErrors.partialSills[0] ?? 0,
    );
    compare(
      (f) => f.model.structures[0]?.rangeM ?? 0,
      (f) => f.standardErrors.rangesM[0] ?? 0,
    );
    const exponential = fitVariogram(sets['default_logzinc'] as EmpiricalVariogram, [
      { kind: 'exponential' },
    ]);
    expect(exponential.model.nugget).toBe(0);
    expect(exponential.standardErrors.nugget).toBeNaN();
  });

  test('a made variogram comes back, also with two structures', () => {
    const distM = Float64Array.from({ length: 15 }, (_, i) => 10 * (i + 1));
    const sph = (h: number, a: number) => (h < a ? 1.5 * (h / a) - 0.5 * (h / a) ** 3 : 1);
    const made = {
      cutoffM: 150,
      lagM: 10,
      distM,
      pairs: distM.map(() => 50),
      semivariance: distM.map((h) => 1 + 2 * sph(h, 30) + 3 * sph(h, 120)),
    };
    const fit = fitVariogram(made, [{ kind: 'spherical' }, { kind: 'spherical' }], { weights: 'pairs' });
    expect(fit.weightedSse).toBeLessThan(1e-6);
    const ranges = fit.model.structures.map((s) => s.rangeM).sort((a, b) => a - b);
    expect(ranges[0]).toBeCloseTo(30, 1);
    expect(ranges[1]).toBeCloseTo(120, 1);
    expect(fit.model.nugget).toBeCloseTo(1, 2);
    const held = fitVariogram(made, [{ kind: 'spherical' }], { nugget: 0.5 });
    expect(held.model.nugget).toBe(0.5);
    expect(held.standardErrors.nugget).toBeNaN();
  });
});
