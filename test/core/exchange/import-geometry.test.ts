import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { ProjectCrs } from '../../../core/contract/model.ts';
import { AppError } from '../../../core/errors.ts';
import { writeDxf } from '../../../core/exchange/dxf-out.ts';
import { writeGeoJson } from '../../../core/exchange/geojson-out.ts';
import { writeGeoTiff } from '../../../core/exchange/geotiff-out.ts';
import { writeGeoPackage } from '../../../core/exchange/gpkg-out.ts';
import { writeGpx } from '../../../core/exchange/gpx-out.ts';
import { readGeoTiffPlace } from '../../../core/exchange/image-place.ts';
import {
  type ImportGeometryContext,
  importKeepOuts,
  importOutline,
  importProbes,
} from '../../../core/exchange/import-geometry.ts';
import { writeKml } from '../../../core/exchange/kml-out.ts';
import { readGeometry } from '../../../core/exchange/read-geometry.ts';
import { ringToNative } from '../../../core/geo/frame.ts';
import { fitLocalGrid } from '../../../core/geo/local-grid.ts';
import { createView } from './fixture.ts';
import { createSurface } from './surface.ts';

const UTM: ProjectCrs = { kind: 'epsg', code: 32633 };
const TAPE = { kind: 'local', unit: 'm', label: 'tape' } as const;
const view = createView(UTM, [617060, 5450380]);
const lot = ringToNative(view.frame, view.lot ?? []);
const context: ImportGeometryContext = { frame: view.frame, lot, tie: null };
const encode = (value: unknown) =>
  new TextEncoder().encode(typeof value === 'string' ? value : JSON.stringify(value));

test('a whole project goes out in degrees and comes into another, in its own system', () => {
  const bytes = encode(writeGeoJson(view, null));
  const { ring } = importOutline(bytes, 'a.geojson', 'lot', { ...context, lot: null }).items[0] ?? {
    ring: [],
  };
  expect(ring).toHaveLength(lot.length);
  for (const [x, y] of lot) {
    expect(Math.min(...ring.map(([u, v]) => Math.hypot(u - x, v - y)))).toBeLessThan(1e-3);
  }
  expect(importOutline(bytes, 'a.geojson', 'footprint', context).items[0]?.label).toBe('House');
  expect(importKeepOuts(bytes, 'a.geojson', context).items[0]).toMatchObject({ label: 'Pipe', bufferM: 1 });
  const probes = importProbes(bytes, 'a.geojson', context);
  expect(probes.items.map(({ label }) => label)).toEqual(['P1', 'P2', 'P3', 'P4']);
  expect(probes.items[0]?.at[0]).toBeCloseTo(617063.03, 3);
});

test('into a tied local grid', () => {
  const { tie } = fitLocalGrid(TAPE, 32633, [
    { label: 'A', local: [0, 0], mapped: [617060, 5450380] },
    { label: 'B', local: [0, 100], mapped: [617060, 5450480] },
  ]);
  const tape = createView(TAPE, [0, 0]);
  const tied = { frame: tape.frame, lot: null, tie };
  const bytes = encode(writeGeoJson(view, null));
  const [probe] = importProbes(bytes, 'a.geojson', tied).items;
  expect(probe?.at[0]).toBeCloseTo(3.03, 3);
  expect(probe?.at[1]).toBeCloseTo(7.1, 3);
  expect(() => importProbes(bytes, 'a.geojson', { ...tied, tie: null })).toThrow(
    /control points measured in both/,
  );
});

test('an outline that crosses itself names file and sides', () => {
  const bow = {
    type: 'Polygon',
    coordinates: [
      [
        [617060, 5450380],
        [617090, 5450400],
        [617090, 5450380],
        [617060, 5450400],
        [617060, 5450380],
      ],
    ],
  };
  expect(() => importOutline(encode(bow), 'bow.json', 'lot', context)).toThrow(
    /bow\.json: The outline of the lot crosses itself: the side from corner 1 to 2 meets the side from corner 3 to 4/,
  );
  const named = { type: 'Feature', properties: { name: 'Tree' }, geometry: bow };
  expect(() => importKeepOuts(encode(named), 'bow.json', context)).toThrow(/keep-out "Tree" crosses itself/);
});

test('what looks odd is said with what was assumed', () => {
  const far = {
    type: 'Point',
    coordinates: [617060 + 70, 5450380 + 70],
  };
  const { notes } = importProbes(encode(far), 'p.json', context);
  expect(notes.join(' ')).toMatch(
    /taken as the project's own.*have no name.*1 of 1 points.*outside the lot's extent/s,
  );
});

test('more than 200 MB is not even looked at', () => {
  const bytes = new Uint8Array(4);
  Object.defineProperty(bytes, 'length', { value: 300e6 });
  expect(() => readGeometry(bytes, 'country.gpkg', UTM)).toThrow(/country\.gpkg has 300 MB/);
});

/** A file with any byte changed or cut anywhere is read or refused in words; nothing else comes out. */
describe('damaged files are refused in words', () => {
  const files: readonly (readonly [string, Uint8Array])[] = [
    ['a.gpkg', writeGeoPackage(view, null)],
    ['a.geojson', encode(writeGeoJson(view, null))],
    ['a.kml', encode(writeKml(view, null))],
    ['a.gpx', encode(writeGpx(view))],
    ['a.dxf', encode(writeDxf(view, null))],
  ];
  const change = (good: Uint8Array) =>
    fc
      .array(fc.tuple(fc.nat(good.length - 1), fc.nat(255)), { minLength: 1, maxLength: 6 })
      .map((changes) => {
        const bytes = new Uint8Array(good);
        for (const [at, value] of changes) bytes[at] = value;
        return bytes;
      });
  const cut = (good: Uint8Array) => fc.nat(good.length).map((length) => good.subarray(0, length));
  const expectWords = (error: unknown, file: string) => {
    if (!(error instanceof AppError) || error.code !== 'BAD_INPUT') throw error;
    expect(error.message).toContain(file);
  };
  const attempt = (
    bytes: Uint8Array,
    file: string,
    sibling: (extension: string) => Uint8Array | null = () => null,
  ) => {
    try {
      readGeometry(bytes, file, UTM, { sibling });
    } catch (error) {
      expectWords(error, file);
    }
  };

  test.each(files)('%s', (file, good) => {
    fc.assert(
      fc.property(fc.oneof(change(good), cut(good)), (bytes) => attempt(bytes, file)),
      { seed: 17, numRuns: 180 },
    );
  });

  test('a shapefile, its table and its system', () => {
    const part = (extension: string) =>
      new Uint8Array(readFileSync(new URL(`data/plan.${extension}`, import.meta.url)));
    for (const spoilt of ['shp', 'dbf', 'prj', 'cpg']) {
      const good = part(spoilt);
      fc.assert(
        fc.property(fc.oneof(change(good), cut(good)), (bytes) => {
          const sibling = (extension: string) => (extension === spoilt ? bytes : part(extension));
          attempt(sibling('shp'), 'plan.shp', sibling);
        }),
        { seed: 19, numRuns: 30 },
      );
    }
  });

  test('a GeoTIFF', async () => {
    const good = writeGeoTiff(view, createSurface()).slice(0, 1200);
    await fc.assert(
      fc.asyncProperty(fc.oneof(change(good), cut(good)), async (bytes) => {
        try {
          await readGeoTiffPlace(bytes, 'plan.tif');
        } catch (error) {
          expectWords(error, 'plan.tif');
        }
      }),
      { seed: 20, numRuns: 150 },
    );
  });
});
