import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Output } from '../../../core/contract/requests.ts';
import type { Engine } from '../../../core/project/engine.ts';
import { userSchemeFolder } from '../../../core/project/schemes.ts';
import { asking, newTestEngine } from './engine-asking.ts';

let folder: string;
let engine: Engine;
const { ask, refused } = asking(() => engine);
const usualFolder = process.env['GASPLAT_SCHEMES'];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-rules-'));
  process.env['GASPLAT_SCHEMES'] = join(folder, 'schemes');
  engine = newTestEngine();
});

afterEach(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
  if (usualFolder === undefined) delete process.env['GASPLAT_SCHEMES'];
  else process.env['GASPLAT_SCHEMES'] = usualFolder;
});

const demo = (lot: 'ordinary' | 'troubled' = 'troubled') =>
  ask('project.demo', { path: join(folder, 'a.gasplat'), lot });

/** The example of docs/schemes.md, so that the page cannot show a file that does not load. */
function exampleText(): string {
  const page = readFileSync(join(import.meta.dirname, '..', '..', '..', 'docs', 'schemes.md'), 'utf8');
  return /```json\n([\s\S]*?)```/.exec(page)?.[1] ?? '';
}

function file(name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

describe('a look at other limits', () => {
  test('says exactly what storing them then does to samples and class, and stores nothing itself', async () => {
    const before = await demo();
    const thresholds = {
      ...before.settings.thresholds,
      outsideOxygenPct: 17.5,
      minimumValueKBqPerM3: 12,
      dilutedZ: 1,
      suspectGasZ: 0.5,
      suspectZ: 0.5,
    };
    const preview = await ask('thresholds.preview', { thresholds, referenceDepthM: 0.8 });
    expect((await ask('project.view', {})).revision).toBe(before.revision);
    expect(preview.changes.length).toBeGreaterThan(2);

    const classBefore = await ask('class.compute', {});
    const after = await ask('settings.set', { settings: { ...before.settings, thresholds } });
    const classAfter = await ask('class.compute', {});
    const treatmentOf = (view: typeof before) =>
      new Map(view.assessments.map((a) => [a.sampleId, a.treatment]));
    const [was, is] = [treatmentOf(before), treatmentOf(after)];
    const moved = [...was].filter(([id, treatment]) => is.get(id) !== treatment).map(([id]) => id);
    expect(preview.changes.filter((c) => c.changesTreatment).map((c) => c.sampleId)).toEqual(moved);
    for (const c of preview.changes) {
      expect([c.before.treatment, c.after.treatment]).toEqual([was.get(c.sampleId), is.get(c.sampleId)]);
      const probe = before.probes.find((p) => p.id === c.probeId);
      expect(c.label.startsWith(probe?.label ?? 'none')).toBe(true);
    }
    expect(preview.class?.before.statisticKBqPerM3).toBe(classBefore.statisticKBqPerM3);
    expect(preview.class?.after.statisticKBqPerM3).toBe(classAfter.statisticKBqPerM3);
    expect(preview.class?.after.validCount).toBe(classAfter.validCount);
    expect(preview.class?.after.validCount).toBeLessThan(classBefore.validCount);
    const words = classAfter.className ?? 'no class';
    expect(preview.class?.after.words).toContain(classAfter.range === null ? words : 'not settled');
  });

  test('the limits in force change nothing', async () => {
    const { settings } = await demo();
    const preview = await ask('thresholds.preview', {
      thresholds: settings.thresholds,
      referenceDepthM: settings.referenceDepthM,
    });
    expect(preview.changes).toEqual([]);
    expect(preview.class?.after).toEqual(preview.class?.before);
  });
});

describe('a scheme as a file', () => {
  test('comes into the project, decides the class there, survives reopening without the file, and undo', async () => {
    await demo();
    const path = file('mine.json', exampleText());
    const view = await ask('scheme.import', { path });
    expect(view.settings.schemeId).toBe('example-two-classes');
    rmSync(path);
    await ask('project.close', {});
    await ask('project.open', { path: join(folder, 'a.gasplat') });
    const result = await ask('class.compute', {});
    expect(result).toMatchObject({ schemeName: 'Example with two classes', className: 'raised ground' });
    const highest = Math.max(...view.marks.map((m) => estimateOf(m.measured)));
    expect(result.statisticKBqPerM3).toBeCloseTo(highest, 9);
    expect(result.unconfirmed).toContain('Statistic: highest value (from memory)');

    const own = (await ask('scheme.list', {})).schemes.find((s) => s.id === 'example-two-classes');
    expect(own).toMatchObject({
      origin: 'project',
      file: 'mine.json',
      statisticUnconfirmed: 'from memory',
    });
    expect(own?.limits.find((l) => l.label === 'Limit to raised ground')).toMatchObject({
      value: 40,
      unconfirmed: null,
    });
    expect((await refused('scheme.remove', { sha256: own?.sha256 ?? '' })).message).toMatch(/choose another/);
    const back = await ask('record.undo', {});
    expect(back.settings.schemeId).toBe('czech-building-site-index');
    expect(back.importedSchemes).toEqual([]);
  });

  test('a later file of the same id takes the place of the earlier one, and settings cannot add files', async () => {
    await demo();
    await ask('scheme.import', { path: file('mine.json', exampleText()) });
    const raised = exampleText().replace('"value": 40', '"value": 45');
    const view = await ask('scheme.import', { path: file('mine.json', raised) });
    expect(view.importedSchemes.map((s) => s.text)).toEqual([raised]);
    const forged = { ...view.settings, schemeFiles: ['0'.repeat(64)] };
    const set = await ask('settings.set', { settings: forged });
    expect(set.settings.schemeFiles).toEqual(view.settings.schemeFiles);
  });

  test('a bad file is refused with its name and every fault, and nothing changes', async () => {
    const before = await demo();
    const bad = JSON.parse(exampleText());
    bad.minimumCount.value = 'many';
    delete bad.cautions;
    bad.table.limits[0].source = 'nowhere';
    bad.raised[0].value = 30;
    const error = await refused('scheme.import', { path: file('bad.json', JSON.stringify(bad)) });
    expect(error.message).toMatch(/^Scheme file bad\.json cannot be used: /);
    expect(error.message).toMatch(/minimumCount\.value: /);
    expect(error.message).toMatch(/cautions: is missing/);
    expect(error.message).toMatch(/table\.limits\.0\.source: names source 'nowhere'/);
    expect(error.message).toMatch(/raised\.0\.value: 30 does not lie above/);
    const taken = exampleText().replace('example-two-classes', 'swedish-ground-classes');
    expect((await refused('scheme.import', { path: file('taken.json', taken) })).message).toMatch(
      /taken\.json: the id 'swedish-ground-classes' is that of a scheme of the program/,
    );
    expect((await ask('project.view', {})).revision).toBe(before.revision);
  });

  test('the folder of the user is listed with the faults of its files; a chosen one goes into the project', async () => {
    await demo();
    expect((await ask('scheme.list', {})).schemes.every((s) => s.origin === 'program')).toBe(true);
    const place = userSchemeFolder();
    mkdirSync(place);
    writeFileSync(join(place, 'good.json'), exampleText());
    writeFileSync(join(place, 'bad.json'), '{"id": "x"}');
    const found = await ask('scheme.list', {});
    expect(found.folder).toBe(place);
    expect(found.faults.map((f) => f.file)).toEqual(['bad.json']);
    const listed = found.schemes.find((s) => s.origin === 'folder');
    await ask('scheme.import', { path: listed?.path ?? '' });
    const after = await ask('scheme.list', {});
    expect(after.schemes.filter((s) => s.id === listed?.id).map((s) => s.origin)).toEqual(['project']);
  });
});

describe('a raised limit', () => {
  // Limits 50 and, under tight clay, 120 kBq/m3: swedish-ground-classes.json (from memory).
  test('is taken only when chosen, and then said as unconfirmed with the class by the ordinary limit beside', async () => {
    const { settings } = await demo('ordinary');
    await ask('settings.set', { settings: { ...settings, schemeId: 'swedish-ground-classes' } });
    const plain = await ask('class.compute', {});
    expect(plain.classId).toBe('high');
    expect(plain.statisticKBqPerM3).toBeLessThan(120);
    const view = await ask('settings.set', {
      settings: { ...settings, schemeId: 'swedish-ground-classes', raisedLimitId: 'clay' },
    });
    expect(view.settings.raisedLimitId).toBe('clay');
    const raised = await ask('class.compute', {});
    expect(raised.classId).toBe('normal');
    expect(raised.unconfirmed.join('\n')).toMatch(/under tight clay: 120 kBq\/m3 \(from memory, unsure\)/);
    expect(raised.cautions.join('\n')).toMatch(/120 kBq\/m3 under tight clay was chosen/);
    expect(raised.decidedBy).toMatch(
      /The limit 120 kBq\/m3 under tight clay was chosen; by the ordinary limits: high-radon ground\.$/,
    );
    const ordinary = raised.alternatives.find((a) => a.what.startsWith('With the ordinary limits'));
    expect(ordinary?.classId).toBe('high');
    const foreign = await refused('settings.set', { settings: { ...settings, raisedLimitId: 'clay' } });
    expect(foreign.message).toMatch(/'czech-building-site-index' has no raised limit 'clay'/);
  });
});

function estimateOf(measured: Output<'project.view'>['marks'][number]['measured']): number {
  return measured?.kind === 'value' ? measured.estimateKBqPerM3 : 0;
}
