import { readFileSync } from 'node:fs';
import { parseDbf, parseShp } from 'shpjs';
import { expect, test } from 'vitest';
import { chooseOutline } from '../../../core/exchange/choose-geometry.ts';
import { readDbf } from '../../../core/exchange/dbf.ts';
import { readGeometry } from '../../../core/exchange/read-geometry.ts';

/** Invented; made by GDAL 3.6.2 (ogr2ogr) in EPSG:2227, US survey feet. */
const dataFile = (extension: string): Uint8Array =>
  readFileSync(new URL(`data/plan.${extension}`, import.meta.url));
const UTM = { kind: 'epsg', code: 32610 } as const;
const reading = readGeometry(dataFile('shp'), 'plan.shp', UTM, { sibling: dataFile });

test('shapes as shpjs reads them, holes and parts in their places', () => {
  const theirs = parseShp(Buffer.from(dataFile('shp'))) as unknown as {
    type: string;
    coordinates: number[][][] | number[][][][];
  }[];
  const polygons = theirs.flatMap(({ type, coordinates }) =>
    type === 'Polygon' ? [coordinates as number[][][]] : (coordinates as number[][][][]),
  );
  const ours = reading.features.map((feature) => (feature.kind === 'polygon' ? feature.coordinates : []));
  expect(ours.map((rings) => rings.length)).toEqual([2, 1, 1]);
  expect(ours.map((rings) => rings.map((ring) => [...ring, ring[0]]))).toEqual(polygons);
});

test('names, numbers, dates and empty cells', () => {
  expect(reading.features.map(({ name }) => name)).toEqual([
    'record 1 "Lot 7 (invented)"',
    'record 2 "Café", part 1',
    'record 2 "Café", part 2',
  ]);
  expect(reading.features[0]?.properties).toEqual({
    name: 'Lot 7 (invented)',
    area_ft2: 12000.5,
    checked: '2026-05-12',
  });
  expect(reading.features[1]?.properties).toEqual({ name: 'Café', area_ft2: null, checked: null });
  const theirs = parseDbf(Buffer.from(dataFile('dbf')), Buffer.from(dataFile('cpg')));
  expect(theirs.map((row) => String(row?.['name']).replaceAll('\0', '').trim())).toEqual([
    'Lot 7 (invented)',
    'Café',
  ]);
});

test('the system of the .prj: feet, not the metres of the project', () => {
  expect(reading.crs).toEqual({ kind: 'epsg', code: 2227 });
  expect(reading.notes.join(' ')).toContain('NAD83 / California zone 3 (ftUS) (EPSG:2227)');
  expect(() => chooseOutline(reading, 'lot')).toThrow(/3 polygons.*"Café", part 2/);
  expect(chooseOutline(reading, 'lot', { feature: 'record 2 "Café", part 1' }).ring).toHaveLength(3);
});

test('a deleted record is left out, a table cut short is told', () => {
  const dbf = new Uint8Array(dataFile('dbf'));
  const headerBytes = new DataView(dbf.buffer).getUint16(8, true);
  dbf[headerBytes] = 0x2a;
  const sibling = (extension: string) => (extension === 'dbf' ? dbf : dataFile(extension));
  const rest = readGeometry(dataFile('shp'), 'plan.shp', UTM, { sibling });
  expect(rest.features.map(({ label }) => label)).toEqual(['Café', 'Café']);
  expect(() => readDbf(dbf.subarray(0, headerBytes + 10), null, 'plan.shp')).toThrow(/too short/);
});

test('without .cpg the mark in the header says the encoding', () => {
  const table = new Uint8Array(dataFile('dbf'));
  const at = Buffer.from(table).indexOf('Café');
  // one byte for the accent, as before UTF-8: e9 in Windows-1250 and 1252, a Cyrillic letter in 1251
  table.set([0x43, 0x61, 0x66, 0xe9, 0x20], at);
  const name = (mark: number, cpg: string | null = null) => {
    table[29] = mark;
    return readDbf(table, cpg, 'plan.shp')[1]?.values['name'];
  };
  expect(name(0)).toBe('Café');
  expect(name(201)).toBe('Cafй');
  expect(name(201, '88591')).toBe('Café');
  expect(name(0, 'CP1251')).toBe('Cafй');
});
