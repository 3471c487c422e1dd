import { describe, expect, test } from 'vitest';
import { compileModel, structuredCovariance, type VariogramStructure } from '../../../core/geostat/models.ts';
import { drawField, type FieldPlan, factorField, planField } from '../../../core/geostat/random-field.ts';
import { seededUniform } from './simulate.ts';

const SIDE = 26;
const uniform = seededUniform(5);
const pointXs = Float64Array.from({ length: 30 }, () => 1.1 * SIDE * uniform() - 1);
const pointYs = Float64Array.from({ length: 30 }, () => 1.1 * SIDE * uniform() - 1);
const square = Float64Array.from({ length: 2 * SIDE * SIDE }, (_, k) => {
  const i = k >> 1;
  return k % 2 === 0 ? 100 + (i % SIDE) : -40 + Math.floor(i / SIDE);
});
const points: [Float64Array, Float64Array] = [pointXs.map((x) => x + 100), pointYs.map((y) => y - 40)];

const allocate = (length: number) => new Float64Array(length);

/** The method is linear: its exact covariance from the response to each deviate alone. */
function impliedError(plan: FieldPlan, structure: VariogramStructure) {
  const compiled = compileModel({ nugget: 0, structures: [structure] });
  const factors = factorField(plan, compiled, allocate);
  const { n, xs, ys } = plan;
  const response = new Float64Array(n * n);
  const out = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    let k = 0;
    drawField(plan, factors, () => (k++ === j ? 1 : 0), out);
    for (let i = 0; i < n; i++) response[i * n + j] = out[i] as number;
  }
  let squares = 0;
  let count = 0;
  let worst = 0;
  let worstVariance = 0;
  for (let i = 0; i < n; i += 3) {
    for (let j = 0; j <= i; j++) {
      let covariance = 0;
      for (let k = 0; k <= j; k++)
        covariance += (response[i * n + k] as number) * (response[j * n + k] as number);
      const [dx, dy] = [(xs[i] as number) - (xs[j] as number), (ys[i] as number) - (ys[j] as number)];
      const error = Math.abs(covariance - structuredCovariance(compiled, dx, dy)) / structure.partialSill;
      squares += error ** 2;
      count++;
      worst = Math.max(worst, error);
      if (i === j) worstVariance = Math.max(worstVariance, error);
    }
  }
  return { rms: Math.sqrt(squares / count), worst, worstVariance };
}

describe('covariance of the fields, exactly', () => {
  const plan = planField(square, ...points);
  const shapes: [string, Omit<VariogramStructure, 'partialSill' | 'rangeM'>, number][] = [
    ['spherical', { kind: 'spherical' }, 1],
    ['exponential', { kind: 'exponential' }, 3],
    ['matern 1.5', { kind: 'matern', smoothness: 1.5 }, 4.74],
    ['gaussian', { kind: 'gaussian' }, 1.73],
  ];
  test('a grid needs few different systems', () => {
    expect(plan.dense).toBeLessThan(500);
    expect(plan.examples.length).toBeLessThan(plan.n / 3);
  });
  test.each(shapes)(
    '%s: within 0.4 percent of the sill on the whole, 5 at worst, variance 2',
    (_n, shape, factor) => {
      for (const practical of [3, 10, 40]) {
        const error = impliedError(plan, { ...shape, partialSill: 7, rangeM: practical / factor });
        expect(error.rms).toBeLessThan(0.004);
        expect(error.worst).toBeLessThan(0.05);
        expect(error.worstVariance).toBeLessThan(0.02);
      }
    },
  );
  test('anisotropic', () => {
    const error = impliedError(plan, {
      kind: 'exponential',
      partialSill: 1,
      rangeM: 8,
      anisotropy: { azimuthDeg: 30, ratio: 0.4 },
    });
    expect(error.rms).toBeLessThan(0.004);
    expect(error.worst).toBeLessThan(0.05);
  });
  test('few places: exact but for what is added to the diagonal', () => {
    const few = planField(square.slice(0, 300), ...points);
    const error = impliedError(few, { kind: 'spherical', partialSill: 3, rangeM: 12 });
    expect(error.worst).toBeLessThan(2e-5);
  });
});

describe('places', () => {
  test('a hole, a rag edge and a place given twice are no trouble', () => {
    const part = [...square.keys()].filter((k) => {
      const i = k >> 1;
      const [c, r] = [i % SIDE, Math.floor(i / SIDE)];
      return c + r > 6 && !(c > 8 && c < 14 && r > 10 && r < 17);
    });
    const cells = Float64Array.from([...part.map((k) => square[k] as number), 110, -35]);
    const plan = planField(cells, ...points);
    expect(plan.cellPlaces.at(-1)).toBe(plan.cellPlaces[part.findIndex((k) => square[k] === 110 && square[k + 1] === -35) / 2]); // biome-ignore format: one line
    const { rms, worst } = impliedError(plan, { kind: 'spherical', partialSill: 1, rangeM: 12 });
    expect(rms).toBeLessThan(0.004);
    expect(worst).toBeLessThan(0.06);
  });
  test('a point on a cell is the same place', () => {
    const plan = planField(square, Float64Array.of(103), Float64Array.of(-38));
    const bare = planField(square, new Float64Array(0), new Float64Array(0));
    expect(plan.n).toBe(bare.n);
    const place = plan.pointPlaces[0] as number;
    expect([plan.xs[place], plan.ys[place]]).toEqual([103, -38]);
  });
  test('many cells off any grid are refused', () => {
    const scattered = square.map((v, k) => v + 0.3 * Math.sin(k));
    expect(() => planField(scattered, ...points)).toThrow(/not on one regular grid/);
  });
});
