import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { AppError } from '../../../core/errors.ts';
import {
  describeDatumShift,
  findCrs,
  gridScaleAndConvergence,
  metresPerUnit,
  outOfAreaMessage,
  searchCrs,
  transformByStrings,
  transformPoints,
} from '../../../core/geo/crs.ts';
import { allSystems } from '../../../core/geo/crs-table.ts';

// Source: test/reference/projections (cs2cs of PROJ 9.1.1); tolerance 1 mm in the target unit.
const TOLERANCE = 1e-3;
const text = readFileSync(new URL('../../reference/projections/projections.csv', import.meta.url), 'utf8');
const rows = text
  .trim()
  .split('\n')
  .slice(1)
  .map((line) => {
    const cells = [...line.matchAll(/"([^"]*)"|([^,]+)|(?<=,)(?=,)/g)].map((m) => m[1] ?? m[2] ?? '');
    return {
      name: cells[1] ?? '',
      lon: Number(cells[2]),
      lat: Number(cells[3]),
      sourceDatum: cells[4] ?? '',
      targetCode: Number((cells[5] ?? '').replace('EPSG:', '')),
      shift: cells[6] ?? '',
      easting: Number(cells[7]),
      northing: Number(cells[8]),
      codeDifference: cells[11] === '' ? null : Number(cells[11]),
      sourceProj: cells[12] ?? '',
      targetProj: cells[13] ?? '',
    };
  });
const SOURCE_CODE: Record<string, number> = { WGS84: 4326, NAD83: 4269, ETRS89: 4258, 'S-JTSK': 4156 };

function expectNear(got: Float64Array, want: readonly [number, number], tolerance: number) {
  expect(Math.abs((got[0] as number) - want[0])).toBeLessThan(tolerance);
  expect(Math.abs((got[1] as number) - want[1])).toBeLessThan(tolerance);
}

describe('reference projections', () => {
  test('all 42 rows were read', () => {
    expect(rows).toHaveLength(42);
    expect(rows.every((row) => row.targetProj.startsWith('+proj'))).toBe(true);
  });

  test.each(rows)('$name to EPSG:$targetCode by proj strings, $shift', (row) => {
    const there = transformByStrings(
      row.sourceProj,
      row.targetProj,
      Float64Array.of(row.lon, row.lat),
      'test',
    );
    expectNear(there, [row.easting, row.northing], TOLERANCE);
    const back = transformByStrings(row.targetProj, row.sourceProj, there, 'test');
    // The small-angle Helmert formula is not its own exact inverse: a few millimetres remain.
    expectNear(back, [row.lon, row.lat], 5e-8);
  });

  // By code: rows where the code route of PROJ agrees, and the 5514 rows whose operation is the one the table holds.
  const byCode = rows.filter(
    (row) =>
      row.targetCode !== 5514 || row.sourceDatum === 'S-JTSK' || row.shift.includes('589,76,480,0,0,0,0'),
  );
  test.each(byCode)('$name to EPSG:$targetCode by codes', (row) => {
    const from = SOURCE_CODE[row.sourceDatum] as number;
    const there = transformPoints(from, row.targetCode, Float64Array.of(row.lon, row.lat));
    expectNear(there, [row.easting, row.northing], TOLERANCE);
    expectNear(transformPoints(row.targetCode, from, there), [row.lon, row.lat], 5e-8);
  });
});

test('OSGB 1936 to the British grid: worked example of the Ordnance Survey guide, annexe C', () => {
  // "A guide to coordinate systems in Great Britain": 52 39 27.2531 N, 1 43 4.5177 E -> 651409.903, 313177.270
  const lat = 52 + 39 / 60 + 27.2531 / 3600;
  const lon = 1 + 43 / 60 + 4.5177 / 3600;
  expectNear(transformPoints(4277, 27700, Float64Array.of(lon, lat)), [651409.903, 313177.27], 2e-3);
});

describe('datum operations', () => {
  test('are named, with an accuracy that is not better than the table states', () => {
    expect(describeDatumShift(32633, 4326).kind).toBe('none');
    const krovak = describeDatumShift(4326, 5514);
    expect(krovak).toMatchObject({ kind: 'helmert', accuracyM: 6 });
    expect(krovak.name).toContain('3-parameter Helmert 589,76,480');
    expect(describeDatumShift(28992, 4326).name).toContain('7-parameter');
    const zero = describeDatumShift(2263, 4326);
    expect(zero).toMatchObject({ kind: 'helmert', name: 'zero shift', accuracyM: 4 });
  });

  test('a grid that is not shipped is said, never replaced by silence', () => {
    const coarse = describeDatumShift(27700, 4326);
    expect(coarse.kind).toBe('helmert');
    expect(coarse.accuracyM).toBeNull();
    expect(coarse.statement).toContain('OSTN15');
    const none = describeDatumShift(2009, 4326);
    expect(none.kind).toBe('grid-needed');
    expect(() => transformPoints(2009, 4326, Float64Array.of(300000, 5000000))).toThrow(/grid file CQ77NA83/);
  });

  test('an old datum without an operation is refused, but works within itself', () => {
    expect(() => transformPoints(27572, 4326, Float64Array.of(600000, 2400000))).toThrow(AppError);
    const paris = transformPoints(27572, 4807, Float64Array.of(600000, 2200000));
    expect(Math.abs(paris[0] as number)).toBeLessThan(3);
    expect(paris[1]).toBeCloseTo(46.8, 8);
  });

  // The package the table is made from gives such rotations with the wrong sign; 100 m and more would be off here.
  test('rotations have the sign of the position-vector convention', () => {
    // Origin of the Dutch grid, 155000, 463000: WGS 84 52.15517440 N, 5.38720621 E (published approximation formulas; from memory).
    const [lon, lat] = transformPoints(28992, 4326, Float64Array.of(155000, 463000));
    expect(Math.abs((lon as number) - 5.38720621)).toBeLessThan(2e-5);
    expect(Math.abs((lat as number) - 52.1551744)).toBeLessThan(2e-5);
    // Belgium 1972: published 7-parameter set, position vector (-106.8686, 52.2978, -103.7239, 0.3366, -0.457, 1.8422, -1.2747).
    expect(findCrs(31370).proj4).toMatch(/,0\.3366,-0\.457,1\.8422,/);
  });
});

describe('scale and convergence', () => {
  test('UTM on the central meridian: 0.9996 and 0', () => {
    const at = gridScaleAndConvergence(32633, 500000, 5500000);
    expect(at.scaleFactor).toBeCloseTo(0.9996, 8);
    expect(Math.abs(at.convergenceDeg)).toBeLessThan(1e-7);
  });

  test('transverse Mercator: worked values of the Ordnance Survey guide (scale and convergence formulas)', () => {
    // Series of any geodesy handbook, first terms: convergence = dLon sin(lat), scale = k0 (1 + (dLon cos(lat))^2 / 2 (1 + eta2)).
    const lat = (49.1951 * Math.PI) / 180;
    const dLon = ((16.6068 - 15) * Math.PI) / 180;
    const at = gridScaleAndConvergence(32633, 617063.4656, 5450387.1286);
    const eta2 = (0.00669438 / (1 - 0.00669438)) * Math.cos(lat) ** 2;
    const expectedScale = 0.9996 * (1 + ((dLon * Math.cos(lat)) ** 2 / 2) * (1 + eta2));
    expect(at.scaleFactor).toBeCloseTo(expectedScale, 6);
    const gamma = dLon * Math.sin(lat) * (1 + ((dLon * Math.cos(lat)) ** 2 / 3) * (1 + 3 * eta2));
    expect(at.convergenceDeg).toBeCloseTo((gamma * 180) / Math.PI, 6);
    expect(at.convergenceDeg).toBeGreaterThan(0);
    expect(at.longitudeDeg).toBeCloseTo(16.6068, 8);
    expect(at.latitudeDeg).toBeCloseTo(49.1951, 8);
  });

  test('feet do not enter the scale; Web Mercator is told on WGS 84', () => {
    expect(gridScaleAndConvergence(2263, 982586.6345, 198968.8204).scaleFactor).toBeCloseTo(1, 4);
    const web = gridScaleAndConvergence(3857, 1605316.1128, 6461529.8616);
    expect(web.scaleFactor).toBeCloseTo(1 / Math.cos((50.088 * Math.PI) / 180), 2);
  });
});

describe('the table', () => {
  test('units: survey and international feet differ by 2 parts in a million', () => {
    expect(metresPerUnit(2263)).toBe(1200 / 3937);
    expect(metresPerUnit(2222)).toBe(0.3048);
    expect(metresPerUnit(32633)).toBe(1);
    expect(() => metresPerUnit(4326)).toThrow(/degree/);
  });

  test('every projected system has a unit with a plausible size', () => {
    for (const entry of allSystems()) {
      if (entry.kind === 'projected') expect(metresPerUnit(entry.code)).toBeGreaterThan(0.1);
    }
  });

  test('search by code, name and place', () => {
    expect(searchCrs('32633')[0]?.code).toBe(32633);
    expect(searchCrs('EPSG:5514')[0]).toMatchObject({ code: 5514, unitLabel: 'm' });
    expect(searchCrs('utm 33n wgs')[0]?.code).toBe(32633);
    expect(searchCrs('czechia').map((choice) => choice.code)).toContain(32633);
    expect(searchCrs('Long Island ftUS').map((choice) => choice.code)).toContain(2263);
    expect(searchCrs('no such place at all')).toEqual([]);
    expect(searchCrs(' ')).toEqual([]);
    expect(searchCrs('4326')[0]?.note).toContain('projected');
  });

  test('a place outside the area is told', () => {
    expect(outOfAreaMessage(32633, 458566, 5548575)).toBeNull();
    expect(outOfAreaMessage(2263, 458566, 5548575)).toMatch(/outside the area/);
    expect(() => findCrs(99)).toThrow(/EPSG:99/);
  });
});
