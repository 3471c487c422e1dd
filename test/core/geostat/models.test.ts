import { describe, expect, test } from 'vitest';
import {
  practicalRangeM,
  type StructureKind,
  semivarianceAt,
  semivariances,
  type VariogramModel,
} from '../../../core/geostat/models.ts';
import { caseModel, readTable } from './reference.ts';

// variogram-models.csv: gstat 2.1.0, see test/reference/geostat/README.md. Bes is Matern with smoothness 1;
// Ste(nu) is Matern with range / (2 sqrt(nu)).
const HOW: Record<string, { kind: StructureKind; smoothness?: number; rangeFactor?: number }> = {
  Sph: { kind: 'spherical' },
  Exp: { kind: 'exponential' },
  Gau: { kind: 'gaussian' },
  'Mat_0.5': { kind: 'matern', smoothness: 0.5 },
  'Mat_1.5': { kind: 'matern', smoothness: 1.5 },
  'Mat_2.5': { kind: 'matern', smoothness: 2.5 },
  'Ste_1.5': { kind: 'matern', smoothness: 1.5, rangeFactor: 1 / (2 * Math.sqrt(1.5)) },
  'Ste_2.5': { kind: 'matern', smoothness: 2.5, rangeFactor: 1 / (2 * Math.sqrt(2.5)) },
  Bes: { kind: 'matern', smoothness: 1 },
};

describe('model functions against the reference library', () => {
  const { rows } = readTable('variogram-models.csv');
  test.each(Object.entries(HOW))('%s', (name, how) => {
    const mine = rows.filter((r) => r['model'] === name);
    expect(mine.length).toBe(8);
    for (const row of mine) {
      const { rangeFactor = 1, ...shape } = how;
      const structure = {
        ...shape,
        partialSill: Number(row['psill']),
        rangeM: Number(row['range']) * rangeFactor,
      };
      const [gamma] = semivariances({ nugget: 0, structures: [structure] }, [Number(row['h'])]);
      const wanted = Number(row['gamma']);
      // near h = 0 the reference itself is a difference of two numbers near 1, with 1e-15 absolute noise
      expect(Math.abs((gamma as number) - wanted)).toBeLessThanOrEqual(1e-8 * wanted + 3e-15);
    }
  });

  test('anisotropic model by dx, dy', () => {
    const table = readTable('anisotropic-variogram.csv');
    const { model } = caseModel('ok-aniso-global');
    const [dx, dy, gamma] = ['dx', 'dy', 'gamma'].map((c) => table.column(c)) as [
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    dx.forEach((x, i) => {
      expect(semivarianceAt(model, x, dy[i] as number)).toBeCloseTo(gamma[i] as number, 11);
    });
  });
});

describe('general Matern through the Bessel function', () => {
  // closed forms of half-integer order: Rasmussen and Williams, Gaussian Processes for Machine Learning (2006), eq. 4.16
  test('is continuous with the closed forms', () => {
    for (const nu of [0.5, 1.5, 2.5]) {
      for (const h of [0.01, 0.5, 1.9, 2.1, 5, 12]) {
        const at = (smoothness: number) =>
          semivariances(
            { nugget: 0, structures: [{ kind: 'matern', partialSill: 1, rangeM: 1, smoothness }] },
            [h],
          )[0];
        expect(at(nu + 1e-9)).toBeCloseTo(at(nu) as number, 8);
      }
    }
  });
  test('order 3.5 against its closed form', () => {
    for (const u of [0.05, 0.3, 1, 1.99, 2.01, 4, 9]) {
      const model: VariogramModel = {
        nugget: 0,
        structures: [{ kind: 'matern', partialSill: 1, rangeM: 1, smoothness: 3.5 }],
      };
      const closed = 1 - (1 + u + (2 / 5) * u * u + u ** 3 / 15) * Math.exp(-u);
      expect(Math.abs((semivariances(model, [u])[0] as number) - closed)).toBeLessThan(1e-13);
    }
  });
});

describe('model bounds', () => {
  test('the practical ranges of the reference table', () => {
    const of = (kind: StructureKind, smoothness?: number) =>
      practicalRangeM({
        nugget: 1,
        structures: [
          { kind, partialSill: 1, rangeM: 10, ...(smoothness === undefined ? {} : { smoothness }) },
        ],
      });
    expect(of('spherical')).toBe(10);
    expect(of('exponential')).toBeCloseTo(29.957, 3);
    expect(of('gaussian')).toBeCloseTo(17.308, 3);
    expect(of('matern', 1.5)).toBeCloseTo(47.44, 2);
  });
  test('a bad parameter is refused by name', () => {
    const bad = (patch: object) => () =>
      semivariances(
        { nugget: 0, structures: [{ kind: 'spherical', partialSill: 1, rangeM: 1, ...patch }] },
        [1],
      );
    expect(bad({ rangeM: 0 })).toThrow(/range .* 0/);
    expect(bad({ partialSill: -1 })).toThrow(/partial sill .* -1/);
    expect(bad({ anisotropy: { azimuthDeg: 0, ratio: 2 } })).toThrow(/ratio/);
    expect(() => semivariances({ nugget: -1, structures: [] }, [1])).toThrow(/nugget/);
  });
});
