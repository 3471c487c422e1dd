import { expect, test } from 'vitest';
import { krige } from '../../../core/geostat/krige.ts';
import {
  exceedanceProbability,
  lognormalMean,
  lognormalMeanUnbiased,
} from '../../../core/geostat/lognormal.ts';
import {
  type StructureKind,
  semivarianceAt,
  semivariances,
  type VariogramModel,
} from '../../../core/geostat/models.ts';

// the numbers of docs/surface.md; computed by hand (spreadsheet) from the formulae there

const spherical = (nugget: number, partialSill: number, rangeM: number): VariogramModel => ({
  nugget,
  structures: [{ kind: 'spherical', partialSill, rangeM }],
});
const points = { xy: Float64Array.of(0, 0, 10, 0, 0, 10), values: Float64Array.of(10, 20, 30) };
const model = spherical(0.1, 0.9, 15);

test('the worked example, step by step', () => {
  const gamma = (h: number) => semivarianceAt(model, h, 0);
  expect(gamma(10)).toBeCloseTo(0.866667, 6);
  expect(gamma(Math.SQRT2 * 10)).toBeCloseTo(0.995669, 5);
  const toCell = [Math.hypot(2, 3), Math.hypot(8, 3), Math.hypot(2, 7)].map(gamma);
  [0.41825, 0.785796, 0.703764].forEach((g, i) => {
    expect(toCell[i]).toBeCloseTo(g, 5);
  });
  const cell = Float64Array.of(2, 3);
  const out = krige(points, model, cell);
  // the weight of a point is the estimate where it alone is 1
  const weights = [0, 1, 2].map((i) => krige({ ...points, values: Float64Array.from([0, 1, 2], (k) => (k === i ? 1 : 0)) }, model, cell).estimate[0]); // biome-ignore format: one line
  [0.5628, 0.1774, 0.2598].forEach((w, i) => {
    expect(weights[i]).toBeCloseTo(w, 4);
  });
  expect(out.estimate[0]).toBeCloseTo(16.97, 3);
  expect(out.variance[0]).toBeCloseTo(0.597, 4);
  const sum = weights.reduce<number>((s, w, i) => s + (w as number) * (toCell[i] as number), 0);
  expect(out.lagrange[0]).toBeCloseTo((out.variance[0] as number) - sum, 9);
  expect(out.lagrange[0]).toBeCloseTo(0.0394, 4);
});

test('at a data point the value comes back with variance 0', () => {
  const out = krige(points, model, Float64Array.of(10, 0));
  expect(out.estimate[0]).toBeCloseTo(20, 12);
  expect(out.variance[0]).toBeCloseTo(0, 12);
});

test('two points, and the corners of a square', () => {
  const two = krige({ xy: Float64Array.of(0, 0, 10, 0), values: Float64Array.of(20, 40) }, spherical(0, 1, 10), Float64Array.of(5, 0)); // biome-ignore format: one line
  expect([two.estimate[0], two.variance[0]]).toEqual([expect.closeTo(30, 9), expect.closeTo(0.875, 9)]);
  const square = { xy: Float64Array.of(0, 0, 10, 0, 0, 10, 10, 10), values: Float64Array.of(10, 20, 30, 40) };
  const centre = Float64Array.of(5, 5);
  const plain = krige(square, spherical(0, 1, 20), centre);
  expect([plain.estimate[0], plain.variance[0]]).toEqual([expect.closeTo(25, 9), expect.closeTo(0.4517, 4)]);
  const nugget = krige(square, spherical(0.3, 0.7, 20), centre);
  expect([nugget.estimate[0], nugget.variance[0]]).toEqual([
    expect.closeTo(25, 9),
    expect.closeTo(0.6912, 4),
  ]);
});

test('models at 8 m, practical range 12 m', () => {
  const at = (kind: StructureKind, rangeM: number) =>
    semivariances({ nugget: 0.2, structures: [{ kind, partialSill: 0.8, rangeM }] }, [8])[0];
  expect(at('spherical', 12)).toBeCloseTo(0.8815, 4);
  expect(at('exponential', 12 / 3)).toBeCloseTo(0.8917, 4);
  expect(at('gaussian', 12 / Math.sqrt(3))).toBeCloseTo(0.7891, 4);
});

test('from the logarithm back', () => {
  expect(lognormalMean(3.4, 0.25)).toBeCloseTo(33.95, 2);
  expect(lognormalMeanUnbiased(3.4, 0.25, 0.05)).toBeCloseTo(32.3, 2);
  expect(exceedanceProbability(3.4, 0.25, Math.log(50))).toBeCloseTo(0.153, 3);
});
