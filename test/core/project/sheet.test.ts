import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { createJobRunner, type JobRunner } from '../../../core/jobs/runner.ts';
import { computeClass } from '../../../core/project/classify-lot.ts';
import { createFromDemo } from '../../../core/project/demo.ts';
import { composePages, figureInput, gatherFigure } from '../../../core/project/figure.ts';
import { gatherReport } from '../../../core/project/report.ts';
import { arrangeSheet, readSheetChanges, resetSheet } from '../../../core/project/sheet-places.ts';
import { readSheetTexts, setSheetTexts } from '../../../core/project/sheet-texts.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

let folder: string;
let store: ProjectStore;
let jobs: JobRunner;
const context = { signal: new AbortController().signal, onProgress: () => undefined };

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-sheet-'));
  jobs = createJobRunner();
  store = createFromDemo({ path: join(folder, 'lot.gasplat'), lot: 'ordinary', actor: 'Ann Example' });
});

afterAll(async () => {
  store.close();
  await jobs.close();
  rmSync(folder, { recursive: true, force: true });
});

test('texts of the sheet are kept, recorded, undone, and used by figure and report', async () => {
  setSheetTexts(store, { preparedBy: '  Ann Example ', client: 'A. Sample', notes: 'Fence moved in May.' });
  setSheetTexts(store, { client: 'B. Sample' });
  expect(readSheetTexts(store)).toEqual({
    preparedBy: 'Ann Example',
    client: 'B. Sample',
    notes: 'Fence moved in May.',
  });
  expect(store.record({ limit: 2 }).map((e) => e.summary)).toEqual([
    'Sheet and report: client',
    'Sheet and report: preparer, client, notes',
  ]);

  const report = await gatherReport(store, jobs, { texts: { client: 'C. Sample' } }, context, '0.0.0');
  expect(report.people).toEqual({ preparedBy: 'Ann Example', client: 'C. Sample' });
  expect(report.figure.sheet).toEqual({ client: 'C. Sample', notes: 'Fence moved in May.' });

  const { revision } = store;
  setSheetTexts(store, { client: 'B. Sample', reviewedBy: '' });
  expect(store.revision).toBe(revision);
  store.undo();
  expect(buildView(store).sheetTexts.client).toBe('A. Sample');
  setSheetTexts(store, { client: ' ' });
  expect(buildView(store).sheetTexts).toEqual({ preparedBy: 'Ann Example', notes: 'Fence moved in May.' });
  expect(store.verifyRecord().intact).toBe(true);
});

test('a probe too shallow for the scheme has a symbol of its own and stands among the exceptions of the sheet', () => {
  const [probe] = buildView(store).probes;
  const before = buildView(store).marks.find((m) => m.probeId === probe?.id);
  expect(before?.symbol).toBe('valid');
  const [sample] = store.rows('sample', { probe_id: probe?.id ?? '' });
  store.change('test', 'Draw it at 0.3 m', (tx) => {
    tx.update('probe', probe?.id ?? '', { depth_m: 0.3 });
    tx.update('sample', sample?.id ?? '', { depth_m: 0.3 });
  });
  const view = buildView(store);
  const mark = view.marks.find((m) => m.probeId === probe?.id);
  expect(mark?.symbol).toBe('uncounted');
  expect(mark?.treatmentReason).toContain('drawn at 0.3 m');
  // The class leaves out the same probe, by name.
  expect(computeClass(view).validCount).toBe(
    view.marks.filter((m) => m.symbol === 'valid' || m.symbol === 'suspect').length,
  );
  const figure = figureInput({
    view,
    surface: null,
    noSurfaceReason: 'not asked for',
    classResult: computeClass(view),
    recordHash: null,
    preparedBy: null,
    version: '0.0.0',
  });
  expect(figure.exceptions.find((e) => e.label === probe?.label)?.text).toContain('not counted in the class');
  expect(figure.rows.find((r) => r.label === probe?.label)).toMatchObject({
    symbol: 'uncounted',
    treatment: 'used, not counted in the class',
  });
  store.undo();
});

test('places of parts are kept by sheet, each change in the record, undone, reset, and used by the figure', async () => {
  const sheet = { template: 'map', page: 'A4', orientation: 'portrait' } as const;
  const place = { page: 1, xMm: 130, yMm: 30, widthMm: 60, heightMm: 50 };
  arrangeSheet(store, sheet, { legend: { place, hidden: false } });
  arrangeSheet(store, sheet, { quality: { place: null, hidden: true } });
  expect(readSheetChanges(store, sheet)).toEqual({
    legend: { place, hidden: false },
    quality: { place: null, hidden: true },
  });
  expect(readSheetChanges(store, { ...sheet, page: 'A3' })).toEqual({});
  expect(store.record({ limit: 2 }).map((e) => e.summary)).toEqual([
    'Hide quality: map sheet, A4 portrait',
    'Place legend: map sheet, A4 portrait',
  ]);
  expect(() => arrangeSheet(store, sheet, { cautions: { place: null, hidden: true } })).toThrow(/not hidden/);
  expect(() =>
    arrangeSheet(store, sheet, { legend: { place: { ...place, xMm: 180 }, hidden: false } }),
  ).toThrow(/does not lie on A4 portrait/);

  const parts = await gatherFigure(store, jobs, sheet, context, '0.0.0');
  const { layout } = composePages(parts, store, sheet);
  expect(layout.parts.find((p) => p.id === 'legend')).toMatchObject({
    ...place,
    heightMm: expect.any(Number),
    moved: true,
  });
  expect(layout.remarks).toContain('Not shown: Quality.');
  // A draft holds in place of what is kept, as while a part is dragged.
  const draft = composePages(parts, store, { ...sheet, changes: {} });
  expect(draft.layout.parts.some((p) => p.moved || p.hidden)).toBe(false);

  store.undo();
  expect(Object.keys(readSheetChanges(store, sheet))).toEqual(['legend']);
  resetSheet(store, sheet, null);
  expect(readSheetChanges(store, sheet)).toEqual({});
  store.undo();
  expect(readSheetChanges(store, sheet)).toEqual({ legend: { place, hidden: false } });
});
