import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Engine } from '../../../core/project/engine.ts';
import { asking, newTestEngine } from './engine-asking.ts';

let folder: string;
let engine: Engine;
const { ask } = asking(() => engine);

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-values-'));
  engine = newTestEngine();
  await ask('project.create', {
    path: join(folder, 'a.gasplat'),
    name: 'Values',
    crs: { kind: 'local', unit: 'm', label: 'stake' },
  });
  await ask('import.commit', {
    path: file(
      'probes.csv',
      [
        'Probe,Easting (m),Northing (m),Depth (m),Radon (kBq/m3)',
        'A1,0,0,0.8,',
        'A2,8,0,0.8,',
        'A3,16,0,0.8,',
      ].join('\n'),
    ),
    options: {},
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

const register = () =>
  ask('instrument.set', {
    id: null,
    instrument: {
      label: 'Unit 1',
      detector: 'spectrum',
      countsPerAlpha: 0.3,
      windows: null,
      chamberMl: 250,
      lineMl: null,
      commonURel: 0.06,
      calibratedOn: '2026-01-10',
      certificate: 'invented',
      gasLeft: null,
      gasLeftU: null,
      progenyLeft: null,
      clockOffsetS: 0,
      note: null,
      backgrounds: [],
    },
  });

/** Half-life of Rn-222: 3.8232 d (Decay Data Evaluation Project, LNHB). */
const grown = (seconds: number) => 2 ** (seconds / (3.8232 * 86_400));

const TABLE = [
  'Probe,Instrument,Start (s),Length (s),Live (s),Radon (Bq/m3),Uncertainty (Bq/m3),k,Transit (s)',
  'A1,Unit 1,0,300,300,9000,3000,2,60',
  'A1,Unit 1,600,300,300,30000,4000,2,60',
  'A1,Unit 1,900,300,290,40000,4000,2,60',
  'A1,Unit 1,1200,300,145,46000,6000,2,60',
].join('\n');

test('from a table to the store to a value: mean by live time after ingrowth, brought back to the draw', async () => {
  await register();
  const { view, report } = await ask('readings.import', { path: file('values.csv', TABLE) });
  expect(report).toMatchObject({
    readingsAdded: 0,
    valuesAdded: 4,
    samplesRead: 1,
    samplesAdded: 0,
    issues: [],
  });
  const probe = view.probes.find((p) => p.label === 'A1');
  const sample = view.samples.find((s) => s.probeId === probe?.id);
  // Po-218 alone: the first 15 min are left out, so two intervals stay, of 290 and 145 s live.
  const mean = (290 * 40 * grown(1050 + 60) + 145 * 46 * grown(1350 + 60)) / 435;
  expect(sample?.radonKBqPerM3).toBeCloseTo(mean, 6);
  expect(sample?.reduction).toMatchObject({ basis: 'values', instrument: 'Unit 1', readingCount: 4 });
  expect(sample?.reduction?.commonURel).toBe(0.06);
  expect(sample?.reduction?.notes.join(' ')).toMatch(
    /Mean of 2 intervals by live time\. 2 intervals left out: they start less than 15 min after the fill/,
  );
  // Scatter of the two (weights 2/3 and 1/3, n/(n-1) = 2) is over the stated u of 2 and 3 kBq/m3 at k = 1.
  const [a, b] = [40 * grown(1110), 46 * grown(1410)];
  const scatter = Math.sqrt(2 * ((4 / 9) * (a - mean) ** 2 + (1 / 9) * (b - mean) ** 2));
  expect(sample?.radonUKBqPerM3).toBeCloseTo(Math.max(scatter, Math.hypot((2 / 3) * 2, (1 / 3) * 3)), 6);

  const details = await ask('sample.reduction', { sampleId: sample?.id ?? '' });
  expect(details.values.map((v) => [v.startS, v.radonKBqPerM3, v.uKBqPerM3, v.used, v.source?.row])).toEqual([
    [0, 9, 1.5, false, 2],
    [600, 30, 2, false, 3],
    [900, 40, 2, true, 4],
    [1200, 46, 3, true, 5],
  ]);
  const again = await ask('readings.import', { path: file('values.csv', TABLE) });
  expect(again.report).toMatchObject({ valuesAdded: 0, rowsKnown: 4 });
  const undone = await ask('record.undo', {});
  expect(undone.samples.find((s) => s.id === sample?.id)?.radonKBqPerM3).toBeNull();
});

test('no instrument named: it must be said when ingrowth is over, and 0 takes every interval', async () => {
  const rows = (ingrowth: string) =>
    `Probe,Start (s),Length (s),Radon (pCi/L),Ingrowth (min)\nA2,0,600,1000,${ingrowth}\nA2,600,600,1000,${ingrowth}\n`;
  const silent = await ask('readings.import', { path: file('a.csv', rows('')) });
  const id = (view: typeof silent.view) => view.samples.find((s) => s.reduction !== undefined)?.id;
  const first = silent.view.assessments.find((a) => a.sampleId === id(silent.view));
  expect(first?.measured).toEqual({ kind: 'none', reason: 'no-reading' });
  expect(first?.flags.map((f) => f.rule)).toContain('values-not-averaged');
  expect(silent.view.warnings.join(' ')).toMatch(/interval values that give no value: A2/);
  await ask('record.undo', {});

  const { view } = await ask('readings.import', { path: file('b.csv', rows('0')) });
  const sample = view.samples.find((s) => s.id === id(view));
  // 1 pCi/L is 37 Bq/m3 (exact, from the curie of 3.7e10 Bq).
  expect(sample?.radonKBqPerM3).toBeCloseTo((37 * (grown(300) + grown(900))) / 2, 6);
  expect(sample?.reduction?.commonURel).toBe(0.1);
  expect(sample?.reduction?.notes.join(' ')).toMatch(/calibration's uncertainty is not stated: 10 % assumed/);
});

test('a value is refused without its unit, and an overlap is named with both rows', async () => {
  await register();
  const bare = file('c.csv', 'Probe,Start (s),Length (s),Radon\nA3,900,300,20\n');
  await expect(ask('readings.import', { path: bare })).rejects.toThrow(
    /Column 'Radon' of c\.csv names no unit in brackets; it can be in kbq\/m3, bq\/m3, pci\/l/,
  );
  const twice = file('d.csv', 'Probe,Start (s),Length (s),Radon (kBq/m3)\nA3,900,300,20\nA3,1000,300,21\n');
  const { report } = await ask('readings.import', { path: twice, dryRun: true });
  expect(report.valuesAdded).toBe(1);
  expect(report.issues[0]?.message).toMatch(/row 3 of d\.csv.*1000 to 1300 s overlaps 900 to 1200 s.*row 2/);
});

// 2 % of the gas of a hot sample stays; the next one, counted, must be freed of it though the first came as values.
test('a sample of values is taken off the counts of the next one on its instrument', async () => {
  await register();
  const { instruments } = await ask('instrument.list', {});
  const unit = instruments[0];
  if (unit === undefined) throw new Error('no instrument');
  const { id, windowIds: _w, sampleCount: _c, missing: _m, ...entry } = unit;
  const backgrounds = [{ window: 'Po-218', counts: 30, liveS: 6000, takenUtc: null }];
  await ask('instrument.set', { id, instrument: { ...entry, gasLeft: 0.02, gasLeftU: 0, backgrounds } });
  await ask('readings.import', {
    path: file(
      'hot.csv',
      'Probe,Fill end,Start (s),Length (s),Radon (kBq/m3)\nA1,2026-05-12T08:00:00Z,900,300,400\nA1,2026-05-12T08:00:00Z,1200,300,400\n',
    ),
  });
  const { view } = await ask('readings.import', {
    path: file(
      'next.csv',
      'Probe,Fill end,Start (s),Length (s),Counts Po-218\nA2,2026-05-12T09:00:00Z,900,600,900\n',
    ),
  });
  const probe = view.probes.find((p) => p.label === 'A2');
  const sample = view.samples.find((s) => s.probeId === probe?.id);
  const details = await ask('sample.reduction', { sampleId: sample?.id ?? '' });
  expect(details.carriedFrom.map((c) => c.probe)).toEqual(['A1']);
  expect(details.carriedFrom[0]?.radonKBqPerM3).toBeCloseTo(400 * grown(1200), 0);
});

test('one interval over the range: no mean of the others, which would be too low', async () => {
  const { view, report } = await ask('readings.import', {
    path: file(
      'over.csv',
      [
        'Probe,Fill end,Start (s),Length (s),Radon (kBq/m3),Ingrowth (min)',
        'A1,2026-03-01T08:00:00Z,900,600,30,15',
        'A1,2026-03-01T08:00:00Z,1500,600,>60,15',
        'A2,2026-03-01T09:00:00Z,900,600,25,15',
      ].join('\n'),
    ),
  });
  expect(report.issues.map((i) => i.message).join(' ')).toMatch(
    /row 2 of over\.csv, column 'Radon \(kBq\/m3\)': row 3 says that A1 went over the instrument's range/,
  );
  const radonAt = (label: string) =>
    view.samples.find((s) => s.probeId === view.probes.find((p) => p.label === label)?.id)?.radonKBqPerM3;
  expect(radonAt('A1')).toBeNull();
  // 25 at a mean of 20 min after the fill, brought back: exp(2.098e-6 /s x 1200 s) = 1.0025.
  expect(radonAt('A2')).toBeCloseTo(25 * 1.0025, 2);
});
