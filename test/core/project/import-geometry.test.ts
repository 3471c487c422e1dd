import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { ringArea } from '../../../core/geo/planar.ts';
import { setLot } from '../../../core/project/edit.ts';
import { importGeometry } from '../../../core/project/import-geometry.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

let folder: string;
let store: ProjectStore;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-shapes-'));
  const crs = { kind: 'epsg', code: 32633 } as const;
  store = newProject({ path: join(folder, 'a.gasplat'), name: 'A', crs, actor: 'tester' });
});

afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

function file(name: string, content: string): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

const [E, N] = [617060, 5450380];
const CORNERS = `x,y\n${E},${N}\n${E + 40},${N}\n${E + 40},${N + 30}\n${E},${N + 30}\n`;

/** In the project's system, named as GeoJSON of 2008 names one. */
function plan(...features: [kind: string, coordinates: unknown, properties: object][]): string {
  return JSON.stringify({
    type: 'FeatureCollection',
    crs: { type: 'name', properties: { name: 'EPSG:32633' } },
    features: features.map(([type, coordinates, properties]) => {
      return { type: 'Feature', properties, geometry: { type, coordinates } };
    }),
  });
}

const at = (x: number, y: number) => [E + x, N + y];
const box = (x: number, y: number, w: number, h: number) => [
  [at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h), at(x, y)],
];

test('one file gives lot, footprint, keep-outs and planned probes, each by its role', () => {
  const path = file(
    'plan.geojson',
    plan(
      ['Polygon', box(0, 0, 40, 30), { role: 'lot' }],
      ['Polygon', box(10, 10, 12, 9), { role: 'footprint', name: 'House' }],
      ['LineString', [at(0, 25), at(40, 25)], { role: 'keep-out', name: 'Gas main', buffer_m: 1.5 }],
      ['Point', at(5, 5), { role: 'probe', name: 'A1' }],
      ['Point', at(15, 5), { role: 'probe', name: 'A2' }],
    ),
  );
  expect(importGeometry(store, path, 'lot').added).toBe(1);
  expect(importGeometry(store, path, 'footprint').added).toBe(1);
  expect(importGeometry(store, path, 'keep-out').added).toBe(1);
  expect(importGeometry(store, path, 'probes', { depthM: 0.9 }).added).toBe(2);
  const view = buildView(store);
  expect(view.lotAreaM2).toBeCloseTo(1200, 6);
  expect(view.footprint?.label).toBe('House');
  expect(view.keepOuts).toMatchObject([{ label: 'Gas main', shape: 'line', bufferM: 1.5 }]);
  expect(view.probes).toMatchObject([
    { label: 'A1', state: 'planned', native: at(5, 5), depthM: 0.9 },
    { label: 'A2', state: 'planned', native: at(15, 5), depthM: 0.9 },
  ]);
  expect(store.rows('probe').every((p) => p.driven_x === null)).toBe(true);
});

test('a keep-out that is there already is not doubled, planned probes are replaced only when asked', () => {
  importGeometry(store, file('lot.csv', CORNERS), 'lot');
  const path = file(
    'more.geojson',
    plan(['LineString', [at(0, 25), at(40, 25)], { name: 'Pipe' }], ['Point', at(5, 5), { name: 'A1' }]),
  );
  expect(() => importGeometry(store, path, 'keep-out')).toThrow(/line without a buffer/);
  expect(importGeometry(store, path, 'keep-out', { bufferM: 2 }).added).toBe(1);
  const again = importGeometry(store, path, 'keep-out', { bufferM: 2 });
  expect(again.added).toBe(0);
  expect(again.notes.at(-1)).toBe('1 of 1 keep-outs are known already.');
  importGeometry(store, path, 'probes');
  expect(() => importGeometry(store, path, 'probes')).toThrow(/probe "A1" already/);
  expect(importGeometry(store, path, 'probes', { replace: true }).added).toBe(1);
  expect(buildView(store).probes).toHaveLength(1);
});

test('corners of a table make a lot or a footprint, its rows planned probes, and no keep-out', () => {
  importGeometry(store, file('lot.csv', CORNERS), 'lot');
  importGeometry(store, file('house.csv', CORNERS), 'footprint');
  expect(buildView(store).footprint?.ring).toHaveLength(4);
  expect(() => importGeometry(store, file('k.csv', CORNERS), 'keep-out')).toThrow(/k\.csv is a table/);
  const list = file('p.csv', `Point;E;N\nA1;${E + 5};${N + 5}\nA2;${E + 15};${N + 5}\n`);
  expect(importGeometry(store, list, 'probes')).toEqual({ added: 2, notes: [] });
  expect(buildView(store).probes).toMatchObject([
    { label: 'A1', state: 'planned', native: at(5, 5) },
    { label: 'A2', state: 'planned', native: at(15, 5) },
  ]);
  expect(importGeometry(store, list, 'probes', { replace: true }).notes.join()).toMatch(/^2 planned probes/);
  const twice = file('q.csv', `Point;E;N\nB1;${E + 5};${N + 9}\nb1;${E + 15};${N + 9}\n`);
  expect(() => importGeometry(store, twice, 'probes')).toThrow(/probe "b1" already/);
});

test('a table of corners counts in the unit of its headers, or in degrees where they say so', () => {
  const feet = [
    [0, 0],
    [40, 0],
    [40, 30],
    [0, 30],
  ].map(([x = 0, y = 0]) => {
    return `${((E + x) / 0.3048).toFixed(6)},${((N + y) / 0.3048).toFixed(6)}`;
  });
  importGeometry(store, file('feet.csv', `x (ft),y (ft)\n${feet.join('\n')}\n`), 'lot');
  expect(buildView(store).lotAreaM2).toBeCloseTo(1200, 2);
  const degrees = '16.3975,49.6416\n16.3981,49.6416\n16.3981,49.6420\n16.3975,49.6420\n';
  const { notes } = importGeometry(store, file('degrees.csv', `lon,lat\n${degrees}`), 'lot');
  expect(notes[0]).toContain('EPSG:4326');
  // A degree of latitude is 111.23 km and one of longitude 72.25 km at 49.64 degrees north (WGS 84), the scale
  // of UTM 1.0-0.9997 there.
  expect(buildView(store).lotAreaM2 ?? 0).toBeGreaterThan(0.0006 * 72_250 * 0.0004 * 111_230 * 0.999);
  expect(buildView(store).lotAreaM2 ?? 0).toBeLessThan(0.0006 * 72_250 * 0.0004 * 111_230 * 1.001);
  store.undo();
  store.undo();
  const bare = file('bare.csv', `x,y\n${degrees}`);
  expect(() => importGeometry(store, bare, 'lot')).toThrow(/look like degrees.*EPSG:4326/);
  const typed: [number, number][] = [
    [16.3975, 49.6416],
    [16.3981, 49.6416],
    [16.3981, 49.642],
  ];
  expect(() => setLot(store, typed, null, 'typed')).toThrow(/numbers of the lot \(.*look like degrees/);
});

test("a lot far too small for its unit stays in doubt, and a crossing is told in the lot's own numbers", () => {
  const corners = (m: number) => [at(0, 0), at(40 * m, 0), at(40 * m, 30 * m), at(0, 30 * m)];
  setLot(store, corners(0.001) as [number, number][], null, 'typed');
  expect(buildView(store).warnings.join()).toMatch(/lot covers only 0\.0012 m²/);
  setLot(store, corners(1) as [number, number][], null, 'typed');
  expect(buildView(store).warnings).toEqual([]);
  const bow = [at(0, 0), at(40, 30), at(40, 0), at(0, 30)] as [number, number][];
  expect(() => setLot(store, bow, null, 'typed')).toThrow('at 617080.00, 5450395.00 m. Check');
});

test('a point among keep-outs is never dropped unsaid', () => {
  importGeometry(store, file('lot.csv', CORNERS), 'lot');
  const path = file(
    'ways.geojson',
    plan(['LineString', [at(0, 25), at(40, 25)], { name: 'Pipe' }], ['Point', at(20, 10), { name: 'Oak' }]),
  );
  expect(importGeometry(store, path, 'keep-out', { bufferM: 2 }).notes.join()).toMatch(/Not taken.*"Oak"/);
  expect(importGeometry(store, path, 'keep-out', { bufferM: 2, points: true }).added).toBe(1);
  const [, oak] = buildView(store).keepOuts;
  expect(oak).toMatchObject({ label: 'Oak', shape: 'polygon', bufferM: 2 });
  expect(ringArea(oak?.points ?? [])).toBeCloseTo(0.04, 6);
});

test('a far-off probe and a missing file are told', () => {
  importGeometry(store, file('lot.csv', CORNERS), 'lot');
  const path = file('far.geojson', plan(['Point', at(90_000, 5), { name: 'A1' }]));
  expect(() => importGeometry(store, path, 'probes')).toThrow(/far\.geojson/);
  expect(() => importGeometry(store, join(folder, 'none.dxf'), 'lot')).toThrow(/no such file/);
  expect(buildView(store).probes).toHaveLength(0);
});

test('the parts of a shapefile are found beside it', () => {
  const path = join(import.meta.dirname, '..', 'exchange', 'data', 'plan.shp');
  const crs = { kind: 'epsg', code: 2227 } as const;
  const feet = newProject({ path: join(folder, 'b.gasplat'), name: 'B', crs, actor: 'tester' });
  try {
    // The name stands in the .dbf, its letters in the .cpg, the system in the .prj.
    const { notes } = importGeometry(feet, path, 'lot', { feature: 'record 2 "Café", part 1' });
    expect(notes.join(' ')).toContain('EPSG:2227');
    expect(buildView(feet).lot).toHaveLength(3);
  } finally {
    feet.close();
  }
});
