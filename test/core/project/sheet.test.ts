import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { createJobRunner, type JobRunner } from '../../../core/jobs/runner.ts';
import { createFromDemo } from '../../../core/project/demo.ts';
import { gatherReport } from '../../../core/project/report.ts';
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
