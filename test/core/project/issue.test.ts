import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Input, Output, RequestName } from '../../../core/contract/requests.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import { createEngine, type Engine } from '../../../core/project/engine.ts';
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
  const issue = (n: number) => ann('issue.create', { path: html(n), format: 'html', options });

  const first = await issue(1);
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
  await bo('project.close', {});
}, 120_000);

test('the frozen text is in the file under its hash, and neither row can be altered', () => {
  const store = openProject(path, { actor: 'Ann Example' });
  try {
    const issued = store.rows('issued');
    expect(issued.map((i) => i.number)).toEqual([1, 2]);
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
  } finally {
    store.close();
  }
});

test('a report that cannot be written leaves no issue', async () => {
  const ann = person('Ann Example');
  await ann('project.open', { path });
  const out = join(folder, 'none', 'x.html');
  await expect(ann('issue.create', { path: out, format: 'html', options })).rejects.toThrow(/does not exist/);
  expect(existsSync(out)).toBe(false);
  expect((await ann('issue.list', {})).issues).toHaveLength(2);
  await ann('project.close', {});
}, 60_000);
