/** A raised limit lowers the class: whether it was stored must never be left open. */
import { readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test, vi } from 'vitest';
import { classifyCommand } from '../../../core/cli/commands/classify.ts';
import type { ClassResult } from '../../../core/contract/results.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import { commitImport } from '../../../core/project/import-files.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { importScheme } from '../../../core/project/schemes.ts';
import { openProject } from '../../../core/store/open-project.ts';
import { tempFolder } from '../store/fixtures.ts';

vi.setConfig({ testTimeout: 60_000 });

const root = dirname(dirname(dirname(dirname(fileURLToPath(import.meta.url)))));

// The example of docs/schemes.md: over 40 kBq/m3 raised ground, under tight clay over 60. The highest value is 47.
test('a raised limit of the command line holds for the call and says so, or is kept as the window keeps it', async () => {
  const folder = tempFolder();
  const path = join(folder, 'a.gasplat');
  const file = (name: string, text: string) => {
    writeFileSync(join(folder, name), text);
    return join(folder, name);
  };
  const crs = { kind: 'local', unit: 'm', label: 'stake' } as const;
  const store = newProject({ path, name: 'A', crs, actor: 'tester' });
  const rows = [...Array(9).keys()].map((i) => `P${i},${5 * i},0,0.8,${39 + i}`);
  const sheet = `Probe,Easting (m),Northing (m),Depth (m),Radon (kBq/m3)\n${rows.join('\n')}\n`;
  commitImport(store, file('s.csv', sheet), {});
  const page = readFileSync(join(root, 'docs', 'schemes.md'), 'utf8');
  const example = file('mine.json', /```json\n([\s\S]*?)```/.exec(page)?.[1] ?? '');
  store.close();

  const jobs = createJobRunner({ threads: 1 });
  const run = async (flags: Record<string, string | boolean>) => {
    const { json, text } = await classifyCommand.run({
      positionals: [path],
      flags,
      jobs,
      signal: new AbortController().signal,
      actor: 'tester',
      version: '0.0.0',
      note: () => {},
      progress: () => {},
    });
    return { text, ...(json as ClassResult & { keptInProject?: boolean }) };
  };
  const stored = () => {
    const at = openProject(path, { readOnly: true });
    const { settings_json } = at.rows('project')[0] ?? { settings_json: '{}' };
    at.close();
    return (JSON.parse(settings_json) as { raisedLimitId?: string }).raisedLimitId;
  };

  await expect(run({ keep: true })).rejects.toThrow(/--keep needs --scheme or --raised/);
  await expect(run({ scheme: example, raised: 'clay', keep: true })).rejects.toThrow(
    /'example-two-classes' is not in the project: import its file first/,
  );
  const open = openProject(path, { actor: 'tester' });
  importScheme(open, example);
  open.close();
  expect(await run({})).toMatchObject({ classId: 'raised' });
  const once = await run({ raised: 'clay' });
  expect(once).toMatchObject({ classId: 'ordinary', keptInProject: false });
  expect(once.text).toMatch(/For this call only: --raised clay\. .*--keep stores the choice/);
  expect([stored(), (await run({})).classId]).toEqual([undefined, 'raised']);
  const kept = await run({ raised: 'clay', keep: true });
  expect(kept).toMatchObject({ classId: 'ordinary', keptInProject: true });
  expect(kept.text).toMatch(/Stored in the project: --raised clay/);
  expect([stored(), (await run({})).classId]).toEqual(['clay', 'ordinary']);
  expect((await run({ raised: 'none' })).classId).toBe('raised');
  await expect(run({ raised: 'peat', keep: true })).rejects.toThrow(/no raised limit 'peat'; it has clay/);
  expect(stored()).toBe('clay');
  await run({ raised: 'none', keep: true });
  expect([stored(), (await run({})).classId]).toEqual([undefined, 'raised']);
  await jobs.close();
});
