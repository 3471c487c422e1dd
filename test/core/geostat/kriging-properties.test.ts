import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { AppError } from '../../../core/errors.ts';
import { krige, krigingPredictor } from '../../../core/geostat/krige.ts';
import { prepareKriging } from '../../../core/geostat/kriging.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import type { PointSet } from '../../../core/geostat/points.ts';
import { largestDifference } from './reference.ts';

const coordinate = fc.integer({ min: 0, max: 400 }).map((v) => v / 4);
const pointsOf = (min: number, max: number) =>
  fc
    .uniqueArray(fc.tuple(coordinate, coordinate, fc.double({ min: -5, max: 5, noNaN: true })), {
      minLength: min,
      maxLength: max,
      selector: ([x, y]) => `${x},${y}`,
    })
    .map(
      (rows): PointSet => ({
        xy: Float64Array.from(rows.flatMap((r) => [r[0], r[1]])),
        values: Float64Array.from(rows, (r) => r[2]),
      }),
    );
const structure = fc.record({
  kind: fc.constantFrom('spherical' as const, 'exponential' as const, 'matern' as const),
  partialSill: fc.double({ min: 0.1, max: 10, noNaN: true }),
  rangeM: fc.double({ min: 5, max: 80, noNaN: true }),
  smoothness: fc.constantFrom(0.5, 0.8, 1.5),
  anisotropy: fc.record({
    azimuthDeg: fc.double({ min: 0, max: 180, noNaN: true }),
    ratio: fc.double({ min: 0.3, max: 1, noNaN: true }),
  }),
});
const modelOf = (nugget: fc.Arbitrary<number>): fc.Arbitrary<VariogramModel> =>
  fc.record({ nugget, structures: fc.array(structure, { minLength: 1, maxLength: 2 }) });
const withNugget = modelOf(fc.double({ min: 0.05, max: 2, noNaN: true }));
const anyModel = modelOf(fc.constantFrom(0, 0.3));
const cells = Float64Array.from({ length: 40 }, (_, i) => (i * 37.3) % 101);
const RUNS = { numRuns: 60, seed: 20240611 };
const close = (a: ArrayLike<number>, b: ArrayLike<number>, tolerance: number) =>
  expect(largestDifference(a, b)).toBeLessThan(tolerance);

describe('properties of kriging', () => {
  test('exact at the data, with variance 0', () => {
    fc.assert(
      fc.property(pointsOf(1, 25), anyModel, (points, model) => {
        for (const options of [{}, { knownMean: 1 }, { neighbourhood: { nearest: 5 } }]) {
          const out = krige(points, model, points.xy, options);
          close(out.estimate, points.values, 1e-7);
          close(out.variance, out.variance.map(() => 0), 1e-8); // biome-ignore format: one line
        }
      }),
      RUNS,
    );
  });

  test('weights sum to one: a constant added to the data is added to the map; a plane comes back under linear drift', () => {
    fc.assert(
      fc.property(pointsOf(4, 20), withNugget, (points, model) => {
        const base = krige(points, model, cells);
        const lifted = krige({ ...points, values: points.values.map((v) => v + 100) }, model, cells);
        close(lifted.estimate, base.estimate.map((v) => v + 100), 1e-9); // biome-ignore format: one line
        const plane = (x: number, y: number) => 3 + 0.2 * x - 0.1 * y;
        const values = points.values.map((_, i) =>
          plane(points.xy[2 * i] as number, points.xy[2 * i + 1] as number),
        );
        let drifted: Float64Array;
        try {
          drifted = krige({ ...points, values }, model, cells, { drift: 'linear' }).estimate;
        } catch (error) {
          expect((error as AppError).code).toBe('SINGULAR');
          return;
        }
        drifted.forEach((v, i) => {
          expect(v).toBeCloseTo(plane(cells[2 * i] as number, cells[2 * i + 1] as number), 5);
        });
      }),
      RUNS,
    );
  });

  test('variance is never negative, and never above sill plus what the unknown mean costs', () => {
    fc.assert(
      fc.property(pointsOf(1, 20), anyModel, (points, model) => {
        const simple = krige(points, model, cells, { knownMean: 0 });
        const ordinary = krige(points, model, cells);
        const sill = model.structures.reduce((s, t) => s + t.partialSill, model.nugget);
        simple.variance.forEach((v, i) => {
          expect(v).toBeGreaterThanOrEqual(0);
          expect(v).toBeLessThanOrEqual(sill * (1 + 1e-12));
          expect(ordinary.variance[i]).toBeGreaterThanOrEqual(v - 1e-9);
        });
      }),
      RUNS,
    );
  });

  test('the order of the points changes nothing, to the last bit', () => {
    fc.assert(
      fc.property(pointsOf(2, 20), withNugget, fc.infiniteStream(fc.nat()), (points, model, random) => {
        const order = [...points.values.keys()];
        for (let i = order.length - 1; i > 0; i--) {
          const j = (random.next().value as number) % (i + 1);
          [order[i], order[j]] = [order[j] as number, order[i] as number];
        }
        const shuffled = {
          xy: Float64Array.from(
            order.flatMap((i) => [points.xy[2 * i] as number, points.xy[2 * i + 1] as number]),
          ),
          values: Float64Array.from(order, (i) => points.values[i] as number),
        };
        for (const options of [{}, { neighbourhood: { nearest: 4 } }]) {
          const a = krige(points, model, cells, options);
          const b = krige(shuffled, model, cells, options);
          expect(b).toEqual(a);
        }
      }),
      RUNS,
    );
  });

  test('shift and turn of the ground change nothing; scaling of values scales estimate and variance', () => {
    fc.assert(
      fc.property(
        pointsOf(2, 20),
        withNugget,
        fc.double({ min: 0, max: 360, noNaN: true }),
        (points, model, turnDeg) => {
          const t = (turnDeg * Math.PI) / 180;
          const move = (xy: Float64Array) =>
            xy.map((_, k) => {
              const x = xy[k & ~1] as number;
              const y = xy[k | 1] as number;
              return k % 2 === 0
                ? x * Math.cos(t) + y * Math.sin(t) + 5e5
                : y * Math.cos(t) - x * Math.sin(t) + 5e6;
            });
          // turning the ground clockwise turns the long axis with it
          const turned = {
            ...model,
            structures: model.structures.map((s) => ({
              ...s,
              anisotropy: {
                ratio: s.anisotropy?.ratio ?? 1,
                azimuthDeg: (s.anisotropy?.azimuthDeg ?? 0) + turnDeg,
              },
            })),
          };
          const a = krige(points, model, cells);
          const b = krige({ ...points, xy: move(points.xy) }, turned, move(cells));
          close(a.estimate, b.estimate, 1e-5);
          close(a.variance, b.variance, 1e-5);
          const scaled = {
            nugget: model.nugget * 1e6,
            structures: model.structures.map((s) => ({ ...s, partialSill: s.partialSill * 1e6 })),
          };
          const c = krige({ ...points, values: points.values.map((v) => v * 1000) }, scaled, cells);
          close(c.estimate.map((v) => v / 1000), a.estimate, 1e-9); // biome-ignore format: one line
          close(c.variance.map((v) => v / 1e6), a.variance, 1e-9); // biome-ignore format: one line
        },
      ),
      RUNS,
    );
  });

  test('more error on one point never lowers the variance', () => {
    fc.assert(
      fc.property(pointsOf(3, 15), anyModel, (points, model) => {
        const errors = points.values.map((_, i) => (i === 0 ? 0.5 : 0.01));
        const a = krige({ ...points, errorVariances: errors }, model, cells);
        const b = krige(
          { ...points, errorVariances: errors.map((e, i) => (i === 0 ? e + 5 : e)) },
          model,
          cells,
        );
        a.variance.forEach((v, i) => {
          expect(b.variance[i]).toBeGreaterThanOrEqual(v - 1e-9);
        });
      }),
      RUNS,
    );
  });
});

describe('cases without an answer, and odd ones', () => {
  const model: VariogramModel = {
    nugget: 0,
    structures: [{ kind: 'spherical', partialSill: 1, rangeM: 50 }],
  };
  const twice = { xy: Float64Array.of(0, 0, 30, 10, 0, 0), values: Float64Array.of(1, 2, 3) };
  const codeOf = (run: () => unknown) => {
    try {
      run();
    } catch (error) {
      if (error instanceof AppError) return `${error.code}: ${error.message}`;
      throw error;
    }
    return 'no error';
  };

  test('two values at one place without nugget or error are refused by name', () => {
    expect(codeOf(() => krige(twice, model, cells))).toMatch(
      /^SINGULAR: Points 1 and 3 at 0, 0 are at the same place/,
    );
    const local = { neighbourhood: { nearest: 2 } };
    expect(codeOf(() => krige(twice, model, cells, local))).toMatch(/^SINGULAR: Points 1 and 3/);
  });
  test('with a nugget their mean is the truth there; with an error variance they are averaged by it', () => {
    const out = krige(twice, { ...model, nugget: 0.2 }, Float64Array.of(0, 0));
    expect(out.estimate[0]).toBeCloseTo(2, 12);
    expect(out.variance[0]).toBeLessThan(1e-12);
    const errorVariances = Float64Array.of(1e-9, 0, 1e9);
    expect(krige({ ...twice, errorVariances }, model, Float64Array.of(0, 0)).estimate[0]).toBeCloseTo(1, 6);
  });
  test('too smooth a model for points close together is refused, not garbage', () => {
    const xy = Float64Array.from({ length: 40 }, (_, i) => i / 2);
    const gaussian: VariogramModel = {
      nugget: 0,
      structures: [{ kind: 'gaussian', partialSill: 1, rangeM: 500 }],
    };
    expect(codeOf(() => krige({ xy, values: new Float64Array(20) }, gaussian, cells))).toMatch(
      /^SINGULAR: .*too smooth|so smooth/,
    );
  });
  test('a linear drift on a line is refused', () => {
    const line = { xy: Float64Array.of(0, 0, 10, 10, 20, 20, 30, 30), values: Float64Array.of(1, 2, 3, 5) };
    expect(codeOf(() => krige(line, model, cells, { drift: 'linear' }))).toMatch(/^SINGULAR: .*line/);
    expect(
      krige(line, model, cells, { drift: 'linear', neighbourhood: { nearest: 4 } }).estimate.every(
        Number.isNaN,
      ),
    ).toBe(true);
  });
  test('bad input names the point', () => {
    const bad = { xy: Float64Array.of(0, 0, 1, Number.NaN), values: Float64Array.of(1, 2) };
    expect(codeOf(() => krige(bad, model, cells))).toMatch(/^BAD_INPUT: Point 2/);
    const errors = { ...twice, errorVariances: Float64Array.of(0, -1, 0) };
    expect(codeOf(() => krige(errors, model, cells))).toMatch(/^BAD_INPUT: Point 2: error variance -1/);
    expect(
      codeOf(() => krige({ xy: new Float64Array(0), values: new Float64Array(0) }, model, cells)),
    ).toMatch(/none given/);
  });
  test('a prepared state crosses a clone and shared memory, and ranges of cells can be done apart', () => {
    const points = { xy: Float64Array.of(0, 0, 30, 10, 7, 50, 60, 80), values: Float64Array.of(1, 2, 3, 5) };
    const allocate = (n: number) => new Float64Array(new SharedArrayBuffer(8 * n));
    for (const options of [{ allocate }, { allocate, neighbourhood: { nearest: 3 } }]) {
      const whole = krige(points, model, cells, options);
      const predictor = krigingPredictor(structuredClone(prepareKriging(points, model, options)));
      const n = cells.length / 2;
      const [estimate, variance] = [new Float64Array(n), new Float64Array(n)];
      predictor.predictInto(cells, 7, n, estimate, variance);
      predictor.predictInto(cells, 0, 7, estimate, variance);
      expect(estimate).toEqual(whole.estimate);
      expect(variance).toEqual(whole.variance);
    }
  });
});
