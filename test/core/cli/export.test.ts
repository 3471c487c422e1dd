import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { gasplatIn } from './gasplat.ts';

let folder: string;
let crs: string;
let probes: { label: string; driven_x: number; driven_y: number }[];

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-export-'));
  expect(gasplat('demo', '--out', '.', '--lot', 'ordinary').code).toBe(0);
  const db = new Database(join(folder, 'ordinary.gasplat'), { readonly: true });
  probes = db.prepare('SELECT label, driven_x, driven_y FROM probe ORDER BY id').all() as typeof probes;
  const code = JSON.parse(db.prepare('SELECT crs_json FROM project').pluck().get() as string).code;
  crs = `EPSG:${code}`;
  db.close();
}, 120_000);

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const gasplat = gasplatIn(() => folder);

function exported(file: string, ...args: string[]): Buffer {
  const run = gasplat('export', 'ordinary.gasplat', '--out', file, ...args, '--json');
  expect(run.err.includes('rror') ? run.err : '').toBe('');
  const bytes = readFileSync(join(folder, file));
  expect(JSON.parse(run.out)).toMatchObject({ path: file, bytes: bytes.length });
  return bytes;
}

describe('every ending gives its format, with the probes of the project in it', () => {
  test('GeoPackage: an SQLite database that lists a layer of all probes (OGC 12-128, clause 1)', () => {
    exported('out.gpkg');
    const db = new Database(join(folder, 'out.gpkg'), { readonly: true });
    const layers = db.prepare('SELECT table_name FROM gpkg_contents').pluck().all();
    expect(layers).toContain('probes');
    expect(layers).toContain('contours');
    expect(db.prepare('SELECT probe FROM probes').pluck().all().sort()).toEqual(
      probes.map((p) => p.label).sort(),
    );
    db.close();
  });

  test('GeoJSON: a feature collection with a point each probe and contour lines', () => {
    const root = JSON.parse(exported('out.geojson').toString());
    const types = root.features.map((f: { geometry: { type: string } }) => f.geometry.type);
    expect(types.filter((t: string) => t === 'Point')).toHaveLength(probes.length);
    expect(types).toContain('LineString');
  });

  test('GeoTIFF: little-endian TIFF 6.0 header', () => {
    expect([...exported('out.tif').subarray(0, 4)]).toEqual([0x49, 0x49, 42, 0]);
  });

  test('DXF: a point each probe, texts in step with the plot scale', () => {
    const heights = (text: string) =>
      [...text.matchAll(/\n\s*0\r?\nTEXT\r?\n[\s\S]*?\n\s*40\r?\n([\d.]+)/g)].map((m) => Number(m[1]));
    const at200 = exported('out.dxf', '--plot-scale', '200').toString();
    const at400 = exported('out400.dxf', '--plot-scale', '400').toString();
    expect(at200.match(/\n\s*0\r?\nPOINT\r?\n/g)).toHaveLength(probes.length);
    expect(heights(at200).length).toBeGreaterThanOrEqual(probes.length);
    expect(heights(at400)[0]).toBeCloseTo(2 * (heights(at200)[0] ?? Number.NaN), 6);
  });

  test('KML and GPX: a placemark and a waypoint each probe', () => {
    const kml = exported('out.kml').toString();
    for (const { label } of probes) expect(kml).toContain(`<name>${label}</name>`);
    const gpx = exported('out.gpx').toString();
    expect(gpx.match(/<wpt /g)).toHaveLength(probes.length);
  });

  test('CSV: rows of samples, of probes, or to stake out', () => {
    const lines = (bytes: Buffer) => bytes.toString().trimEnd().split('\r\n');
    const samples = lines(exported('samples.csv'));
    expect(samples[0]).toContain('Radon (kBq/m3)');
    const stakes = lines(exported('stakes.csv', '--rows', 'stake-out'));
    expect(stakes).toHaveLength(probes.length + 1);
    expect(stakes[0]).toContain('WGS 84 longitude (deg)');
    expect(lines(exported('probes.csv', '--rows', 'probes'))).toHaveLength(probes.length + 1);
  });
});

describe('what went out comes into a new project', () => {
  test.each(['gpkg', 'dxf'])('lot, footprint and planned probes of a .%s', (ending) => {
    exported(`round.${ending}`);
    const job = `round-${ending}.gasplat`;
    expect(gasplat('new', job, '--name', 'Round', '--crs', crs, '--lot', `round.${ending}`)).toMatchObject({
      code: 0,
    });
    const footprint = gasplat('import', job, `round.${ending}`, '--what', 'footprint');
    expect(footprint.out).toMatch(/^Footprint taken from/);
    const taken = gasplat('import', job, `round.${ending}`, '--what', 'probes', '--json');
    expect(JSON.parse(taken.out)).toMatchObject({ added: probes.length });
    expect(gasplat('import', job, 'x.dxf', '--what', 'lot', '--map', 'x=E').code).toBe(2);
    expect(gasplat('import', job, 'x.csv', '--layer', 'LOT').code).toBe(2);
  });
});

describe('what cannot be written says why', () => {
  test.each([
    [['--out', 'out.shp'], 1, /\.csv, \.gpkg/],
    [['--out', 'out.kml', '--rows', 'probes'], 2, /--rows is for CSV/],
    [['--out', 'out.csv', '--plot-scale', '200'], 2, /--plot-scale is for DXF/],
    [['--out', 'out.dxf', '--plot-scale=-1'], 2, /above 0/],
  ])('%j', (args, code, message) => {
    const run = gasplat('export', 'ordinary.gasplat', ...args);
    expect(run.code).toBe(code);
    expect(run.err).toMatch(message);
  });

  test('a GeoTIFF of a project without a lot asks for the lot', () => {
    expect(gasplat('new', 'bare.gasplat', '--name', 'Bare', '--crs', 'local:m').code).toBe(0);
    const run = gasplat('export', 'bare.gasplat', '--out', 'bare.tif');
    expect(run.code).toBe(1);
    expect(run.err).toMatch(/no lot yet/);
  });

  test('a drawing of a project without a surface goes without contours', () => {
    expect(gasplat('export', 'bare.gasplat', '--out', 'bare.dxf').code).toBe(0);
    expect(readFileSync(join(folder, 'bare.dxf'), 'utf8')).not.toContain('LWPOLYLINE\r\n');
  });
});
