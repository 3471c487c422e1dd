import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Input, Output, RequestName } from '../../../core/contract/requests.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import { createEngine, type Engine } from '../../../core/project/engine.ts';
import { checkReportFile } from '../../../core/project/issue.ts';
import { ISSUED_MEDIA_TYPE } from '../../../core/report/issue-state.ts';
import { sha256 } from '../../../core/store/canonical.ts';
import { openProject } from '../../../core/store/open-project.ts';

let folder: string;
let path: string;
let nextId = 1;
const engines: Engine[] = [];

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-issue-'));
  path = join(folder, 'lot.gasplat');
});

afterAll(async () => {
  for (const engine of engines) await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

/** What one person asks of their own program. */
function person(actor: string) {
  const jobs = createJobRunner({ threads: 2 });
  const engine = createEngine({ jobs, emit: () => {}, host: 'test', version: '0.1.0', actor });
  engines.push(engine);
  return async <N extends RequestName>(name: N, input: Input<N>): Promise<Output<N>> => {
    const reply = await engine.handle({ kind: 'request', id: nextId++, name, input });
    if (!reply.ok) throw new Error(`${reply.error.code}: ${reply.error.message}`);
    return reply.output as Output<N>;
  };
}

const options = { preparedBy: 'Ann Example' };

test('issue, change, issue again, review: numbered, compared, and closed to undo', async () => {
  const ann = person('Ann Example');
  let view = await ann('project.demo', { path, lot: 'ordinary' });
  expect(await ann('issue.compare', { options })).toEqual({ last: null });
  const html = (n: number) => join(folder, `issue-${n}.html`);
  const issue = (n: number) => ann('issue.create', { path: html(n), formats: ['html'], options });

  const first = await issue(1);
  expect(first.issue.files).toEqual([
    expect.objectContaining({ name: 'issue-1.html', sha256: sha256(readFileSync(html(1))), isKept: true }),
  ]);
  expect(first).toMatchObject({ issue: { number: 1, actor: 'Ann Example', reviews: [] }, differences: [] });
  expect(readFileSync(html(1), 'utf8')).toContain(first.issue.sha256);
  expect(first.view.canUndo).toBeNull();
  expect(await ann('record.undo', {})).toMatchObject({ revision: first.view.revision });
  const unchanged = await ann('issue.compare', { options });
  expect(unchanged.last).toMatchObject({
    number: 1,
    differences: [expect.stringMatching(/^Only the record/)],
  });

  const [sample] = view.samples;
  const ruling = { sampleIds: [sample?.id ?? ''], verdict: 'leave-out', reason: 'Swapped label' } as const;
  view = await ann('ruling.set', ruling);
  expect(view.canUndo).not.toBeNull();
  await ann('record.undo', {});
  expect((await ann('project.view', {})).canRedo).not.toBeNull();
  await ann('record.redo', {});
  const second = await issue(2);
  expect(second.issue.number).toBe(2);
  expect(second.differences.join('\n')).toMatch(/Ruling on \S+ from none to leave-out .*Swapped label/);
  expect(second.view.canRedo).toBeNull();

  await expect(ann('issue.review', { number: 2, note: '' })).rejects.toThrow(/your own/);
  await ann('project.close', {});

  const bo = person('Bo Example');
  await bo('project.open', { path });
  await expect(bo('issue.review', { number: 3, note: '' })).rejects.toThrow(/no issue 3/);
  const { issues } = await bo('issue.review', { number: 2, note: 'Looked at the raw counts.' });
  expect(issues.map((i) => i.reviews.map((r) => [r.reviewer, r.note]))).toEqual([
    [],
    [['Bo Example', 'Looked at the raw counts.']],
  ]);
  expect(issues[1]?.reviews[0]?.statement).toContain(second.issue.sha256);
  await expect(bo('issue.review', { number: 2, note: '' })).rejects.toThrow(/already/);
  expect((await bo('project.view', {})).canUndo).toBeNull();
  expect((await bo('record.list', {})).intact).toBe(true);
  // Named as preparer by another's issue, Bo cannot be the second person who looked at it.
  const third = await bo('issue.create', {
    path: join(folder, 'issue-3.pdf'),
    formats: ['pdf', 'html', 'docx'],
    options: { preparedBy: 'Ann  EXAMPLE', reviewedBy: 'Ann Example' },
  });
  expect(third.files.map((f) => f.path)).toEqual(
    ['issue-3.pdf', 'issue-3.html', 'issue-3.docx'].map((name) => join(folder, name)),
  );
  expect(readFileSync(join(folder, 'issue-3.html'), 'utf8')).toContain(
    'Preparer and reviewer are the same person',
  );
  await bo('project.close', {});
  await ann('project.open', { path });
  await expect(ann('issue.review', { number: 3, note: '' })).rejects.toThrow(
    /names Ann {2}EXAMPLE as its preparer/,
  );
  const again = join(folder, 'again.pdf');
  await ann('issue.copy', { number: 3, path: again });
  expect(readFileSync(again).equals(readFileSync(join(folder, 'issue-3.pdf')))).toBe(true);
  const other = { path: join(folder, 'issue-3.docx'), formats: ['docx', 'html'] as const, options };
  await expect(ann('issue.create', { ...other, path: join(folder, 'x.docx') })).resolves.toBeDefined();
  await expect(ann('issue.create', other)).rejects.toThrow(/issue-3.html is there already/);
  await ann('project.close', {});
}, 120_000);

test('a file says whether it is an issue: unaltered, altered, a draft, or nothing of this project', async () => {
  const ann = person('Ann Example');
  await ann('project.open', { path });
  const draft = join(folder, 'draft.docx');
  await ann('report.save', { path: draft, format: 'docx', options });
  await ann('project.close', {});
  const store = openProject(path, { readOnly: true });
  try {
    const check = (name: string, bytes: Uint8Array = readFileSync(join(folder, name))) =>
      checkReportFile(store, bytes, name);
    expect(check('issue-2.html')).toMatchObject({
      state: 'unaltered',
      number: 2,
      statement: expect.stringMatching(
        /is issue 2 of this project, unaltered.*reviewed by Bo Example on .*issue 4 is/,
      ),
    });
    for (const format of ['pdf', 'html', 'docx']) {
      const bytes = readFileSync(join(folder, `issue-3.${format}`));
      expect(check(format, bytes)).toMatchObject({ state: 'unaltered', number: 3 });
      // One blank more at the end: what a permit office was sent is no longer what was issued.
      expect(check(format, Buffer.concat([bytes, Buffer.from(' ')]))).toMatchObject({
        state: 'altered',
        number: 3,
      });
    }
    expect(check('draft.docx').state).toBe('draft');
    expect(check('none', Buffer.from('another report')).state).toBe('unknown');
  } finally {
    store.close();
  }
}, 60_000);

test('the frozen text is in the file under its hash, and neither row can be altered', () => {
  const store = openProject(path, { actor: 'Ann Example' });
  try {
    const issued = store.rows('issued');
    expect(issued.map((i) => i.number)).toEqual([1, 2, 3, 4]);
    for (const { number, state_sha256 } of issued) {
      const kept = store.attachment(state_sha256);
      expect(kept).toMatchObject({ name: `issued-${number}.json`, mediaType: ISSUED_MEDIA_TYPE });
      expect(sha256(kept.bytes)).toBe(state_sha256);
      expect(JSON.parse(new TextDecoder().decode(kept.bytes))).toHaveProperty('project');
    }
    const [first] = issued;
    const [review] = store.rows('review');
    const id = first?.id ?? '';
    expect(() => store.change('x', 'x', (tx) => tx.update('issued', id, { number: 9 }))).toThrow(
      /never altered/,
    );
    expect(() => store.change('x', 'x', (tx) => tx.remove('issued', id))).toThrow(/never taken back/);
    expect(() => store.change('x', 'x', (tx) => tx.remove('review', review?.id ?? ''))).toThrow(
      /never taken back/,
    );
    const [file] = store.rows('issued_file');
    expect(() =>
      store.change('x', 'x', (tx) => tx.update('issued_file', file?.id ?? '', { name: 'y' })),
    ).toThrow(/never altered/);
  } finally {
    store.close();
  }
});

test('a report that cannot be written leaves no issue', async () => {
  const ann = person('Ann Example');
  await ann('project.open', { path });
  const out = join(folder, 'none', 'x.html');
  await expect(ann('issue.create', { path: out, formats: ['html'], options })).rejects.toThrow(
    /does not exist/,
  );
  expect(existsSync(out)).toBe(false);
  expect((await ann('issue.list', {})).issues).toHaveLength(4);
  await ann('project.close', {});
}, 60_000);
