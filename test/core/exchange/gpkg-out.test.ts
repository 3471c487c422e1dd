import Database from 'better-sqlite3';
import { describe, expect, test } from 'vitest';
import { writeGeoPackage } from '../../../core/exchange/gpkg-out.ts';
import { toNative } from '../../../core/geo/frame.ts';
import { fitLocalGrid } from '../../../core/geo/local-grid.ts';
import { createView } from './fixture.ts';
import { describeLayer, hasGdal, readLayer, runGdal, withFile } from './gdal.ts';
import { createSurface } from './surface.ts';

const UTM = { kind: 'epsg', code: 32633 } as const;
const view = createView(UTM, [617060, 5450380]);
const surface = createSurface();
const WRITTEN = '2026-05-14T10:00:00Z';

describe('the file itself (OGC 12-128r17)', () => {
  const bytes = writeGeoPackage(view, surface, { writtenUtc: WRITTEN });
  const db = new Database(Buffer.from(bytes));

  test('requirement 1 to 3: SQLite 3, application id GPKG, version 1.3', () => {
    expect(new TextDecoder().decode(bytes.subarray(0, 16))).toBe('SQLite format 3\0');
    expect(db.pragma('application_id', { simple: true })).toBe(0x47504b47);
    expect(db.pragma('user_version', { simple: true })).toBe(10300);
    expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
    expect(db.pragma('foreign_key_check')).toEqual([]);
  });

  test('requirement 11: the three systems every GeoPackage has, and the project its own', () => {
    const rows = db
      .prepare('SELECT srs_id, organization, definition FROM gpkg_spatial_ref_sys ORDER BY 1')
      .all();
    expect(rows).toMatchObject([
      { srs_id: -1, organization: 'NONE', definition: 'undefined' },
      { srs_id: 0, organization: 'NONE', definition: 'undefined' },
      { srs_id: 4326, organization: 'EPSG', definition: expect.stringContaining('GEOGCS["WGS 84"') },
      { srs_id: 32633, organization: 'EPSG', definition: expect.stringContaining('Transverse_Mercator') },
    ]);
  });

  test('numbers are stored to the last bit', () => {
    const stored = db.prepare('SELECT radon_kbq_per_m3 FROM samples ORDER BY fid').pluck().all();
    expect(stored).toEqual(view.samples.map((sample) => sample.radonKBqPerM3));
  });

  test('the same project gives the same bytes', () => {
    expect(writeGeoPackage(view, surface, { writtenUtc: WRITTEN })).toEqual(bytes);
  });

  test('what is empty makes no layer', () => {
    const bare = { ...view, lot: null, footprint: null, keepOuts: [] };
    const other = new Database(Buffer.from(writeGeoPackage(bare, null)));
    const names = other.prepare('SELECT table_name FROM gpkg_contents ORDER BY 1').pluck().all();
    expect(names).toEqual(['probes', 'project', 'samples']);
  });
});

describe.skipIf(!hasGdal)('read back by GDAL', () => {
  const read = <T>(use: (path: string) => T, options = {}) =>
    withFile('out.gpkg', writeGeoPackage(view, surface, options), use);

  test('GDAL finds a spatial index on every layer, asks it, and keeps it when it edits (OGC 12-128r17, annex F.3)', () => {
    read((path) => {
      const ask = (sql: string) => runGdal('ogrinfo', '-q', path, '-sql', sql);
      const layers = ['probes', 'samples', 'contours', 'bands', 'lot', 'footprint', 'keep_outs'];
      for (const layer of layers)
        expect(ask(`SELECT HasSpatialIndex('${layer}', 'geom')`), layer).toMatch(/= 1\b/);
      const [first] = view.probes;
      const [x, y] = first?.native ?? [0, 0];
      const near = (px: number, py: number) =>
        runGdal(
          'ogrinfo',
          '-q',
          path,
          'probes',
          '-spat',
          ...[px - 0.1, py - 0.1, px + 0.1, py + 0.1].map(String),
        );
      expect(near(x, y).match(/OGRFeature\(probes\)/g)).toHaveLength(1);
      // Editing runs the triggers with the editor's own functions.
      runGdal(
        'ogrinfo',
        '-q',
        path,
        '-dialect',
        'SQLite',
        '-sql',
        `UPDATE probes SET geom = MakePoint(${x + 5000}, ${y}, 32633) WHERE fid = 1`,
      );
      const db = new Database(path, { readonly: true });
      const box = db.prepare('SELECT minx, maxx FROM rtree_probes_geom WHERE id = 1').get() as {
        minx: number;
        maxx: number;
      };
      db.close();
      expect(box.minx).toBeLessThanOrEqual(x + 5000);
      expect(box.maxx).toBeGreaterThanOrEqual(x + 5000);
      expect(box.maxx - box.minx).toBeLessThan(1);
    });
  });

  test('seven layers, in EPSG:32633, of the right kind', () => {
    read((path) => {
      const list = runGdal('ogrinfo', path);
      for (const [name, kind] of [
        ['probes', 'Point'],
        ['samples', 'Point'],
        ['contours', 'Line String'],
        ['bands', 'Multi Polygon'],
        ['lot', 'Polygon'],
        ['footprint', 'Polygon'],
        ['keep_outs', ''],
        ['project', 'None'],
      ]) {
        expect(list).toMatch(new RegExp(`: ${name}( \\(${kind}|\\n| )`));
      }
      expect(describeLayer(path, 'probes')).toContain('ID["EPSG",32633]');
    });
  });

  test('probes: geometry to a micrometre, attributes exact', () => {
    const features = read((path) => readLayer(path, 'probes'));
    expect(features).toHaveLength(view.probes.length);
    features.forEach(({ properties, geometry }, i) => {
      const probe = view.probes[i] as (typeof view.probes)[number];
      const [x, y] = (geometry?.coordinates ?? []) as [number, number];
      expect(Math.hypot(x - probe.native[0], y - probe.native[1])).toBeLessThan(1e-6);
      expect(properties).toMatchObject({
        probe: probe.label,
        state: probe.state,
        easting_m: probe.native[0],
        soil: probe.soil,
        fine_fraction_pct: probe.fineFractionPct,
        permeability_m2: probe.permeabilityM2,
        permeability_class: probe.permeabilityClass,
      });
    });
    expect(features[0]?.properties).toMatchObject({ value_kind: 'value', radon_kbq_per_m3: 0.3 });
    expect(features[1]?.properties).toMatchObject({ value_kind: 'atMost', radon_kbq_per_m3: 1.5 });
    expect(features[2]?.properties).toMatchObject({ value_kind: 'none', radon_kbq_per_m3: null });
  });

  test('samples: numbers to 15 digits (more GDAL does not print), times, yes and no, text with quotes and line breaks', () => {
    const features = read((path) => readLayer(path, 'samples'));
    expect(features.map((f) => f.properties)).toMatchObject(
      view.samples.map((sample) => ({
        kind: sample.kind,
        radon_kbq_per_m3: sample.radonKBqPerM3 === null ? null : Number(sample.radonKBqPerM3.toPrecision(15)),
        radon_below_kbq_per_m3: sample.radonBelowKBqPerM3,
        radon_standard_uncertainty_kbq_per_m3: sample.radonUKBqPerM3,
        suction_pa: sample.suctionPa,
        fresh_air_seen: sample.saidFreshAir,
        water_seen: sample.saidWater,
        remark: sample.remark,
        source_file: 'sheet, 1.csv',
        source_row: 2,
      })),
    );
    const taken = features.map((f) => f.properties['taken_utc']);
    expect(taken.map((time) => (time === null ? null : new Date(String(time)).toISOString()))).toEqual(
      view.samples.map((s) => (s.takenUtc === null ? null : new Date(s.takenUtc).toISOString())),
    );
    expect(features[3]?.properties['ruling']).toContain('rod loose, redrawn');
  });

  test('contours, bands with holes, lot, footprint, keep-out', () => {
    read((path) => {
      const near = (got: unknown, want: readonly (readonly [number, number])[]) => {
        const points = got as [number, number][];
        expect(points).toHaveLength(want.length);
        want.forEach((positionM, i) => {
          const [x, y] = toNative(view.frame, positionM);
          expect(Math.hypot(x - (points[i]?.[0] ?? 0), y - (points[i]?.[1] ?? 0))).toBeLessThan(1e-6);
        });
      };
      const closed = <P>(ring: readonly P[]) => [...ring, ring[0] as P];
      const contours = readLayer(path, 'contours');
      expect(contours.map((f) => f.properties)).toEqual([
        { radon_kbq_per_m3: 20, closed: true },
        { radon_kbq_per_m3: 30, closed: false },
      ]);
      near(contours[0]?.geometry?.coordinates, closed(surface.lines[0]?.points ?? []));
      near(contours[1]?.geometry?.coordinates, surface.lines[1]?.points ?? []);
      const bands = readLayer(path, 'bands');
      expect(bands.map((f) => f.properties)).toEqual([
        { from_kbq_per_m3: 10, to_kbq_per_m3: 20 },
        { from_kbq_per_m3: 20, to_kbq_per_m3: null },
      ]);
      const parts = bands[0]?.geometry?.coordinates as unknown[][];
      expect(parts.map((rings) => rings.length)).toEqual([2, 1]);
      near(parts[0]?.[1], closed(surface.bands[0]?.polygons[0]?.[1] ?? []));
      const outer = (layer: string) => (readLayer(path, layer)[0]?.geometry?.coordinates ?? []) as unknown[];
      near(outer('lot')[0], closed(view.lot ?? []));
      near(outer('footprint')[0], closed(view.footprint?.ring ?? []));
      const [pipe] = readLayer(path, 'keep_outs');
      expect(pipe).toMatchObject({
        properties: { label: 'Pipe', buffer_m: 1 },
        geometry: { type: 'LineString' },
      });
    });
  });

  test('an untied local grid has no system; a tied one has that of its control points', () => {
    const crs = { kind: 'local', unit: 'ft', label: 'stake' } as const;
    const local = createView(crs, [0, 0]);
    withFile('local.gpkg', writeGeoPackage(local, null), (path) => {
      expect(describeLayer(path, 'probes')).toMatch(/Undefined Cartesian|unknown/);
      const [first] = readLayer(path, 'probes');
      expect(first?.geometry?.coordinates).toEqual([3.03, 7.1]);
    });
    const fit = fitLocalGrid(crs, 32633, [
      { label: 'A', local: [0, 0], mapped: [617060, 5450380] },
      { label: 'B', local: [100, 0], mapped: [617060, 5450380 - 30.48] },
    ]);
    withFile('tied.gpkg', writeGeoPackage(local, null, { tie: fit.tie }), (path) => {
      expect(describeLayer(path, 'probes')).toContain('ID["EPSG",32633]');
      // the local x axis points south: 3.03 ft along x is 0.924 m south, 7.1 ft along y is 2.164 m east
      const [x = 0, y = 0] = (readLayer(path, 'probes')[0]?.geometry?.coordinates ?? []) as number[];
      expect(x).toBeCloseTo(617060 + 7.1 * 0.3048, 6);
      expect(y).toBeCloseTo(5450380 - 3.03 * 0.3048, 6);
    });
  });

  test('state-plane feet keep their unit', () => {
    const feet = createView({ kind: 'epsg', code: 2227 }, [6000000, 2100000]);
    withFile('feet.gpkg', writeGeoPackage(feet, surface), (path) => {
      expect(describeLayer(path, 'lot')).toContain('US survey foot');
      const [first] = readLayer(path, 'probes');
      expect(first?.geometry?.coordinates).toEqual([6000003.03, 2100007.1]);
      expect(first?.properties).toHaveProperty('easting_ft_us', 6000003.03);
    });
  });
});
