import { describe, expect, test } from 'vitest';
import { type IdwOptions, interpolateIdw } from '../../../core/geostat/idw.ts';
import { krige } from '../../../core/geostat/krige.ts';
import {
  exceedanceProbability,
  lognormalMean,
  lognormalMeanUnbiased,
  lognormalSd,
} from '../../../core/geostat/lognormal.ts';
import { normalCdf, normalQuantile } from '../../../core/geostat/normal.ts';
import {
  caseModel,
  gridXy,
  interleave,
  largestDifference,
  largestRelativeDifference,
  logZinc,
  meuseXy,
  readTable,
  zinc,
} from './reference.ts';

// lognormal.csv and exceedance.csv: gstat; lognormal-lagrange.csv: base R (test/reference/geostat/README.md)
describe('back from the logarithm', () => {
  const out = krige({ xy: meuseXy, values: logZinc }, caseModel('lognormal').model, gridXy);
  const table = readTable('lognormal.csv');
  const at = (i: number) => [out.estimate[i], out.variance[i], out.lagrange[i]] as [number, number, number];
  const each = (of: (p: number, v: number, l: number) => number) =>
    Float64Array.from(out.estimate, (_, i) => of(...at(i)));
  test('mean, mean with the Lagrange term', () => {
    expect(largestRelativeDifference(each(lognormalMean), table.column('lognormal_simple'))).toBeLessThan(
      1e-7,
    );
    const lagrange = readTable('lognormal-lagrange.csv');
    expect(largestDifference(out.lagrange, lagrange.column('lambda'))).toBeLessThan(1e-7);
    expect(
      largestRelativeDifference(each(lognormalMeanUnbiased), lagrange.column('lognormal_lagrange')),
    ).toBeLessThan(1e-7);
  });
  test('probability above 500', () => {
    const mine = each((p, v) => exceedanceProbability(p, v, Math.log(500)));
    expect(largestDifference(mine, readTable('exceedance.csv').column('gaussian'))).toBeLessThan(1e-7);
  });
  test('mean and standard deviation are those of the distribution', () => {
    // by quadrature over normal quantiles
    const [p, v] = [1.3, 0.4];
    const draws = Array.from({ length: 20_000 }, (_, i) =>
      Math.exp(p + Math.sqrt(v) * normalQuantile((i + 0.5) / 20_000)),
    );
    const mean = draws.reduce((s, x) => s + x, 0) / draws.length;
    const sd = Math.sqrt(draws.reduce((s, x) => s + (x - mean) ** 2, 0) / draws.length);
    expect(lognormalMean(p, v) / mean).toBeCloseTo(1, 3);
    expect(lognormalSd(lognormalMean(p, v), v) / sd).toBeCloseTo(1, 2);
  });
  test('normal distribution against tabulated values', () => {
    // Abramowitz and Stegun, table 26.1 (P(1), P(1.96), P(3)); R qnorm(0.975)
    expect(normalCdf(1)).toBeCloseTo(0.841344746068543, 14);
    expect(normalCdf(1.96)).toBeCloseTo(0.97500210485178, 14);
    expect(1 - normalCdf(-3)).toBeCloseTo(0.99865010196837, 14);
    expect(normalQuantile(0.975)).toBeCloseTo(1.959963984540054, 12);
    for (const z of [-7, -3.6, -3.5, 0, 2, 3.7]) expect(normalQuantile(normalCdf(z))).toBeCloseTo(z, 8);
  });
  test('no variance: the limit decides', () => {
    expect([
      exceedanceProbability(2, 0, 1),
      exceedanceProbability(0, 0, 1),
      exceedanceProbability(1, 0, 1),
    ]).toEqual([1, 0, 0.5]);
    expect(exceedanceProbability(Number.NaN, Number.NaN, 1)).toBeNaN();
  });
});

describe('inverse distance weighting', () => {
  const meuse: [string, IdwOptions][] = [
    ['idw-p2-global', { power: 2 }],
    ['idw-p3-global', { power: 3 }],
    ['idw-p2-nmax12', { power: 2, nearest: 12 }],
    ['idw-p3-nmax12', { power: 3, nearest: 12 }],
  ];
  test.each(meuse)('%s (gstat)', (name, options) => {
    const mine = interpolateIdw({ xy: meuseXy, values: zinc }, gridXy, options);
    expect(largestRelativeDifference(mine, readTable(`${name}.csv`).column('pred'))).toBeLessThan(1.1e-9);
  });
  const gdal: [string, IdwOptions][] = [
    ['invdist-p2', { power: 2 }],
    ['invdist-p3', { power: 3 }],
    ['invdist-p2-smooth10', { power: 2, smoothingM: 10 }],
    ['invdistnn-p2-r30-max4', { power: 2, nearest: 4, maxDistanceM: 30 }],
    ['nearest', { nearest: 1 }],
  ];
  const data = readTable('gdal/points.csv');
  const points = { xy: interleave(data.column('x'), data.column('y')), values: data.column('z') };
  test.each(gdal)('%s (gdal_grid)', (name, options) => {
    const table = readTable(`gdal/${name}.csv`);
    const mine = interpolateIdw(points, interleave(table.column('x'), table.column('y')), options);
    // cell (35, 35) has two points tied at the 4th place, and either may be taken
    const kept = [...mine.keys()].filter((i) => options.nearest !== 4 || i !== 19);
    const value = table.column('value');
    const pick = (a: Float64Array) => kept.map((i) => a[i] as number);
    expect(largestRelativeDifference(pick(mine), pick(value))).toBeLessThan(1e-9);
  });
  test('exact at a point, mean of several at one place, NaN out of reach', () => {
    const two = { xy: Float64Array.of(0, 0, 0, 0, 5, 0), values: Float64Array.of(1, 3, 9) };
    expect([...interpolateIdw(two, Float64Array.of(0, 0, 5, 0))]).toEqual([2, 9]);
    expect(interpolateIdw(two, Float64Array.of(50, 50), { maxDistanceM: 10 })[0]).toBeNaN();
    expect(() => interpolateIdw(two, Float64Array.of(1, 1), { power: 0 })).toThrow(/power 0/);
  });
});
