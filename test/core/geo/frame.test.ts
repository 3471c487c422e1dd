import { expect, test } from 'vitest';
import type { ProjectCrs } from '../../../core/contract/model.ts';
import {
  chooseOriginNative,
  convertNative,
  makeFrame,
  ringToFrame,
  ringToNative,
  toFrame,
  toNative,
} from '../../../core/geo/frame.ts';

test('UTM: metres from the origin, scale and convergence at the origin', () => {
  const frame = makeFrame({ kind: 'epsg', code: 32633 }, [617000, 5450400]);
  expect(frame.crsName).toBe('WGS 84 / UTM zone 33N (EPSG:32633)');
  expect(frame.unitLabel).toBe('m');
  expect(frame.gridScaleFactor).toBeCloseTo(0.9996 * (1 + 0.5 * (117000 / 6.385e6) ** 2), 5);
  expect(frame.convergenceDeg).toBeGreaterThan(1);
  expect(toFrame(frame, [617012.5, 5450380.25])).toEqual([12.5, -19.75]);
  expect(toNative(frame, [12.5, -19.75])).toEqual([617012.5, 5450380.25]);
});

test('state plane in US survey feet: 1200/3937 m a foot, not 0.3048', () => {
  const frame = makeFrame({ kind: 'epsg', code: 2263 }, [982600, 199000]);
  const [x] = toFrame(frame, [982600 + 3937, 199000]);
  expect(x).toBeCloseTo(1200, 9);
  expect(frame.unitLabel).toBe('ft-us');
});

test.each([
  ['m', 1],
  ['ft', 0.3048],
  ['ft-us', 1200 / 3937],
] as const)('local grid in %s', (unit, size) => {
  const frame = makeFrame({ kind: 'local', unit, label: 'stake A' }, [100, 200]);
  expect(frame.convergenceDeg).toBeNull();
  expect(frame.gridScaleFactor).toBe(1);
  expect(toFrame(frame, [101, 202])).toEqual([size, 2 * size]);
  const ring = [
    [100, 200],
    [133.3, 200.7],
    [120, 260],
  ] as const;
  const back = ringToNative(frame, ringToFrame(frame, ring));
  back.forEach(([x, y], i) => {
    expect(x).toBeCloseTo(ring[i]?.[0] as number, 10);
    expect(y).toBeCloseTo(ring[i]?.[1] as number, 10);
  });
});

test('systems without true lengths are refused with the reason', () => {
  const refuse = (crs: ProjectCrs, origin: [number, number], reason: RegExp) =>
    expect(() => makeFrame(crs, origin)).toThrow(reason);
  refuse({ kind: 'epsg', code: 4326 }, [14, 50], /degrees/);
  refuse({ kind: 'epsg', code: 3857 }, [1605316, 6461529], /% off the ground/);
  refuse({ kind: 'epsg', code: 32633 }, [Number.NaN, 0], /not a pair/);
  refuse({ kind: 'epsg', code: 12 }, [0, 0], /EPSG:12 /);
});

test('origin is round and near the points', () => {
  expect(chooseOriginNative([])).toEqual([0, 0]);
  expect(
    chooseOriginNative([
      [617010, 5450390],
      [617060, 5450431],
    ]),
  ).toEqual([617000, 5450400]);
});

test('a file in another system comes in by transformation or is refused', () => {
  const utm: ProjectCrs = { kind: 'epsg', code: 32633 };
  const [point] = convertNative({ kind: 'epsg', code: 4326 }, utm, [[14.4208, 50.088]]);
  // cs2cs, test/reference/projections, point 1
  expect(point?.[0]).toBeCloseTo(458566.3715, 3);
  expect(point?.[1]).toBeCloseTo(5548575.6579, 3);
  const feet: ProjectCrs = { kind: 'local', unit: 'ft', label: '' };
  const metres: ProjectCrs = { kind: 'local', unit: 'm', label: '' };
  expect(convertNative(feet, metres, [[10, 20]])).toEqual([[3.048, 6.096]]);
  expect(() => convertNative(feet, utm, [[0, 0]])).toThrow(/control points/);
});
