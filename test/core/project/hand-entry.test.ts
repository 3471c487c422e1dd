import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { SampleEntry } from '../../../core/contract/hand-entry.ts';
import type { Input } from '../../../core/contract/requests.ts';
import type { Engine } from '../../../core/project/engine.ts';
import { asking, newTestEngine } from './engine-asking.ts';

let folder: string;
let engine: Engine;
const { ask } = asking(() => engine);

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-hand-'));
  engine = newTestEngine();
  await ask('project.create', {
    path: join(folder, 'a.gasplat'),
    name: 'Typed',
    crs: { kind: 'local', unit: 'm', label: 'stake' },
  });
});

afterEach(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

function file(name: string, content: string): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

const ENTRY: SampleEntry = {
  probeLabel: 'H1',
  place: [12, 7],
  soil: 'sand',
  permeabilityClass: 'medium',
  kind: 'grab',
  takenUtc: '2026-05-12T08:00:00Z',
  depthM: 0.8,
  radonKBqPerM3: 31.5,
  radonUKBqPerM3: 1.5,
  radonBelowKBqPerM3: null,
  oxygenPct: 18.2,
  carbonDioxidePct: 1.4,
  suctionPa: 900,
  saidFreshAir: false,
  saidWater: false,
  saidTight: false,
  saidRefused: false,
  leakTestPassed: null,
  remark: 'typed in the van',
  instrumentId: null,
  readings: [],
  values: [],
  ingrowthS: null,
};

const UNIT: Input<'instrument.set'>['instrument'] = {
  label: 'Cell 7',
  detector: 'alpha',
  countsPerAlpha: 0.7,
  windows: null,
  chamberMl: 250,
  lineMl: null,
  commonURel: 0.05,
  calibratedOn: '2026-01-10',
  certificate: 'invented',
  gasLeft: 0,
  gasLeftU: 0,
  progenyLeft: null,
  clockOffsetS: 0,
  note: null,
  backgrounds: [{ window: 'alpha', counts: 60, liveS: 6000, takenUtc: null }],
};

const enter = (entry: Partial<SampleEntry>, sampleId: string | null = null) =>
  ask('sample.enter', { sampleId, entry: { ...ENTRY, ...entry } });

test('a sample typed in is there like any other, can be changed and taken out, with record and undo', async () => {
  const { view, sampleId } = await enter({});
  const sample = view.samples.find((s) => s.id === sampleId);
  expect(sample).toMatchObject({
    radonKBqPerM3: 31.5,
    radonUKBqPerM3: 1.5,
    oxygenPct: 18.2,
    carbonDioxidePct: 1.4,
    suctionPa: 900,
    remark: 'typed in the van',
    source: null,
  });
  expect(view.probes[0]).toMatchObject({ label: 'H1', native: [12, 7], state: 'driven', soil: 'sand' });
  expect(view.assessments[0]?.treatment).toBe('use');

  const { entry } = await ask('sample.entry', { sampleId });
  expect(entry).toEqual({ ...ENTRY, place: null, soil: null, permeabilityClass: null });
  const changed = await enter({ place: null, radonKBqPerM3: 33 }, sampleId);
  expect(changed.view.samples.map((s) => [s.id, s.radonKBqPerM3])).toEqual([[sampleId, 33]]);
  const gone = await ask('sample.remove', { sampleId });
  expect([gone.samples.length, gone.probes.length]).toEqual([0, 0]);
  const back = await ask('record.undo', {});
  expect(back.samples.map((s) => s.radonKBqPerM3)).toEqual([33]);
  const first = await ask('record.undo', {});
  expect(first.samples.map((s) => s.radonKBqPerM3)).toEqual([31.5]);
  const { entries, intact } = await ask('record.list', {});
  expect(intact).toBe(true);
  expect(entries.map((e) => e.command)).toContain('sample.remove');
});

test('counts typed give the value that the same counts give from a table', async () => {
  const withUnit = await ask('instrument.set', { id: null, instrument: UNIT });
  expect(withUnit.samples).toEqual([]);
  const { instruments } = await ask('instrument.list', {});
  const bare = { radonKBqPerM3: null, radonUKBqPerM3: null, instrumentId: instruments[0]?.id ?? '' };
  const interval = { window: null, startS: 60, lengthS: 600, liveS: null, counts: 900 };
  const readings = [interval, { ...interval, startS: 660, counts: 1100 }];
  const { view, sampleId } = await enter({ ...bare, readings });
  await enter({
    ...bare,
    probeLabel: 'H2',
    place: [20, 7],
    takenUtc: '2026-05-14T08:00:00Z',
    instrumentId: null,
  });
  const { view: both } = await ask('readings.import', {
    path: file(
      'counts.csv',
      'Probe,Fill end,Start (s),Length (s),Counts\nH2,2026-05-14T08:00:00Z,60,600,900\nH2,2026-05-14T08:00:00Z,660,600,1100\n',
    ),
  });
  const typed = view.samples.find((s) => s.id === sampleId);
  const imported = both.samples.find((s) => s.id !== sampleId);
  expect(typed?.reduction?.basis).toBe('readings');
  expect(typed?.radonKBqPerM3).toBeGreaterThan(1);
  expect(typed?.radonKBqPerM3).toBeCloseTo(imported?.radonKBqPerM3 ?? 0, 9);
  await expect(
    enter({ ...bare, place: null, readings: [...readings, { ...interval, startS: 500 }] }, sampleId),
  ).rejects.toThrow(/Interval 3 \(500 to 1100 s\) overlaps 60 to 660 s/);
  const fewer = await enter({ ...bare, place: null, readings: readings.slice(0, 1) }, sampleId);
  expect(fewer.view.samples.find((s) => s.id === sampleId)?.reduction?.readingCount).toBe(1);
});

// Bateman is not asked here: an instrument that corrects for ingrowth (0 s) and values all alike leave the decay of
// radon alone, half-life 3.8232 d (BIPM Monographie 5).
test('values typed give the mean shown while typing, and the one the same values give from a table', async () => {
  const value = { startS: 0, lengthS: 300, liveS: null, radonKBqPerM3: 20, uKBqPerM3: 1 };
  const values = [
    { ...value, radonKBqPerM3: 5 },
    { ...value, startS: 900 },
    { ...value, startS: 1200, liveS: 100, radonKBqPerM3: 28 },
  ];
  const bare = { radonKBqPerM3: null, radonUKBqPerM3: null, values };
  const question = { sampleId: null, instrumentId: null, values };
  const unknown = await ask('values.average', { ...question, ingrowthS: null });
  expect(unknown).toMatchObject({ mean: null, used: [false, false, false], ingrowthS: null });
  expect(unknown.problem).toMatch(/not known when ingrowth is over/);
  const shown = await ask('values.average', { ...question, ingrowthS: 900 });
  expect(shown.used).toEqual([false, true, true]);
  const grown = (midS: number) => 2 ** (midS / (3.8232 * 86_400));
  const mean = (300 * 20 * grown(1050) + 100 * 28 * grown(1350)) / 400;
  expect(shown.mean?.radonKBqPerM3).toBeCloseTo(mean, 4);
  expect(shown.notes.join(' ')).toMatch(/1 interval left out/);

  const { view, sampleId } = await enter({ ...bare, ingrowthS: 900 });
  await enter({ ...bare, values: [], probeLabel: 'H2', place: [20, 7] });
  const csv =
    'Probe,Start (s),Length (s),Live (s),Radon (kBq/m3),Uncertainty (kBq/m3),k,Ingrowth (s)\nH2,0,300,,5,1,1,900\nH2,900,300,,20,1,1,900\nH2,1200,300,100,28,1,1,900\n';
  const { view: both } = await ask('readings.import', { path: file('values.csv', csv) });
  const measured = (v: typeof view, isTyped: boolean) =>
    v.assessments.find((a) => (a.sampleId === sampleId) === isTyped)?.measured;
  const typed = view.assessments[0]?.measured;
  expect(typed).toMatchObject({ kind: 'value', estimateKBqPerM3: shown.mean?.radonKBqPerM3 });
  expect(measured(both, false)).toEqual(typed);

  const { entry } = await ask('sample.entry', { sampleId });
  expect(entry).toMatchObject({ values, ingrowthS: 900 });
  const fewer = await enter({ ...bare, place: null, ingrowthS: 900, values: values.slice(0, 2) }, sampleId);
  expect(measured(fewer.view, true)).toMatchObject({ estimateKBqPerM3: 20 * grown(1050) });
  expect(measured(await ask('record.undo', {}), true)).toEqual(typed);
  await expect(
    enter({ ...bare, place: null, values: [...values, { ...value, startS: 1100 }] }, sampleId),
  ).rejects.toThrow(/Interval 4 \(1100 to 1400 s\) overlaps 900 to 1200 s\./);
  const { entries } = await ask('record.list', {});
  expect(entries.filter((e) => e.command === 'sample.enter').length).toBe(3);
});

test('a slip is refused with its field, and nothing is written', async () => {
  const slips: readonly (readonly [Partial<SampleEntry>, RegExp])[] = [
    [{ place: null }, /no probe H1 yet: say where it is/],
    [{ radonBelowKBqPerM3: 5 }, /a value or was not detected, not both/],
    [{ radonAboveKBqPerM3: 200 }, /over the range of its instrument has neither a value nor a limit/],
    [{ radonKBqPerM3: null }, /uncertainty needs the value/],
    [{ readings: [{ window: null, startS: 0, lengthS: 60, liveS: null, counts: 3 }] }, /need the instrument/],
    [{ oxygenPct: 180 }, /sample\.enter: entry\.oxygenPct/],
    [{ probeLabel: ' ' }, /give the label of the probe/],
  ];
  for (const [entry, message] of slips) await expect(enter(entry)).rejects.toThrow(message);
  expect((await ask('project.view', {})).probes).toEqual([]);
});

test('a sample from a file keeps its origin; what a file of counts brought can be taken out', async () => {
  await ask('import.commit', {
    path: file(
      's.csv',
      'Probe,Easting (m),Northing (m),Depth (m),Radon (kBq/m3)\nF1,0,0,0.8,\nF2,9,0,0.8,22\n',
    ),
    options: {},
  });
  await ask('instrument.set', { id: null, instrument: UNIT });
  const { view } = await ask('readings.import', {
    path: file(
      'counts.csv',
      'Probe,Kind,Start (s),Length (s),Counts\nF1,grab,60,600,900\nF2,repeat,60,600,700\n',
    ),
  });
  expect(view.samples.length).toBe(3);
  const f1 = view.samples.find((s) => s.source?.file === 's.csv' && s.reduction !== undefined);
  expect((await ask('sample.entry', { sampleId: f1?.id ?? '' })).entry).toBeNull();
  await expect(ask('sample.remove', { sampleId: f1?.id ?? '' })).rejects.toThrow(
    /The sample of F1 came from s\.csv, row 2: it keeps its origin\. Leave it out by a ruling/,
  );
  await expect(enter({ probeLabel: 'F1', place: null }, f1?.id ?? '')).rejects.toThrow(/keeps its origin/);
  const { instruments } = await ask('instrument.list', {});
  const unit = instruments[0]?.id ?? '';
  await expect(ask('instrument.remove', { id: unit })).rejects.toThrow(
    /named by 2 samples \(F1, F2 \(repeat\)\)/,
  );

  const { files } = await ask('readings.files', {});
  expect(files).toMatchObject([{ file: 'counts.csv', readings: 2, values: 0, samples: 2, bareSamples: 1 }]);
  const without = await ask('readings.remove', { sha256: files[0]?.sha256 ?? '' });
  expect(without.samples.map((s) => [s.radonKBqPerM3, s.source?.file])).toEqual([
    [null, 's.csv'],
    [22, 's.csv'],
  ]);
  await ask('instrument.remove', { id: unit });
  expect((await ask('instrument.list', {})).instruments).toEqual([]);
  await ask('record.undo', {});
  const restored = await ask('record.undo', {});
  expect(restored.samples.map((s) => s.radonKBqPerM3)).toEqual(view.samples.map((s) => s.radonKBqPerM3));
});

test('a planned probe is driven by the sample typed at it, and planned again without', async () => {
  await ask('lot.set', {
    ring: [
      [0, 0],
      [30, 0],
      [30, 20],
      [0, 20],
    ],
  });
  await ask('plan.accept', {
    probes: [{ label: 'G1', native: [10, 10], added: false }],
    depthM: 0.8,
    replace: false,
  });
  const { view, sampleId } = await enter({ probeLabel: 'g1', place: null });
  expect(view.probes.map((p) => [p.label, p.state])).toEqual([['G1', 'driven']]);
  const { probes } = await ask('sample.remove', { sampleId });
  expect(probes.map((p) => [p.label, p.state, p.native])).toEqual([['G1', 'planned', [10, 10]]]);
});

test('a sample moved to another probe takes the one that was typed for it away', async () => {
  const { sampleId } = await enter({});
  const { view } = await enter({ probeLabel: 'H9', place: [3, 4] }, sampleId);
  expect(view.probes.map((p) => p.label)).toEqual(['H9']);
  expect(view.samples.map((s) => s.id)).toEqual([sampleId]);
});

test('a refused hole, a failed leak test, tight ground and a reading over the range are said by hand as in a sheet, and taken back with undo', async () => {
  const none = { radonKBqPerM3: null, radonUKBqPerM3: null, oxygenPct: null, carbonDioxidePct: null };
  const at = (label: string, x: number) => ({ probeLabel: label, place: [x, 7] as const });
  const refused = await enter({ ...none, ...at('R1', 5), depthM: 0.3, saidRefused: true, suctionPa: null });
  expect(refused.view.probes[0]).toMatchObject({ label: 'R1', state: 'refused', depthM: 0.3 });
  expect(refused.view.assessments[0]?.measured).toEqual({ kind: 'none', reason: 'refused' });
  expect((await ask('sample.entry', { sampleId: refused.sampleId })).entry?.saidRefused).toBe(true);
  await expect(enter({ ...at('R2', 9), saidRefused: true })).rejects.toThrow(
    /could not be driven gives no gas: take out the value/,
  );

  const leaky = await enter({ ...at('L1', 15), leakTestPassed: false });
  const flags = leaky.view.assessments.find((a) => a.sampleId === leaky.sampleId)?.flags ?? [];
  expect(flags.map((f) => f.rule)).toContain('shut-in-test-failed');
  const tight = await enter({ ...none, ...at('T1', 25), saidTight: true, suctionPa: 80_000 });
  const found = tight.view.assessments.find((a) => a.sampleId === tight.sampleId);
  expect(found?.measured).toEqual({ kind: 'none', reason: 'tight' });
  const { entry } = await ask('sample.entry', { sampleId: tight.sampleId });
  expect(entry).toMatchObject({ saidTight: true, leakTestPassed: null, saidRefused: false });

  const over = await enter({ ...none, ...at('O1', 35), radonAboveKBqPerM3: 200 });
  expect(over.view.assessments.find((a) => a.sampleId === over.sampleId)?.measured).toEqual({
    kind: 'atLeast',
    boundKBqPerM3: 200,
  });
  expect((await ask('sample.entry', { sampleId: over.sampleId })).entry?.radonAboveKBqPerM3).toBe(200);

  // Driven after all: the value makes it so; a blank says nothing of the hole.
  const stateOf = (view: typeof tight.view) => view.probes.find((p) => p.label === 'R1')?.state;
  const blank = await enter({
    ...none,
    probeLabel: 'R1',
    place: null,
    kind: 'blank',
    radonBelowKBqPerM3: 0.8,
  });
  expect(stateOf(blank.view)).toBe('refused');
  const driven = await enter({ probeLabel: 'R1', place: null }, refused.sampleId);
  expect(stateOf(driven.view)).toBe('driven');
  await expect(enter({ ...none, probeLabel: 'L1', place: null, saidRefused: true })).rejects.toThrow(
    /Probe L1 has a sample already, so it was driven/,
  );
  expect(stateOf(await ask('record.undo', {}))).toBe('refused');
});
