import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Input, Output, RequestName } from '../../../core/contract/requests.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import { createEngine, type Engine } from '../../../core/project/engine.ts';

let folder: string;
let engine: Engine;
let nextId = 1;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-control-'));
  const jobs = createJobRunner({ threads: 1 });
  engine = createEngine({ jobs, emit: () => {}, host: 'test', version: '0.0.0', actor: 'tester' });
  const crs = { kind: 'local', unit: 'm', label: 'Tape' } as const;
  await ask('project.create', { path: join(folder, 'a.gasplat'), name: 'A', crs });
  const ring = [
    [0, 0],
    [40, 0],
    [40, 30],
    [0, 30],
  ] as const;
  await ask('lot.set', { ring });
});

afterEach(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

async function ask<N extends RequestName>(name: N, input: Input<N>): Promise<Output<N>> {
  const reply = await engine.handle({ kind: 'request', id: nextId++, name, input });
  if (!reply.ok) throw new Error(`${reply.error.code}: ${reply.error.message}`);
  return reply.output as Output<N>;
}

/**
 * The local y axis points east: (x, y) of the tape is (617060 + y, 5450380 - x) on the map, UTM zone 33N, where the
 * grid is 0.99977 as long as the ground: too little to see over 40 m.
 */
const onMap = ([x, y]: readonly [number, number]) => [617060 + y, 5450380 - x] as const;
const point = (label: string, x: number, y: number, off = 0) => {
  const [e, n] = onMap([x, y]);
  return { label, local: [x, y] as const, mapped: [e + off, n] as const };
};
const CORNERS = [point('A', 0, 0), point('B', 40, 0), point('C', 40, 30), point('D', 0, 30)];

test('the fit comes back with its residuals, and is there when asked again', async () => {
  expect(await ask('control.get', {})).toEqual({ control: null });
  const slipped = [point('A', 0, 0, 0.2), ...CORNERS.slice(1)];
  const { control } = await ask('control.set', { code: 32633, points: slipped });
  expect(control?.turnDeg).toBeCloseTo(90, 0);
  expect(control?.scale).toBeCloseTo(1, 2);
  // A similarity through four corners of a rectangle takes up part of one corner's slip; A keeps the largest share.
  const byLength = [...(control?.residuals ?? [])].sort((a, b) => b.lengthM - a.lengthM);
  expect(byLength[0]?.label).toBe('A');
  expect(control?.residuals.reduce((sum, r) => sum + r.eastM, 0)).toBeCloseTo(0, 6);
  expect(await ask('control.get', {})).toEqual({ control });
});

test('a tied project goes out in degrees, and a file of the map comes in', async () => {
  const path = join(folder, 'out.geojson');
  const save = () => ask('export.save', { path, format: 'geojson' });
  await expect(save()).rejects.toThrow(/control points/);
  await ask('control.set', { code: 32633, points: CORNERS });
  await save();
  const lot = JSON.parse(readFileSync(path, 'utf8')).features[0].geometry.coordinates[0];
  // test/reference/projections, point 2: 16.6068 E, 49.1951 N is 617063.4656, 5450387.1286 in EPSG:32633.
  const nearest = Math.min(
    ...lot.map(([lon, lat]: [number, number]) =>
      Math.hypot((lon - 16.6068) * 72_700, (lat - 49.1951) * 111_200),
    ),
  );
  expect(nearest).toBeCloseTo(Math.hypot(617063.4656 - 617060, 5450387.1286 - 5450380), 0);

  const [east, north] = onMap([12, 8]);
  const plan = join(folder, 'plan.geojson');
  writeFileSync(
    plan,
    JSON.stringify({
      type: 'Feature',
      crs: { type: 'name', properties: { name: 'EPSG:32633' } },
      properties: { name: 'P1' },
      geometry: { type: 'Point', coordinates: [east, north] },
    }),
  );
  const { view } = await ask('geometry.import', { path: plan, what: 'probes', options: {} });
  expect(view.probes[0]?.native[0]).toBeCloseTo(12, 6);
  expect(view.probes[0]?.native[1]).toBeCloseTo(8, 6);
});

test('a lot of the map stays where it lay when the tie is taken away, and undo ties again', async () => {
  await ask('control.set', { code: 32633, points: CORNERS });
  const ring = (
    [
      [0, 0],
      [20, 0],
      [20, 10],
    ] as const
  ).map(onMap);
  const { lotAreaM2 } = await ask('lot.set', { ring, crs: { kind: 'epsg', code: 32633 } });
  expect(lotAreaM2).toBeCloseTo(100, 3);
  const untied = await ask('control.set', { code: 32633, points: [] });
  expect(untied.control).toBeNull();
  expect(untied.view.lotAreaM2).toBeCloseTo(100, 3);
  await ask('record.undo', {});
  expect((await ask('control.get', {})).control?.points).toHaveLength(4);
});

test.each([
  ['one point', [CORNERS[0]], /need at least 2/],
  ['two of one name', [point('A', 0, 0), point('a', 40, 0)], /Two control points are named "a"/],
  [
    'feet for metres',
    [point('A', 0, 0), point('B', 40, 0)].map((p) => ({
      ...p,
      local: p.local.map((v) => v / 0.3048) as [number, number],
    })),
    /feet/,
  ],
])('%s is refused', async (_what, points, message) => {
  const given = points.flatMap((p) => (p === undefined ? [] : [p]));
  await expect(ask('control.set', { code: 32633, points: given })).rejects.toThrow(message);
  expect(await ask('control.get', {})).toEqual({ control: null });
});
