import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import Database from 'better-sqlite3';
import { strToU8, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import type { ProjectCrs } from '../../../core/contract/model.ts';
import { chooseKeepOuts, chooseOutline, chooseProbes } from '../../../core/exchange/choose-geometry.ts';
import { writeDxf } from '../../../core/exchange/dxf-out.ts';
import { writeGeoJson } from '../../../core/exchange/geojson-out.ts';
import type { GeometryReading } from '../../../core/exchange/geometry.ts';
import { writeGeoPackage } from '../../../core/exchange/gpkg-out.ts';
import { writeGpx } from '../../../core/exchange/gpx-out.ts';
import { writeKml } from '../../../core/exchange/kml-out.ts';
import { readGeometry } from '../../../core/exchange/read-geometry.ts';
import { convertNative, type PositionNative, toNative } from '../../../core/geo/frame.ts';
import { createView } from './fixture.ts';
import { hasGdal, runGdal, withFile } from './gdal.ts';
import { createSurface } from './surface.ts';

const UTM: ProjectCrs = { kind: 'epsg', code: 32633 };
const TAPE: ProjectCrs = { kind: 'local', unit: 'm', label: 'tape' };
const view = createView(UTM, [617060, 5450380]);
const bytesOf = (content: Uint8Array | string) => (typeof content === 'string' ? strToU8(content) : content);
const read = (content: Uint8Array | string, file: string, crs: ProjectCrs = UTM, options = {}) =>
  readGeometry(bytesOf(content), file, crs, options);

function toOwn(reading: { crs: ProjectCrs | null }, points: readonly PositionNative[]): PositionNative[] {
  return convertNative(reading.crs ?? UTM, UTM, points);
}

/** Same corners in the same turn, from whichever corner and whichever way round. */
function expectSameRing(got: readonly PositionNative[], want: readonly PositionNative[]): void {
  expect(got).toHaveLength(want.length);
  const distance = (a: PositionNative, b: PositionNative) => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const n = want.length;
  const fits = [1, -1].some((way) =>
    want.some((_, start) =>
      got.every(
        (point, i) => distance(point, want[(((start + way * i) % n) + n) % n] as PositionNative) < 1e-3,
      ),
    ),
  );
  expect(fits).toBe(true);
}

describe('what the program writes it reads again, to 1 mm', () => {
  const surface = createSurface();
  const files: [string, Uint8Array | string][] = [
    ['out.geojson', writeGeoJson(view, surface)],
    ['out.gpkg', writeGeoPackage(view, surface)],
    ['out.kml', writeKml(view, surface)],
    ['out.dxf', writeDxf(view, surface)],
  ];
  const native = (ring: readonly PositionNative[]) => ring.map((point) => toNative(view.frame, point));

  test.each(files)(
    '%s: lot, footprint, keep-out and probes, without a word on which is which',
    (file, content) => {
      const reading = read(content, file);
      const lot = chooseOutline(reading, 'lot');
      expectSameRing(toOwn(lot, lot.ring), native(view.lot ?? []));
      const footprint = chooseOutline(reading, 'footprint');
      expectSameRing(toOwn(footprint, footprint.ring), native(view.footprint?.ring ?? []));
      const keepOuts = chooseKeepOuts(reading, { bufferM: 1 });
      expect(keepOuts.items).toHaveLength(1);
      expect(keepOuts.items[0]).toMatchObject({ shape: 'line', bufferM: 1 });
      const probes = chooseProbes(reading);
      expect(probes.items).toHaveLength(view.probes.length);
      toOwn(
        probes,
        probes.items.map(({ at }) => at),
      ).forEach(([x, y], i) => {
        const [wantX, wantY] = view.probes[i]?.native ?? [0, 0];
        expect(Math.hypot(x - wantX, y - wantY)).toBeLessThan(1e-3);
      });
      if (!file.endsWith('.dxf')) {
        expect(probes.items.map(({ label }) => label)).toEqual(view.probes.map(({ label }) => label));
      }
    },
  );

  test('GPX: probes by name', () => {
    const probes = chooseProbes(read(writeGpx(view), 'out.gpx'));
    expect(probes.items.map(({ label }) => label)).toEqual(['P1', 'P2', 'P3', 'P4']);
    expect(probes.crs).toEqual({ kind: 'epsg', code: 4326 });
  });

  test('a GeoPackage in another system than the project says which', () => {
    const reading = read(writeGeoPackage(view, null), 'out.gpkg', { kind: 'epsg', code: 5514 });
    expect(reading.crs).toEqual(UTM);
    expect(read(writeGeoPackage(view, null), 'out.gpkg').crs).toBeNull();
  });
});

/** Files that GDAL made of a GeoJSON with everything awkward in it. */
const SOURCE = {
  type: 'FeatureCollection',
  crs: { type: 'name', properties: { name: 'EPSG:32633' } },
  features: [
    [
      'Lot žluť',
      [
        [
          [617060, 5450380],
          [617060, 5450410.125],
          [617100, 5450411.5],
          [617101, 5450378],
          [617060, 5450380],
        ],
        [
          [617070, 5450385],
          [617072, 5450385],
          [617072, 5450387],
          [617070, 5450385],
        ],
      ],
    ],
    [
      'House',
      [
        [
          [617070, 5450390],
          [617080, 5450390],
          [617080, 5450398.0625],
          [617070, 5450390],
        ],
      ],
    ],
  ].map(([name, coordinates], i) => ({
    type: 'Feature',
    properties: { name, area: 1000.5 + i, note: i === 0 ? null : 'x' },
    geometry: { type: 'Polygon', coordinates },
  })),
};

describe.skipIf(!hasGdal)('files written by GDAL', () => {
  function convert<T>(driver: string, name: string, options: string[], use: (path: string) => T): T {
    return withFile('source.geojson', JSON.stringify(SOURCE), (source) => {
      const path = join(dirname(source), name);
      runGdal('ogr2ogr', '-f', driver, ...options, path, source);
      return use(path);
    });
  }
  const expectSource = (reading: GeometryReading, crs: ProjectCrs | null = null) => {
    expect(reading.crs).toEqual(crs);
    expect(reading.features.map(({ kind, label }) => [kind, label])).toEqual([
      ['polygon', 'Lot žluť'],
      ['polygon', 'House'],
    ]);
    reading.features.forEach((feature, i) => {
      const want = (SOURCE.features[i]?.geometry.coordinates ?? []) as unknown as PositionNative[][];
      const rings = feature.kind === 'polygon' ? feature.coordinates : [];
      expect(rings).toHaveLength(want.length);
      rings.forEach((ring, j) => {
        expectSameRing(toOwn(reading, ring), want[j]?.slice(0, -1) ?? []);
      });
    });
  };

  test('GeoPackage, spatial index and all', () => {
    convert('GPKG', 'a.gpkg', [], (path) => {
      const reading = read(readFileSync(path), 'a.gpkg');
      expectSource(reading);
      expect(reading.features[1]?.properties).toMatchObject({ name: 'House', area: 1001.5, note: 'x' });
    });
  });

  test.each([
    ['UTF-8', ['-lco', 'ENCODING=UTF-8']],
    ['windows-1250', ['-lco', 'ENCODING=CP1250']],
  ])('shapefile with its table in %s and its system in .prj', (_, options) => {
    convert('ESRI Shapefile', 'a.shp', options, (path) => {
      const sibling = (extension: string) => {
        try {
          return readFileSync(path.replace(/shp$/, extension));
        } catch {
          return null;
        }
      };
      const reading = read(readFileSync(path), 'a.shp', UTM, { sibling });
      expectSource(reading);
      expect(reading.features[0]?.layer).toBe('a');
      expect(reading.features[1]?.properties).toMatchObject({ area: 1001.5, note: 'x' });
      expect(reading.features[0]?.properties['note']).toBeNull();
      // without its companions the numbers stand as they are
      const alone = read(readFileSync(path), 'a.shp');
      expect(alone.crs).toBeNull();
      expect(alone.notes.join(' ')).toMatch(/no \.dbf beside a\.shp.*no \.prj beside a\.shp/);
      const folder = dirname(path);
      const parts = readdirSync(folder).filter((name) => name.startsWith('a.'));
      const zip = zipSync(
        Object.fromEntries(parts.map((name) => [`plan/${name}`, readFileSync(join(folder, name))])),
      );
      expectSource(read(zip, 'plan.zip'));
    });
  });

  test('shapefile in state-plane feet: recognised by its .prj', () => {
    convert('ESRI Shapefile', 'a.shp', ['-t_srs', 'EPSG:2227'], (path) => {
      const sibling = (extension: string) =>
        extension === 'prj' ? readFileSync(path.replace(/shp$/, 'prj')) : null;
      expect(read(readFileSync(path), 'a.shp', UTM, { sibling }).crs).toEqual({ kind: 'epsg', code: 2227 });
    });
  });

  test('KML', () => {
    convert('LIBKML', 'a.kml', [], (path) => {
      expectSource(read(readFileSync(path), 'a.kml'), { kind: 'epsg', code: 4326 });
      const kmz = zipSync({ 'doc.kml': readFileSync(path) });
      expectSource(read(kmz, 'a.kmz'), { kind: 'epsg', code: 4326 });
    });
  });

  test('DXF: outlines by layer', () => {
    convert('DXF', 'a.dxf', ['-select', 'name', '-nlt', 'MULTILINESTRING'], (path) => {
      const reading = read(readFileSync(path), 'a.dxf');
      const house = chooseOutline({ ...reading, features: reading.features.slice(-1) }, 'footprint');
      const [want = []] = (SOURCE.features[1]?.geometry.coordinates ?? []) as unknown as PositionNative[][];
      expectSameRing(house.ring, want.slice(0, -1));
    });
  });
});

describe('choices', () => {
  const polygon = (name: string, layer: string, at = 0): object => ({
    type: 'Feature',
    properties: { name, role: layer },
    geometry: {
      type: 'Polygon',
      coordinates: [
        [
          [at, 0],
          [at + 9, 0],
          [at + 9, 9],
          [at, 0],
        ],
      ],
    },
  });
  const collection = (...features: object[]) => JSON.stringify({ type: 'FeatureCollection', features });

  test('a person picks by name or layer; else the features are named', () => {
    const reading = read(collection(polygon('A', 'plots', 200), polygon('B', 'plots', 300)), 'x.json', TAPE);
    expect(() => chooseOutline(reading, 'lot')).toThrow(
      /x\.json holds 2 polygons \(feature 1 "A", feature 2 "B"\)/,
    );
    expect(chooseOutline(reading, 'lot', { feature: 'B' }).ring[0]).toEqual([300, 0]);
    expect(() => chooseOutline(reading, 'lot', { layer: 'roads' })).toThrow(
      /no.*layer "roads"; its layers: "plots"/s,
    );
    expect(() => chooseOutline(reading, 'lot', { feature: 'C' })).toThrow(
      /no feature "C"; it has feature 1 "A"/,
    );
  });

  test('a line that closes is an outline; an open one is not', () => {
    const line = (coordinates: number[][]) => JSON.stringify({ type: 'LineString', coordinates });
    const square = [
      [200, 0],
      [209, 0],
      [209, 9],
      [200, 0],
    ];
    expect(chooseOutline(read(line(square), 'l.json', TAPE), 'footprint').ring).toHaveLength(3);
    expect(() => chooseOutline(read(line(square.slice(0, 3)), 'l.json', TAPE), 'footprint')).toThrow(
      /no polygon: a footprint is one polygon\. It has 0 polygons, 1 lines, 0 points/,
    );
  });

  test('keep-outs: a line needs a buffer; a hole is closed', () => {
    const text = collection({
      type: 'Feature',
      properties: { name: 'Pipe' },
      geometry: {
        type: 'LineString',
        coordinates: [
          [200, 0],
          [300, 0],
        ],
      },
    });
    expect(() => chooseKeepOuts(read(text, 'k.json', TAPE))).toThrow(
      /"Pipe" of k\.json is a line without a buffer/,
    );
    expect(chooseKeepOuts(read(text, 'k.json', TAPE), { bufferM: 2 }).items[0]).toMatchObject({
      label: 'Pipe',
      bufferM: 2,
    });
  });

  test('probes: two of one name are refused, nameless ones numbered past those that are taken', () => {
    const point = (x: number, name?: string) => ({
      type: 'Feature',
      properties: name === undefined ? {} : { name },
      geometry: { type: 'Point', coordinates: [x, 500] },
    });
    expect(() => chooseProbes(read(collection(point(1, 'a'), point(2, 'A')), 'p.json', TAPE))).toThrow(
      /two points named "A": feature 1 "a" and feature 2 "A"/,
    );
    const { items, notes } = chooseProbes(
      read(collection(point(1), point(2, '1'), point(3)), 'p.json', TAPE),
    );
    expect(items.map(({ label }) => label)).toEqual(['2', '1', '3']);
    expect(notes.join(' ')).toContain('2 of 3 points of p.json have no name');
  });
});

test('a GeoPackage left in write-ahead mode is read as well', () => {
  withFile('wal.gpkg', writeGeoPackage(view, null), (path) => {
    const db = new Database(path);
    expect(db.pragma('journal_mode = WAL', { simple: true })).toBe('wal');
    db.close();
    const bytes = readFileSync(path);
    expect([bytes[18], bytes[19]]).toEqual([2, 2]);
    expect(chooseOutline(read(bytes, 'wal.gpkg'), 'lot').ring).toHaveLength(4);
  });
});

describe('files that are not what they seem', () => {
  test.each([
    ['empty', '', 'a.kml', /a\.kml is empty/],
    ['a PDF', '%PDF-1.7', 'plan.dxf', /plan\.dxf is a PDF/],
    ['a binary drawing', 'AC1032\0\0', 'plan.dxf', /DWG.*save it as DXF/],
    ['a binary DXF', 'AutoCAD Binary DXF\r\n\x1a\0', 'plan.dxf', /binary DXF/],
    ['a table', 'x;y\n1;2\n', 'a.gpkg', /no geometry file.*CSV/],
    ['other XML', '<svg xmlns="http://www.w3.org/2000/svg"/>', 'a.kml', /XML of another kind \(<svg>\)/],
    ['broken XML', '<kml><Document>', 'a.kml', /damaged XML/],
    ['XML that grows', '<!DOCTYPE x [<!ENTITY a "b">]><kml/>', 'a.kml', /entities of its own/],
    ['a broken SQLite', `SQLite format 3\0${'x'.repeat(200)}`, 'a.gpkg', /damaged/],
    ['a .prj', 'PROJCS["x",GEOGCS["y"]]', 'a.prj', /open the \.shp/],
    ['a DXF without an end', '0\nSECTION\n2\nENTITIES\n', 'a.dxf', /no end \(EOF\)/],
    [
      'a DXF without anything',
      '0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n',
      'a.dxf',
      /holds no point, line or polygon/,
    ],
    [
      'GeoJSON without anything',
      '{"type":"FeatureCollection","features":[]}',
      'a.json',
      /holds no point, line/,
    ],
    ['GPX without points', '<gpx version="1.1"></gpx>', 'a.gpx', /holds no point, line/],
  ])('%s', (_, content, file, message) => {
    expect(() => read(content, file)).toThrow(message);
  });

  test('a table of a shapefile brings its main file, or says that it is missing', () => {
    expect(() => read('\x03any', 'a.dbf')).toThrow(/\.shp that it belongs to is missing/);
  });

  test('an unknown system in .prj is refused by name, and a person can say what it is', () => {
    const shp = new Uint8Array(100 + 8 + 20);
    const data = new DataView(shp.buffer);
    data.setInt32(0, 9994);
    data.setInt32(100, 1);
    data.setInt32(104, 10);
    data.setInt32(108, 1, true);
    data.setFloat64(112, 617000, true);
    data.setFloat64(120, 5450000, true);
    const sibling = (extension: string) =>
      extension === 'prj' ? strToU8('PROJCS["Our own grid",GEOGCS["x"]]') : null;
    expect(() => read(shp, 'a.shp', UTM, { sibling })).toThrow(/\.prj of a\.shp.*"Our own grid"/);
    const crs = { kind: 'epsg', code: 5514 };
    expect(read(shp, 'a.shp', UTM, { sibling, crs })).toMatchObject({ crs, features: [{ kind: 'point' }] });
    expect(() => read(shp.subarray(0, 120), 'a.shp')).toThrow(/cut short in record 1/);
  });

  test('an empty layer, and a layer that is not there, are told by name', () => {
    const bytes = writeGeoPackage(view, null);
    expect(() => read(bytes, 'a.gpkg', UTM, { layer: 'roads' })).toThrow(
      /no layer "roads"; its layers: "probes"/,
    );
    expect(() => read(writeDxf(view, null), 'a.dxf', UTM, { layer: 'ROADS' })).toThrow(
      /layer "ROADS".*"LOT"/,
    );
  });

  test('too many positions', () => {
    const coordinates = Array.from({ length: 500_001 }, (_, i) => [i, 500]);
    expect(() => read(JSON.stringify({ type: 'LineString', coordinates }), 'big.json')).toThrow(
      /500001 positions/,
    );
  });
});
