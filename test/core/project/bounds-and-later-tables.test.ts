/** What a table says in bounds, and what a later one adds, all the way to the class. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { writeSamplesCsv } from '../../../core/exchange/csv-out.ts';
import { computeClass } from '../../../core/project/classify-lot.ts';
import { setLot } from '../../../core/project/edit.ts';
import { commitImport } from '../../../core/project/import-files.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { planSurface } from '../../../core/project/plan-surface.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

let folder: string;
let store: ProjectStore;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-bounds-'));
  const crs = { kind: 'local', unit: 'm', label: 'Grid' } as const;
  store = newProject({ path: join(folder, 'a.gasplat'), name: 'A', crs, actor: 'tester' });
  setLot(
    store,
    [
      [-5, -5],
      [30, -5],
      [30, 30],
      [-5, 30],
    ],
    null,
    'entered',
  );
});

afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

function bring(name: string, header: string, rows: readonly string[]) {
  const path = join(folder, name);
  writeFileSync(path, [header, ...rows].join('\n'));
  return commitImport(store, path, {});
}

const HEADER = 'Probe,x (m),y (m),Depth (m),Radon (kBq/m3),u (kBq/m3)';
const place = (i: number) => `P${i},${5 * (i % 5)},${i - (i % 5)},0.8`;

test('over the range: a bound in class, surface and export, and the same again when that comes back', () => {
  const rows = Array.from(
    { length: 20 },
    (_, i) => `${place(i)},${i < 15 ? 5 + i / 10 : '>40'},${i < 15 ? 0.5 : ''},high`,
  );
  expect(bring('samples.csv', `${HEADER},Permeability class`, rows)).toMatchObject({
    samplesAdded: 20,
    rowsLeftOut: 0,
  });
  const view = buildView(store);
  expect(view.assessments.filter((a) => a.treatment === 'lower-bound')).toHaveLength(5);
  // The third quartile of all twenty is over 5 + 0.25 x (40 - 6.4) = 13 by rank 15.25: over the 10 of the table.
  const found = computeClass(view, { draws: 0 });
  expect(found.classId).toBeNull();
  expect(found.range).toContain('high');
  const { lowerBounds } = planSurface(view).points;
  expect([...(lowerBounds?.bounds ?? [])]).toEqual([40, 40, 40, 40, 40]);
  expect(lowerBounds?.origin).toBe('cut');
  expect(writeSamplesCsv(view)).toMatch(/>40/);
});

test('a later table completes probes that are there, and never replaces what is', () => {
  bring('samples.csv', `${HEADER},Permeability class`, [`${place(0)},12,1,`, `${place(1)},12,1,low`]);
  const report = bring('ground.csv', 'Probe,Radon (kBq/m3),Permeability class,Soil', [
    'P0,,high,gravel',
    'P1,,high,',
  ]);
  expect(report.probesFilled).toBe(1);
  expect(report.issues.map((i) => i.message)).toContainEqual(
    expect.stringMatching(
      /row 3 of ground\.csv gives probe 'P1' the permeability class 'high'; the project holds 'low'/,
    ),
  );
  expect(buildView(store).probes.map((p) => [p.permeabilityClass, p.soil])).toEqual([
    ['high', 'gravel'],
    ['low', null],
  ]);
});

test('rows left out are counted in the answer and in the record', () => {
  const report = bring('samples.csv', HEADER, [`${place(0)},12,1`, `${place(1)},lots,1`, `${place(2)},80,1`]);
  expect(report).toMatchObject({ samplesAdded: 2, rowsLeftOut: 1 });
  expect(JSON.stringify(store.record())).toMatch(/1 rows with errors left out/);
});
