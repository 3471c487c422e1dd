import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { setLot } from '../../../core/project/edit.ts';
import { commitImport } from '../../../core/project/import-files.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { acceptPlan } from '../../../core/project/plan-probes.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

let folder: string;
let store: ProjectStore;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-sheet-'));
  const crs = { kind: 'local', unit: 'm', label: 'Grid' } as const;
  store = newProject({ path: join(folder, 'a.gasplat'), name: 'A', crs, actor: 'tester' });
  const corners = [
    [0, 0],
    [40, 0],
    [40, 30],
    [0, 30],
  ] as const;
  setLot(store, corners, null, 'entered');
  const probes = (['P1', 'P2', 'P3'] as const).map((label, i) => {
    return { label, native: [5 + 10 * i, 5] as const, added: false };
  });
  acceptPlan(store, probes, 0.8, false);
});

afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

function bring(name: string, content: string) {
  const path = join(folder, name);
  writeFileSync(path, content);
  return commitImport(store, path, {});
}

const SHEET =
  'Probe,x,y,Depth (m),Soil,Radon (kBq/m3),u (kBq/m3)\nP1,,,,sand,30,2\nP2,16.5,6,1.0,gravel,31,2\nN1,35,25,0.8,sand,32,2\n';

test('a returned field sheet drives the planned probes instead of doubling them', () => {
  expect(bring('sheet.csv', SHEET)).toMatchObject({ probesAdded: 1, probesMet: 2, samplesAdded: 3 });
  const rows = new Map(store.rows('probe').map((p) => [p.label, p]));
  expect(rows.size).toBe(4);
  expect(rows.get('P1')).toMatchObject({
    state: 'driven',
    planned_x: 5,
    driven_x: 5,
    driven_y: 5,
    depth_m: 0.8,
    soil: 'sand',
  });
  expect(rows.get('P2')).toMatchObject({
    state: 'driven',
    planned_x: 15,
    driven_x: 16.5,
    driven_y: 6,
    depth_m: 1,
  });
  expect(rows.get('P3')).toMatchObject({ state: 'planned', driven_x: null });
  const view = buildView(store);
  expect(view.probes.find((p) => p.label === 'P2')?.native).toEqual([16.5, 6]);
  expect(view.samples.map((s) => s.radonKBqPerM3)).toEqual([30, 31, 32]);
});

test('the same sheet again changes nothing, and undo gives the plan back', () => {
  bring('sheet.csv', SHEET);
  expect(bring('sheet.csv', SHEET)).toMatchObject({
    probesAdded: 0,
    probesMet: 0,
    samplesAdded: 0,
    rowsKnown: 3,
  });
  store.undo();
  expect(store.rows('probe').map((p) => [p.label, p.state, p.driven_x])).toEqual([
    ['P1', 'planned', null],
    ['P2', 'planned', null],
    ['P3', 'planned', null],
  ]);
});

test('once driven, a probe of that label elsewhere is a slip again', () => {
  bring('sheet.csv', SHEET);
  const report = bring('more.csv', 'Probe,x,y,Radon (kBq/m3),u (kBq/m3)\nP2,30,6,40,2\n');
  expect(report.issues).toMatchObject([
    { severity: 'error', row: 2, message: expect.stringMatching(/already has it 13\.5 m away/) },
  ]);
  expect(report).toMatchObject({ probesMet: 0, samplesAdded: 0 });
});
