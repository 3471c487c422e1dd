import { describe, expect, test } from 'vitest';
import { krige } from '../../../core/geostat/krige.ts';
import { prepareKriging } from '../../../core/geostat/kriging.ts';
import {
  type BoundOrigin,
  boundedTruth,
  drawTruths,
  joinBounded,
  logProbabilityOfBounds,
  momentsAbove,
  type SurfacePoints,
} from '../../../core/geostat/lower-bounds.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import { normalCdf } from '../../../core/geostat/normal.ts';
import type { ModelMember } from '../../../core/geostat/plausible-models.ts';
import { predictSurface, type SurfaceMethod } from '../../../core/geostat/predict-surface.ts';
import { prepareSimulation, simulateInto } from '../../../core/geostat/simulate.ts';

const model: VariogramModel = {
  nugget: 0.2,
  structures: [{ kind: 'spherical', partialSill: 1.8, rangeM: 40 }],
};
const values = Float64Array.of(3, 2.2, 1.1, 2.6, 1.9);
const xy = Float64Array.of(0, 0, 25, 3, 40, 30, 8, 28, 30, 18);
const boundXy = Float64Array.of(14, 10, 22, 14);
const bounds = Float64Array.of(3.6, 3.2);
const cell = Float64Array.of(18, 17);
const KNOWN_MEAN = 2.1;

const one = (member: Omit<ModelMember, 'weight'>, options = {}): SurfaceMethod => ({
  method: 'kriging',
  members: [{ ...member, weight: 1 }],
  options,
});

/**
 * The same by brute force: for each truth on a fine mesh over the two bounded places, its density from simple kriging
 * with the values times the tilt, and at the cell simple kriging with the values and that truth.
 */
function integrate(limit: number, tilt: (y: number) => number, isLog: boolean) {
  const places = Float64Array.from([...boundXy]);
  const first = krige({ xy, values }, model, places.subarray(0, 2), { knownMean: KNOWN_MEAN });
  const step = 0.06;
  let mass = 0;
  let mean = 0;
  let square = 0;
  let above = 0;
  for (let a = (bounds[0] as number) + step / 2; a < 10; a += step) {
    const densityA =
      tilt(a) * Math.exp(-((a - (first.estimate[0] as number)) ** 2) / 2 / (first.variance[0] as number));
    const second = krige(
      { xy: Float64Array.from([...xy, ...places.subarray(0, 2)]), values: Float64Array.from([...values, a]) },
      model,
      places.subarray(2, 4),
      { knownMean: KNOWN_MEAN },
    );
    for (let b = (bounds[1] as number) + step / 2; b < 10; b += step) {
      const z2 = (b - (second.estimate[0] as number)) ** 2 / (second.variance[0] as number);
      const density = densityA * tilt(b) * Math.exp(-z2 / 2);
      if (density < 1e-9) continue;
      const all = { xy: Float64Array.from([...xy, ...places]), values: Float64Array.from([...values, a, b]) };
      const out = krige(all, model, cell, { knownMean: KNOWN_MEAN });
      const [y, v] = [out.estimate[0] as number, out.variance[0] as number];
      const m = isLog ? Math.exp(y + v / 2) : y;
      mass += density;
      mean += density * m;
      square += density * (isLog ? m * m * Math.exp(v) : y * y + v);
      above += density * normalCdf((y - limit) / Math.sqrt(v));
    }
  }
  mean /= mass;
  return { mean, sd: Math.sqrt(square / mass - mean ** 2), above: above / mass };
}

const ORIGINS: [string, BoundOrigin, 'none' | 'log', (y: number) => number][] = [
  ['cut', 'cut', 'none', () => 1],
  ['diluted', 'diluted', 'none', (y) => 1 / y],
  ['cut, logarithm', 'cut', 'log', () => 1],
  ['diluted, logarithm', 'diluted', 'log', (y) => Math.exp(-y)],
];

describe.each(ORIGINS)(
  'two places with a lower bound (%s), against the integral over both truths',
  (_n, origin, transform, tilt) => {
    const isLog = transform === 'log';
    const toValue = (v: Float64Array) => (isLog ? v.map(Math.exp) : v);
    const limit = isLog ? Math.exp(3) : 3;
    const points: SurfacePoints = {
      xy,
      values: toValue(values),
      lowerBounds: { xy: boundXy, bounds: toValue(bounds), origin },
    };
    const exact = integrate(3, tilt, isLog);
    const surface = one({ model, transform }, { knownMean: KNOWN_MEAN });
    test('estimate, error and probability', () => {
      const out = predictSurface(points, surface, cell, { limit, seed: 5 });
      // 640 draws of a truth whose effect at the cell has a deviation of about 0.3 (of the logarithm: 30 %)
      const tolerance = isLog ? 0.05 * exact.mean : 0.035;
      expect(Math.abs((out.estimate[0] as number) - exact.mean)).toBeLessThan(tolerance);
      expect(Math.abs((out.standardError[0] as number) / exact.sd - 1)).toBeLessThan(isLog ? 0.08 : 0.02);
      expect(Math.abs((out.exceedance?.[0] as number) - exact.above)).toBeLessThan(0.015);
      const { lowerBounds: _, ...bare } = points;
      const without = predictSurface(bare, surface, cell).estimate[0] as number;
      expect(exact.mean / without).toBeGreaterThan(1.15);
    });
    test('realisations agree, and every one honours the bounds', () => {
      const count = 4000;
      const cellsXy = Float64Array.from([...cell, ...boundXy, ...xy]);
      const ensemble = new Float64Array(count * 8);
      simulateInto(
        prepareSimulation(points, surface, { cellsXy, seed: 6, realisations: count }),
        0,
        count,
        ensemble,
      );
      let mean = 0;
      let above = 0;
      for (let r = 0; r < count; r++) {
        const y = ensemble[8 * r] as number;
        mean += y / count;
        above += y > limit ? 1 / count : 0;
        const least = toValue(bounds);
        expect(ensemble[8 * r + 1]).toBeGreaterThanOrEqual((least[0] as number) * (1 - 1e-9));
        expect(ensemble[8 * r + 2]).toBeGreaterThanOrEqual((least[1] as number) * (1 - 1e-9));
        toValue(values).forEach((v, i) => {
          expect((ensemble[8 * r + 3 + i] as number) / v).toBeCloseTo(1, 7);
        });
      }
      expect(Math.abs(mean - exact.mean)).toBeLessThan((4 * exact.sd) / Math.sqrt(count));
      expect(Math.abs(above - exact.above)).toBeLessThan(0.035);
    });
  },
);

describe('weights and edges', () => {
  const log = (v: Float64Array) => v.map(Math.exp);
  const origin = 'cut' as const;
  test('one bound, ordinary kriging: the estimate there is the mean of the cut-off normal', () => {
    const place = boundXy.subarray(0, 2);
    const free = krige({ xy, values }, model, place);
    const cut = momentsAbove(free.estimate[0] as number, free.variance[0] as number, 3.6, 'flat');
    const points = { xy, values, lowerBounds: { xy: place, bounds: Float64Array.of(3.6), origin } };
    const out = predictSurface(points, one({ model, transform: 'none' }), place);
    expect(Math.abs((out.estimate[0] as number) - cut.mean)).toBeLessThan(0.06);
    expect(Math.abs((out.standardError[0] as number) / Math.sqrt(cut.variance) - 1)).toBeLessThan(0.12);
  });
  test('a model under which the bound is likelier gains weight in just that proportion', () => {
    const narrow = {
      nugget: 0.05,
      structures: [{ kind: 'spherical' as const, partialSill: 0.45, rangeM: 40 }],
    };
    const members = [model, narrow].map((m) => ({ model: m, transform: 'none' as const, weight: 0.5 }));
    const surface: SurfaceMethod = { method: 'kriging', members, options: {} };
    const place = boundXy.subarray(0, 2);
    const likely = [model, narrow].map((m) => {
      const out = krige({ xy, values }, m, place);
      return 1 - normalCdf((3.6 - (out.estimate[0] as number)) / Math.sqrt(out.variance[0] as number));
    }) as [number, number];
    const far = Float64Array.of(1000, 1000);
    const points = { xy, values, lowerBounds: { xy: place, bounds: Float64Array.of(3.6), origin } };
    const { members: weighed } = prepareSimulation(points, surface, {
      cellsXy: far,
      seed: 1,
      realisations: 1,
    });
    expect(weighed[0]?.weight).toBeCloseTo(likely[0] / (likely[0] + likely[1]), 10);
  });
  test('density of a diluted value under a model: the mean of exp(-truth) above the bound, by the integral', () => {
    const place = boundXy.subarray(0, 2);
    const free = krige({ xy, values }, model, place);
    const [m, sd] = [free.estimate[0] as number, Math.sqrt(free.variance[0] as number)];
    let exact = 0;
    for (let y = 3.6 + 5e-4; y < 14; y += 1e-3)
      exact += (1e-3 * Math.exp(-y) * Math.exp(-0.5 * ((y - m) / sd) ** 2)) / sd / Math.sqrt(2 * Math.PI);
    const standIn = prepareKriging(joinBounded({ xy, values }, place, 2), model);
    const truth = boundedTruth(standIn, Float64Array.of(3.6), 'exponential', 1);
    expect(logProbabilityOfBounds(truth, 1)).toBeCloseTo(Math.log(exact), 5);
    const tilted = momentsAbove(m, sd ** 2, 3.6, 'exponential');
    const draws = drawTruths(truth, 4000, 1, 0);
    const mean = draws.reduce((s, v) => s + v, 0) / 4000;
    expect(Math.abs(mean - tilted.mean)).toBeLessThan(
      (4 * Math.sqrt(tilted.variance)) / Math.sqrt(4000) + 0.01,
    );
  });
  test('a bound far below changes nothing to speak of; one of 0 says nothing of a logarithm', () => {
    const surface = one({ model, transform: 'log' });
    const plain = predictSurface({ xy, values: log(values) }, surface, cell);
    const zero = { xy: boundXy, bounds: Float64Array.of(0, -1) };
    expect(predictSurface({ xy, values: log(values), lowerBounds: zero }, surface, cell)).toEqual(plain);
    const low = { xy: boundXy, bounds: Float64Array.of(1e-4, 1e-4), origin };
    const out = predictSurface({ xy, values: log(values), lowerBounds: low }, surface, cell);
    expect(Math.abs((out.estimate[0] as number) / (plain.estimate[0] as number) - 1)).toBeLessThan(0.15);
  });
  test('same seed, same numbers; with a neighbourhood each place counts by its moments', () => {
    const points = { xy, values, lowerBounds: { xy: boundXy, bounds } };
    const surface = one({ model, transform: 'none' });
    const first = predictSurface(points, surface, cell, { seed: 3 });
    expect(predictSurface(points, surface, cell, { seed: 3 })).toEqual(first);
    expect(predictSurface(points, surface, cell, { seed: 4 })).not.toEqual(first);
    const near = predictSurface(
      points,
      one({ model, transform: 'none' }, { neighbourhood: { nearest: 7 } }),
      cell,
    );
    expect(Math.abs((near.estimate[0] as number) - (first.estimate[0] as number))).toBeLessThan(0.35);
  });
  test('bounds that are no numbers are refused by their row', () => {
    const points = { xy, values, lowerBounds: { xy: boundXy, bounds: Float64Array.of(1, Number.NaN) } };
    expect(() => predictSurface(points, one({ model, transform: 'none' }), cell)).toThrow(
      /Lower bound 2: NaN/,
    );
  });
  test('a bound that the values rule out still gives finite numbers above it', () => {
    const points = { xy, values, lowerBounds: { xy: boundXy, bounds: Float64Array.of(200, 150) } };
    const out = predictSurface(points, one({ model, transform: 'none' }), boundXy);
    expect(out.estimate[0]).toBeGreaterThanOrEqual(200);
    expect(out.estimate[1]).toBeGreaterThanOrEqual(150);
  });
});
