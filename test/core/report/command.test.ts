import {
  copyFileSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createFromDemo } from '../../../core/project/demo.ts';
import { setRuling } from '../../../core/project/edit.ts';
import { openProject } from '../../../core/store/open-project.ts';
import { gasplatIn } from '../cli/gasplat.ts';

let folder: string;

const gasplat = gasplatIn(() => folder);

interface Answer {
  readonly projects: readonly {
    readonly project: string;
    readonly state: string;
    readonly files: readonly { path: string }[];
  }[];
}

const states = (json: Answer): string[] => json.projects.map((p) => p.state);

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-report-command-'));
  for (const lot of ['ordinary', 'troubled'] as const) {
    createFromDemo({ path: join(folder, `${lot}.gasplat`), lot, actor: 'tester' }).close();
  }
  writeFileSync(join(folder, 'junk.gasplat'), 'no project');
}, 60_000);

afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('gasplat report', () => {
  test('--issue numbers the report, says what changed, and stands beside drafts', () => {
    copyFileSync(join(folder, 'ordinary.gasplat'), join(folder, 'sent.gasplat'));
    const issue = () => {
      const { out } = gasplat(
        'report',
        'sent.gasplat',
        '--out',
        'sent',
        '--format',
        'html',
        '--issue',
        '--json',
      );
      return JSON.parse(out).projects[0];
    };
    const first = issue();
    expect(first).toMatchObject({ state: 'written', issue: { number: 1, differences: [] } });
    const second = issue();
    expect(second).toMatchObject({ state: 'written', issue: { number: 2 } });
    expect(second.issue.differences).toEqual([expect.stringMatching(/^Only the record grew/)]);
    expect(readdirSync(join(folder, 'sent')).sort()).toEqual(['sent-issue-1.html', 'sent-issue-2.html']);
    expect(readFileSync(join(folder, 'sent', 'sent-issue-2.html'), 'utf8')).toContain(second.issue.sha256);
    expect(gasplat('check', 'sent.gasplat').code).toBe(0);
    const sent = join('sent', 'sent-issue-2.html');
    expect(gasplat('check', 'sent.gasplat', '--report', sent).out).toMatch(
      /is issue 2 of this project, unaltered/,
    );
    expect(gasplat('check', 'ordinary.gasplat', '--report', sent)).toMatchObject({ code: 1 });
    expect(gasplat('report', 'sent.gasplat', '--review', '2').err).toMatch(/your own/);
    const reviewed = gasplatIn(() => folder, 'Bo Example')(
      'report',
      'sent.gasplat',
      '--review',
      '2',
      '--note',
      'Seen',
    );
    expect(reviewed.out).toMatch(/Reviewed by Bo Example, .*; Seen/);
    const listed = JSON.parse(gasplat('report', 'sent.gasplat', '--issues', '--json').out);
    expect(listed.issues).toMatchObject([{ number: 1 }, { number: 2, reviews: [{ note: 'Seen' }] }]);
    expect(gasplat('report', 'sent.gasplat', '--copy', '1', '--out', 'copy.html').code).toBe(0);
    expect(
      readFileSync(join(folder, 'copy.html')).equals(readFileSync(join(folder, 'sent', 'sent-issue-1.html'))),
    ).toBe(true);
  }, 60_000);

  test('many projects: a bad file is named, the others are written, the exit code tells', () => {
    const { code, out, err } = gasplat(
      'report',
      'ordinary.gasplat',
      'junk.gasplat',
      'none.gasplat',
      'troubled.gasplat',
      '--out',
      'reports',
      '--json',
    );
    expect(code).toBe(1);
    expect(err).toContain('junk.gasplat');
    expect(err).toContain('2 of 4 projects');
    const { error } = JSON.parse(out) as { error: { details: Answer } };
    expect(states(error.details)).toEqual(['written', 'failed', 'failed', 'written']);
    expect(readdirSync(join(folder, 'reports')).sort()).toEqual([
      'ordinary-report.html',
      'ordinary-report.pdf',
      'troubled-report.html',
      'troubled-report.pdf',
    ]);
  }, 60_000);

  test('run again it goes on where it stopped: only what changed is written', () => {
    const args = ['report', 'ordinary.gasplat', 'troubled.gasplat', '--out', 'reports', '--json'];
    expect(states(JSON.parse(gasplat(...args).out) as Answer)).toEqual(['skipped', 'skipped']);
    const before = statSync(join(folder, 'reports', 'ordinary-report.pdf')).mtimeMs;
    rmSync(join(folder, 'reports', 'troubled-report.html'));
    const store = openProject(join(folder, 'ordinary.gasplat'), { actor: 'tester' });
    const sample = store.rows('sample')[0];
    setRuling(store, { sampleIds: [sample?.id ?? ''], verdict: 'leave-out', reason: 'Label swapped' });
    store.close();
    const { code, out } = gasplat(...args);
    expect(code).toBe(0);
    expect(states(JSON.parse(out) as Answer)).toEqual(['written', 'written']);
    expect(statSync(join(folder, 'reports', 'ordinary-report.pdf')).mtimeMs).toBeGreaterThan(before);
    expect(states(JSON.parse(gasplat(...args, '--again').out) as Answer)).toEqual(['written', 'written']);
  }, 90_000);

  test('a report that is newer than its project but of another state is not taken for this one', () => {
    copyFileSync(
      join(folder, 'reports', 'troubled-report.pdf'),
      join(folder, 'reports', 'ordinary-report.pdf'),
    );
    const { out } = gasplat('report', 'ordinary.gasplat', '--out', 'reports', '--format', 'pdf', '--json');
    expect(states(JSON.parse(out) as Answer)).toEqual(['written']);
  }, 60_000);

  test('one file, with who signs, on a given day: the same bytes each time', () => {
    const args = [
      'report',
      'ordinary.gasplat',
      '--out',
      'one.pdf',
      '--prepared-by',
      'Ann Example',
      '--licence',
      'RN-0042',
      '--date',
      '2026-06-02T09:00:00Z',
      '--again',
    ];
    expect(gasplat(...args).code).toBe(0);
    const first = readFileSync(join(folder, 'one.pdf'));
    expect(gasplat(...args).code).toBe(0);
    expect(readFileSync(join(folder, 'one.pdf')).equals(first)).toBe(true);
    expect(first.toString('latin1')).toContain('(Ann Example)');
  }, 60_000);

  test.each([
    [['report', 'ordinary.gasplat'], 2],
    [['report', 'ordinary.gasplat', 'troubled.gasplat', '--out', 'one.pdf'], 2],
    [['report', 'ordinary.gasplat', '--out', 'x.pdf', '--date', 'Tuesday'], 2],
    [['report', 'ordinary.gasplat', '--out', 'x.rtf'], 2],
    [['report', 'ordinary.gasplat', '--out', 'junk.gasplat'], 1],
  ])('%j ends with %i', (args, code) => {
    expect(gasplat(...args).code).toBe(code);
  });
});
