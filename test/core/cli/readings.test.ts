import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { resourcePath } from '../../../core/resources.ts';
import { gasplatIn } from './gasplat.ts';

vi.setConfig({ testTimeout: 60_000 });

let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-cli-readings-'));
  for (const name of ['samples.csv', 'instruments.csv', 'readings.csv', 'days.csv'])
    copyFileSync(resourcePath('samples', 'templates', name), join(folder, name));
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const gasplat = gasplatIn(() => folder);

const json = (...args: string[]) => {
  const run = gasplat(...args, '--json');
  expect(run.err.replace(/^reducing counts\n/, '')).toBe('');
  return JSON.parse(run.out);
};

/** What the counts of samples/templates/readings.csv were simulated with (its README); E8 came as a value. */
const TRUTH: Readonly<Record<string, number>> = { E1: 18, E2: 31, E3: 26, E4: 210, E5: 22, E6: 40, E7: 35 };

test('the templates go in as they are, and the counts come out as what they were made from', () => {
  expect(gasplat('new', 'job.gasplat', '--name', 'Job', '--crs', 'local:m').code).toBe(0);
  expect(json('import', 'job.gasplat', 'samples.csv')).toMatchObject({ probesAdded: 8, samplesAdded: 9 });
  const early = gasplat('import', 'job.gasplat', 'readings.csv', '--what', 'readings');
  expect(early.code).toBe(1);
  expect(early.err).toContain(
    "row 2 of readings.csv, column 'Instrument': the project has no instrument yet",
  );
  const dry = json('import', 'job.gasplat', 'instruments.csv', '--what', 'instruments', '--dry-run');
  expect(dry).toMatchObject({ instrumentsAdded: 1, backgroundsAdded: 1, issues: [] });
  expect(json('import', 'job.gasplat', 'instruments.csv', '--what', 'instruments')).toEqual(dry);
  expect(json('import', 'job.gasplat', 'instruments.csv', '--what', 'instruments')).toMatchObject({
    instrumentsAdded: 0,
    instrumentsChanged: 0,
    rowsKnown: 1,
  });
  const report = json('import', 'job.gasplat', 'readings.csv', '--what', 'readings');
  expect(report).toMatchObject({
    readingsAdded: 24,
    samplesRead: 8,
    samplesAdded: 0,
    backgroundsAdded: 1,
    issues: [],
  });

  const { samples } = json('reduce', 'job.gasplat');
  for (const [probe, truth] of Object.entries(TRUTH)) {
    const { reduction } = samples.find((s: { probe: string }) => s.probe === probe);
    expect(reduction).toMatchObject({
      basis: 'readings',
      instrument: 'Cell A',
      readingCount: 3,
      commonURel: 0.04,
      correction: 'middle',
    });
    const { valueKBqPerM3: value, uKBqPerM3: u, interval95KBqPerM3: interval } = reduction;
    expect(Math.abs(value - truth) / u).toBeLessThan(3.5);
    expect(interval[0]).toBeLessThan(value);
    expect(interval[1]).toBeGreaterThan(value);
    expect(reduction.decisionThresholdKBqPerM3).toBeLessThan(reduction.detectionLimitKBqPerM3);
    expect(reduction.fitP).toBeGreaterThan(0.001);
  }
  const blank = samples.find(
    (s: { reduction: { atMostKBqPerM3: number | null } }) => s.reduction.atMostKBqPerM3 !== null,
  );
  expect(blank).toMatchObject({ probe: 'E4', reduction: { basis: 'readings', valueKBqPerM3: null } });
  const entered = samples.find((s: { probe: string }) => s.probe === 'E8');
  expect(entered.reduction).toMatchObject({
    basis: 'entered',
    valueKBqPerM3: 33,
    uKBqPerM3: 2.2,
    fitP: null,
  });
});

test('one sample in full: intervals with their rows, background, what was left by whom', () => {
  const { samples } = json('reduce', 'job.gasplat', '--sample', 'e5');
  const [e5] = samples;
  expect(e5.carriedFrom.map((c: { probe: string }) => c.probe)).toEqual([
    'E4 (blank)',
    'E4',
    'E3',
    'E2',
    'E1',
  ]);
  // Two fills after the hot hole its gas is 0.02 squared, its progeny still more than half of all counts.
  expect(e5.carriedFrom[1].gasLeft).toBeCloseTo(0.0004, 12);
  const all = e5.intervals.reduce((sum: number, i: { counts: number }) => sum + i.counts, 0);
  expect(e5.carriedFrom[1].counts / all).toBeGreaterThan(0.4);
  expect(e5.intervals[0].source).toEqual({ file: 'readings.csv', row: 18 });
  expect(e5.backgrounds).toEqual([
    { window: 'alpha', counts: 107, liveS: 3600, takenUtc: '2026-05-12T06:00:00Z' },
  ]);
  const { out } = gasplat('reduce', 'job.gasplat', '--sample', 'E5');
  expect(out).toContain('left by E4 (211');
  expect(out).toMatch(/alpha 60 to 360 s: 5104 counts, expected \d+/);
  expect(gasplat('reduce', 'job.gasplat', '--sample', 'E99').code).toBe(2);
});

test('check says what is missing before the counts can be defended', () => {
  const { quality, leave, ...checked } = json('check', 'job.gasplat');
  expect(checked).toMatchObject({ recordIntact: true, warnings: [] });
  const verdicts = (items: readonly { id: string; verdict: string }[]) =>
    Object.fromEntries(items.map((i) => [i.id, i.verdict]));
  expect(verdicts(quality.items)).toMatchObject({ rain: 'not recorded', 'leak-checks': 'fit', dryer: 'fit' });
  expect(leave).toMatchObject({ day: '2026-05-12', isComplete: false });
  expect(json('import', 'job.gasplat', 'days.csv', '--what', 'days')).toMatchObject({
    daysAdded: 1,
    looksAdded: 2,
    issues: [],
  });
  expect(verdicts(json('check', 'job.gasplat').quality.items)).toMatchObject({ rain: 'fit', crew: 'fit' });
  const { out } = gasplat('check', 'job.gasplat');
  expect(out).toContain('fit           Rain: 2026-05-12: 3 mm, 40 h before.');
  expect(out).toContain('missing  Enough valid points for the scheme: 8 of 15');
  expect(out).toContain('[unconfirmed: from memory]');
  writeFileSync(
    join(folder, 'bare.csv'),
    'Instrument;Detector;Counts per alpha;Chamber (L)\nCell Z;alpha;0,65;0,3\n',
  );
  expect(gasplat('new', 'bare.gasplat', '--name', 'Bare', '--crs', 'local:m').code).toBe(0);
  gasplat('import', 'bare.gasplat', 'samples.csv');
  expect(json('import', 'bare.gasplat', 'bare.csv', '--what', 'instruments')).toMatchObject({
    instrumentsAdded: 1,
  });
  const counts = readFileSync(join(folder, 'readings.csv'), 'utf8')
    .split('\n')
    .filter((line) => !line.startsWith(',background'))
    .map((line) => line.replace('Cell A', 'Cell Z'))
    .join('\n');
  writeFileSync(join(folder, 'z.csv'), counts);
  expect(gasplat('import', 'bare.gasplat', 'z.csv', '--what', 'readings').code).toBe(0);
  const { warnings } = json('check', 'bare.gasplat');
  expect(warnings[0]).toMatch(/^Instrument Cell Z: no calibration date; .*no background/);
  expect(warnings[1]).toMatch(/^Counts or interval values that give no value: E1, E2/);
});

test('options that are for samples are refused for counts', () => {
  const run = gasplat('import', 'job.gasplat', 'readings.csv', '--what', 'readings', '--map', 'radon=Counts');
  expect(run.code).toBe(2);
  expect(run.err).toContain('--map');
});
