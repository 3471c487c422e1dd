import { readFileSync } from 'node:fs';
import Papa from 'papaparse';
import { describe, expect, test } from 'vitest';
import { AppError } from '../../../core/errors.ts';
import {
  gridScaleAndConvergence,
  metresPerUnit,
  outOfAreaMessage,
  transformByStrings,
  transformPoints,
} from '../../../core/geo/crs.ts';
import { allSystems, findCrs } from '../../../core/geo/crs-table.ts';
import { describeDatumShift } from '../../../core/geo/datum-shift.ts';
import { searchCrs } from '../../../core/geo/search-crs.ts';

// Source: test/reference/projections (cs2cs of PROJ 9.1.1); tolerance 1 mm in the target unit.
const TOLERANCE = 1e-3;
const rows = readCsv('projections.csv').map((row) => ({
  name: row['name'] ?? '',
  lon: Number(row['lon']),
  lat: Number(row['lat']),
  sourceDatum: row['source_datum'] ?? '',
  targetCode: Number(row['target_epsg']?.replace('EPSG:', '')),
  shift: row['datum_shift'] ?? '',
  easting: Number(row['easting']),
  northing: Number(row['northing']),
  sourceProj: row['source_proj'] ?? '',
  targetProj: row['target_proj'] ?? '',
}));
const SOURCE_CODE: Record<string, number> = { WGS84: 4326, NAD83: 4269, ETRS89: 4258, 'S-JTSK': 4156 };

function expectNear(got: Float64Array, want: readonly [number, number], tolerance: number) {
  expect(Math.abs((got[0] as number) - want[0])).toBeLessThan(tolerance);
  expect(Math.abs((got[1] as number) - want[1])).toBeLessThan(tolerance);
}

// Six datums have no operation to WGS 84 in that database; Amersfoort, Egypt 1907 and Lisbon carry another published one,
// for which our table states no accuracy.
const KNOWN_UNMATCHED = [
  'Amersfoort',
  'DB_REF',
  'Egypt 1907',
  'FD54',
  'Garoua',
  'Kousseri',
  'Lisbon',
  'Mhast',
  'Vientiane 1982',
];

/** How far two sets of Helmert parameters can be apart at the Earth's surface. */
function shiftDistanceM(a: readonly number[], b: readonly number[]): number {
  const d = a.map((value, i) => value - (b[i] ?? 0)) as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const radiusM = 6.378e6;
  return (
    Math.hypot(d[0], d[1], d[2]) +
    (Math.hypot(d[3], d[4], d[5]) / 206_265) * radiusM +
    Math.abs(d[6]) * 1e-6 * radiusM
  );
}

function readCsv(name: string): Record<string, string>[] {
  const csv = readFileSync(new URL(`../../reference/projections/${name}`, import.meta.url), 'utf8');
  return Papa.parse<Record<string, string>>(csv, { header: true, skipEmptyLines: true }).data;
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
  // Source: test/reference/projections/scale-convergence.csv (proj -V of PROJ 9.1.1, 8 decimals).
  test.each(readCsv('scale-convergence.csv'))('EPSG:$epsg at $lon, $lat', (row) => {
    const at = gridScaleAndConvergence(Number(row['epsg']), Number(row['easting']), Number(row['northing']));
    expect(Math.abs(at.scaleEastWest - Number(row['parallel_scale']))).toBeLessThan(2e-8);
    expect(Math.abs(at.scaleNorthSouth - Number(row['meridian_scale']))).toBeLessThan(2e-8);
    expect(Math.abs(at.convergenceDeg - Number(row['convergence_deg']))).toBeLessThan(2e-8);
    expect(Math.abs(at.longitudeDeg - Number(row['lon']))).toBeLessThan(2e-8);
    expect(Math.abs(at.latitudeDeg - Number(row['lat']))).toBeLessThan(2e-8);
  });

  test('Web Mercator is told on WGS 84', () => {
    const web = gridScaleAndConvergence(3857, 1605316.1128, 6461529.8616);
    expect(web.scaleFactor).toBeCloseTo(1 / Math.cos((50.088 * Math.PI) / 180), 2);
  });
});

describe('the table', () => {
  // Source: test/reference/projections/by-code.csv (cs2cs of PROJ 9.1.1 by codes): parameters and projection code alike.
  test.each(readCsv('by-code.csv'))('EPSG:$epsg $name', (row) => {
    const entry = findCrs(Number(row['epsg']));
    const own = (text: string) =>
      text.replace(/ \+(towgs84|axis)=\S+/g, '').replace(/ \+nadgrids=(?!@null)\S+/, '');
    const ellipsoid = (/(\+(ellps|datum|a|b|rf|pm)=\S+ ?)+/.exec(own(entry.proj4))?.[0] ?? '').trim();
    const there = transformByStrings(
      `+proj=longlat ${ellipsoid}`,
      own(entry.proj4),
      Float64Array.of(Number(row['lon']), Number(row['lat'])),
      'test',
    );
    expectNear(there, [Number(row['easting']), Number(row['northing'])], TOLERANCE);
  });

  // Source: test/reference/projections/datum-operations.csv (EPSG database shipped with PROJ 9.1.1).
  test('every Helmert operation is one of the EPSG dataset, sign and unit of the rotations included', () => {
    const published = readCsv('datum-operations.csv').map((row) => ({
      numbers: ['tx_m', 'ty_m', 'tz_m', 'rx_arcsec', 'ry_arcsec', 'rz_arcsec', 'scale_ppm'].map((f) =>
        Number(row[f]),
      ),
      accuracyM: row['accuracy_m'] === '' ? null : Number(row['accuracy_m']),
    }));
    const unmatched = new Set<string>();
    for (const entry of allSystems()) {
      const text = /\+towgs84=(\S+)/.exec(entry.proj4)?.[1];
      const own = [...(text ?? '').split(',').map(Number), 0, 0, 0, 0].slice(0, 7);
      if (text === undefined || own.every((value) => value === 0)) continue;
      const match = published.filter(({ numbers }) => shiftDistanceM(numbers, own) < 0.05);
      if (match.length === 0) unmatched.add((entry.name.split(' / ')[0] ?? '').replace(/ \(.*/, ''));
      if (match.some(({ accuracyM }) => accuracyM === null) || entry.shiftAccuracyM === null) continue;
      for (const { accuracyM } of match) expect(entry.shiftAccuracyM).toBe(accuracyM);
    }
    expect([...unmatched].sort()).toEqual(KNOWN_UNMATCHED);
  });

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
    // As people write them; EPSG names them "WGS 84 / UTM zone 33N" and "NAD83 / Pennsylvania South".
    expect(searchCrs('WGS84 UTM33N')[0]?.code).toBe(32633);
    expect(searchCrs('state plane pennsylvania south')[0]?.code).toBe(32129);
    expect(searchCrs('State Plane')).not.toEqual([]);
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
