import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test, vi } from 'vitest';
import { setFootprint, setLot, setRuling, setSettings } from '../../../core/project/edit.ts';
import { commitImport } from '../../../core/project/import-files.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { acceptPlan } from '../../../core/project/plan-probes.ts';
import { buildView } from '../../../core/project/view.ts';
import { tempFolder } from '../store/fixtures.ts';

vi.setConfig({ testTimeout: 60_000 });

test('surface and class are called out of date by what they come from, and by nothing else', () => {
  const folder = tempFolder();
  const crs = { kind: 'local', unit: 'm', label: 'stake' } as const;
  const store = newProject({ path: join(folder, 'a.gasplat'), name: 'A', crs, actor: 'tester' });
  const basis = () => buildView(store).basis;
  expect(basis().surface).toMatch(/no lot yet/);
  const corners = [
    [0, 0],
    [40, 0],
    [40, 30],
    [0, 30],
  ] as const;
  setLot(store, corners, null, 'typed');
  expect(basis().surface).toMatch(/at least 3 values; this lot has 0/);
  const sheet = join(folder, 's.csv');
  const rows = [...Array(16).keys()].map(
    (i) => `P${i},${5 + 9 * (i % 4)},${4 + 7 * Math.floor(i / 4)},0.8,${20 + i}`,
  );
  writeFileSync(sheet, `Probe,Easting (m),Northing (m),Depth (m),Radon (kBq/m3)\n${rows.join('\n')}\n`);
  commitImport(store, sheet, {});
  const measured = basis();
  expect(measured.surface).toMatch(/^surface:/);

  const plan = (label: string, added: boolean) =>
    acceptPlan(store, [{ label, native: [20, 15], added }], 0.8, false);
  plan('Q1', false);
  setFootprint(store, 'house', [
    [10, 10],
    [20, 10],
    [20, 18],
    [10, 18],
  ]);
  expect(basis()).toEqual(measured);
  // The class names added probes that are still to be driven; the surface knows nothing of them.
  plan('Q2', true);
  expect(basis().surface).toBe(measured.surface);
  expect(basis().class).not.toBe(measured.class);
  store.undo();
  expect(basis()).toEqual(measured);

  const { settings, samples } = buildView(store);
  setSettings(store, { ...settings, surface: { ...settings.surface, drift: 'linear' } });
  expect(basis().surface).not.toBe(measured.surface);
  expect(basis().class).toBe(measured.class);
  store.undo();
  setSettings(store, { ...settings, schemeId: 'swedish-ground-classes' });
  expect(basis().class).not.toBe(measured.class);
  store.undo();
  setRuling(store, { sampleIds: [samples[5]?.id ?? ''], verdict: 'leave-out', reason: 'rod loose' });
  expect(basis().surface).not.toBe(measured.surface);
  expect(basis().class).not.toBe(measured.class);
});
