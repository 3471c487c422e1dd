import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { ProjectView, Sample } from '../../../core/contract/model.ts';
import type { Engine } from '../../../core/project/engine.ts';
import {
  CELL,
  clockText,
  countDay,
  type DaySample,
  FIRST_FILL_END_MS,
  INSTRUMENTS_CSV,
  readingsCsv,
} from './counted-day.ts';
import { asking, newTestEngine } from './engine-asking.ts';

vi.setConfig({ testTimeout: 60_000 });

let folder: string;
let engine: Engine;
const { ask, refused } = asking(() => engine);

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-readings-'));
  engine = newEngine();
});

afterEach(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

const newEngine = () => newTestEngine();

function file(name: string, content: string): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

const HOT = 9;
/** 2 to 120 kBq/m3, a hot hole of 420 and right after it a blank and a quiet one. */
const DAY: readonly DaySample[] = Array.from({ length: 20 }, (_, i) => ({
  label: `P${i + 1}`,
  kind: i === HOT + 1 ? 'blank' : 'grab',
  radonKBqPerM3: i === HOT ? 420 : i === HOT + 1 ? 0 : i === HOT + 2 ? 4 : 2 * 60 ** (((i * 7) % 20) / 19),
}));

/** Probes in rows of five, each with one sample without a value. */
function probesCsv(labels: readonly string[]): string {
  const rows = labels.map(
    (label, i) => `${label},${4 + 6 * (i % 5)},${3 + 5 * Math.floor(i / 5)},0.8,,medium`,
  );
  return `Probe,x,y,Depth (m),Radon (kBq/m3),Permeability class\n${rows.join('\n')}\n`;
}

async function project(labels: readonly string[]) {
  await ask('project.create', {
    path: join(folder, 'day.gasplat'),
    name: 'Day',
    crs: { kind: 'local', unit: 'm', label: 'invented' },
  });
  await ask('lot.set', {
    ring: [
      [0, 0],
      [40, 0],
      [40, 30],
      [0, 30],
    ],
  });
  await ask('import.commit', { path: file('probes.csv', probesCsv(labels)), options: {} });
}

async function wholeDay(seed = 11): Promise<ProjectView> {
  await project(
    DAY.filter((s) => s.kind === 'grab')
      .map((s) => s.label)
      .concat(`P${HOT + 2}`),
  );
  await ask('instrument.import', { path: file('instruments.csv', INSTRUMENTS_CSV) });
  const path = file('readings.csv', readingsCsv(countDay(DAY, seed)));
  const { view, report } = await ask('readings.import', { path });
  expect(report.issues.filter((i) => i.severity === 'error')).toEqual([]);
  expect(report).toMatchObject({ readingsAdded: 60, samplesRead: 20, samplesAdded: 1, rowsKnown: 0 });
  return view;
}

const labelOf = (view: ProjectView, s: Sample) => view.probes.find((p) => p.id === s.probeId)?.label ?? '';
const sampleOf = (view: ProjectView, d: DaySample) =>
  view.samples.find(
    (s) =>
      labelOf(view, s) === d.label &&
      (s.kind === 'blank') === (d.kind === 'blank') &&
      s.reduction !== undefined,
  );

describe('a day counted with one cell, by a forward model of the test itself', () => {
  test('comes out as it was: pulls, non-detect, fits, carry-over', async () => {
    const pulls: number[] = [];
    for (const seed of [11, 12, 13]) {
      if (seed > 11) {
        await engine.close();
        rmSync(join(folder, 'day.gasplat'));
        engine = newEngine();
      }
      const view = await wholeDay(seed);
      for (const d of DAY) {
        const s = sampleOf(view, d);
        if (s === undefined) throw new Error(`${d.label} has no reduction`);
        expect(s.reduction).toMatchObject({
          basis: 'readings',
          instrument: 'Cell A',
          readingCount: 3,
          commonURel: 0.04,
        });
        if (d.radonKBqPerM3 === 0) continue;
        expect(s.radonBelowKBqPerM3).toBeNull();
        pulls.push(((s.radonKBqPerM3 ?? Number.NaN) - d.radonKBqPerM3) / (s.radonUKBqPerM3 ?? Number.NaN));
      }
      const bad = view.assessments.filter((a) => a.flags.some((f) => f.rule === 'counts-do-not-fit'));
      expect(bad.length).toBeLessThanOrEqual(2);
    }
    const mean = pulls.reduce((a, b) => a + b, 0) / pulls.length;
    const sd = Math.sqrt(pulls.reduce((sum, p) => sum + (p - mean) ** 2, 0) / (pulls.length - 1));
    expect(pulls).toHaveLength(57);
    // 57 pulls: the mean has a standard error of 0.13, their scatter one of 0.09.
    expect(Math.abs(mean)).toBeLessThan(0.4);
    expect(sd).toBeGreaterThan(0.7);
    expect(sd).toBeLessThan(1.3);
    expect(Math.max(...pulls.map(Math.abs))).toBeLessThan(3.3);
  });

  test('without the sample before it, the quiet one after the hot hole would read far too high', async () => {
    const view = await wholeDay();
    const quiet = DAY[HOT + 2];
    const blank = DAY[HOT + 1];
    const before = quiet === undefined ? undefined : sampleOf(view, quiet);
    const air = blank === undefined ? undefined : sampleOf(view, blank);
    if (before === undefined || air === undefined) throw new Error('not there');
    // 2 % of 420 kBq/m3 are left in the blank, and nothing more than that is found in it.
    expect(air.radonKBqPerM3).toBeNull();
    expect(air.radonBelowKBqPerM3).toBeGreaterThan(0);
    const detail = await ask('sample.reduction', { sampleId: air.id });
    expect(detail.measured.kind).toBe('atMost');
    expect(detail.carriedFrom[0]).toMatchObject({ probe: `P${HOT + 1}`, gasLeft: 0.02 });
    expect(detail.chamber?.estimateKBqPerM3).toBeLessThan(detail.chamber?.decisionThresholdKBqPerM3 ?? 0);
    expect(detail.intervals).toHaveLength(3);
    for (const i of detail.intervals) {
      expect(i.residual).toBeCloseTo((i.counts - (i.expected ?? 0)) / Math.sqrt(i.expected ?? 1), 9);
      expect(Math.abs(i.residual ?? 99)).toBeLessThan(4);
      expect(i.source?.file).toBe('readings.csv');
    }
    const clean = await ask('sample.handling', {
      sampleIds: [before.id, air.id],
      handling: { before: 'clean' },
    });
    const wrong = clean.samples.find((s) => s.id === before.id);
    expect(wrong?.radonKBqPerM3).toBeGreaterThan(1.5 * 4);
    const blankWrong = clean.samples.find((s) => s.id === air.id);
    expect(blankWrong?.radonKBqPerM3).toBeGreaterThan(0.02 * 420);
    const back = await ask('record.undo', {});
    expect(back.samples.find((s) => s.id === before.id)?.radonKBqPerM3).toBe(before.radonKBqPerM3);
  });

  test('the same file again adds nothing; another count for the same interval is refused by row', async () => {
    await wholeDay();
    const path = join(folder, 'readings.csv');
    const again = await ask('readings.import', { path });
    expect(again.report).toMatchObject({ readingsAdded: 0, samplesAdded: 0, rowsKnown: 60 });
    expect(again.report.issues.filter((i) => i.severity === 'error')).toEqual([]);
    const changed = readingsCsv(countDay(DAY, 99));
    const other = await ask('readings.import', { path: file('other.csv', changed) });
    expect(other.report.readingsAdded).toBe(0);
    const errors = other.report.issues.filter((i) => i.severity === 'error');
    expect(errors.length).toBeGreaterThan(50);
    expect(errors[0]?.message).toMatch(
      /^row 2 of other\.csv, column 'Start \(s\)': 60 to 360 s .* overlaps .* in the project$/,
    );
  });

  test('the common error of the calibration reaches value, class doubt and never the random part', async () => {
    const view = await wholeDay();
    const values = view.assessments.flatMap((a) => (a.measured.kind === 'value' ? [a.measured] : []));
    expect(values.length).toBeGreaterThan(15);
    expect(values.every((v) => v.commonURel === 0.04)).toBe(true);
    const lotClass = await ask('class.compute', {});
    expect(lotClass.doubts.find((d) => d.kind === 'measurement')?.method).toContain(
      'common calibration error',
    );
    const { instruments } = await ask('instrument.list', {});
    const [cell] = instruments;
    if (cell === undefined) throw new Error('no instrument');
    const { id, windowIds, sampleCount, missing, ...entry } = cell;
    expect({ windowIds, sampleCount, missing }).toEqual({
      windowIds: ['alpha'],
      sampleCount: 20,
      missing: [],
    });
    const wider = await ask('instrument.set', { id, instrument: { ...entry, commonURel: 0.2 } });
    const random = (v: ProjectView) => v.samples.map((s) => s.radonUKBqPerM3 ?? 0);
    random(wider).forEach((u, i) => {
      expect(u).toBeCloseTo(random(view)[i] ?? 0, 9);
    });
    expect(wider.assessments.find((a) => a.measured.kind === 'value')?.measured).toMatchObject({
      commonURel: 0.2,
    });
  });

  test('results outlive the session: opened again, nothing is reduced anew and all is the same', async () => {
    const view = await wholeDay();
    await engine.close();
    engine = newEngine();
    const again = await ask('project.open', { path: join(folder, 'day.gasplat') });
    expect(again.samples).toEqual(view.samples);
    expect(again.assessments).toEqual(view.assessments);
    expect((await ask('record.list', {})).intact).toBe(true);
  });
});

describe('counts that say something is wrong', () => {
  const one = (counts: readonly number[], more = ''): string =>
    `Probe,Instrument,Fill end,Start (s),Length (s),Counts${more === '' ? '' : `,${more.split('=')[0]}`}\n${counts
      .map(
        (n, i) =>
          `P1,Cell A,${clockText(FIRST_FILL_END_MS)},${60 + 300 * i},300,${n}${more === '' ? '' : `,${more.split('=')[1]}`}`,
      )
      .join('\n')}\n`;

  beforeEach(async () => {
    await project(['P1', 'P2']);
  });

  test('a count that falls where it should grow is a finding of quality, and the value stays', async () => {
    await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
    const { view } = await ask('readings.import', { path: file('r.csv', one([9000, 6000, 3000])) });
    const assessment = view.assessments[0];
    const flag = assessment?.flags.find((f) => f.rule === 'counts-do-not-fit');
    expect(flag).toMatchObject({ kind: 'quality', weight: 'suspect' });
    expect(flag?.evidence[0]).toMatchObject({ limit: 0.01 });
    expect(assessment?.measured.kind).toBe('value');
  });

  test('without a background there is no value, and the project says what is missing', async () => {
    await ask('instrument.import', {
      path: file('i.csv', 'Instrument,Detector,Counts per alpha,Chamber (mL)\nCell A,alpha,0.7,250\n'),
    });
    const { view } = await ask('readings.import', { path: file('r.csv', one([2000, 2300, 2600])) });
    expect(view.samples[0]).toMatchObject({
      radonKBqPerM3: null,
      reduction: { basis: 'none', readingCount: 3 },
    });
    expect(view.assessments[0]?.flags.find((f) => f.rule === 'counts-not-reduced')?.message).toContain(
      'background',
    );
    const warning = view.warnings.find((w) => w.startsWith('Instrument Cell A'));
    for (const part of ['no calibration date', 'no background', 'no uncertainty', 'share of gas left'])
      expect(warning).toContain(part);
    // A background that comes with the counts mends it.
    const more = `Probe,Kind,Instrument,Start,Length (min),Counts\n,background,Cell A,2026-05-12T06:00:00Z,60,110\n`;
    const mended = await ask('readings.import', { path: file('b.csv', more) });
    expect(mended.report).toMatchObject({ backgroundsAdded: 1, readingsAdded: 0 });
    expect(mended.view.samples[0]?.radonKBqPerM3).toBeGreaterThan(1);
    // 10 % stands in for a calibration uncertainty that nobody stated.
    expect(mended.view.samples[0]?.reduction).toMatchObject({ basis: 'readings', commonURel: 0.1 });
  });

  test('a value entered beside counts gives way to them, and a difference is told', async () => {
    await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
    const entered = 'Probe,x,y,Depth (m),Radon (kBq/m3),u (kBq/m3)\nP9,20,20,0.8,90,2\n';
    await ask('import.commit', { path: file('v.csv', entered), options: {} });
    const { view } = await ask('readings.import', {
      path: file('r.csv', one([2000, 2300, 2600]).replaceAll('P1,', 'P9,')),
    });
    const s = view.samples.find((x) => labelOf(view, x) === 'P9');
    expect(s?.reduction?.basis).toBe('readings');
    expect(s?.radonKBqPerM3).toBeLessThan(60);
    expect(view.assessments.find((a) => a.sampleId === s?.id)?.flags.map((f) => f.rule)).toContain(
      'entered-value-differs',
    );
    const detail = await ask('sample.reduction', { sampleId: s?.id ?? '' });
    expect(detail.entered).toEqual({ radonKBqPerM3: 90, uKBqPerM3: 2 });
  });

  test('dead volume or tracer, whichever is chosen, and never both', async () => {
    await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
    const first = await ask('readings.import', { path: file('r.csv', one([2000, 2300, 2600])) });
    const s = first.view.samples[0];
    const plain = s?.radonKBqPerM3 ?? Number.NaN;
    const sampleIds = [s?.id ?? ''];
    const pumped = { fillWay: 'flow-through', fillS: 60, pumpedMl: 620 } as const;
    await ask('sample.handling', { sampleIds, handling: pumped });
    const mixed = await ask('sample.handling', { sampleIds, handling: { correction: 'well-mixed' } });
    const detail = await ask('sample.reduction', { sampleId: sampleIds[0] ?? '' });
    // Two volumes of the system (250 + 60 ml): 1 - exp(-2) of it is soil gas if stirred (textbook tank).
    expect(detail.correction?.airShare).toBeCloseTo(Math.exp(-2), 12);
    const chamber = detail.chamber?.estimateKBqPerM3 ?? Number.NaN;
    expect(mixed.samples[0]?.radonKBqPerM3).toBeCloseTo(
      (chamber - Math.exp(-2) * 0.006) / (1 - Math.exp(-2)),
      9,
    );
    expect(mixed.samples[0]?.radonUKBqPerM3).toBeGreaterThan(s?.radonUKBqPerM3 ?? 0);
    const [low, high] = mixed.samples[0]?.reduction?.interval95KBqPerM3 ?? [0, 0];
    expect(high - low).toBeGreaterThan(2 * 1.9 * (s?.radonUKBqPerM3 ?? 0));
    const traced = await ask('sample.handling', {
      sampleIds,
      handling: { correction: 'tracer', tracerPct: 2, tracerShroudPct: 20 },
    });
    expect(traced.samples[0]?.radonKBqPerM3).toBeCloseTo((chamber - 0.1 * 0.006) / 0.9, 9);
    expect(traced.samples[0]?.tracerPct).toBeUndefined();
    const lacking = await ask('sample.handling', { sampleIds, handling: { tracerPct: null } });
    expect(lacking.samples[0]?.radonKBqPerM3).toBeCloseTo(chamber, 9);
    expect(lacking.assessments[0]?.flags.map((f) => f.rule)).toContain('air-not-corrected');
    expect(Math.abs(chamber / plain - 1)).toBeLessThan(0.05);
  });

  test.each([
    ['a probe that is not there', 'P7,Cell A,,60,300,12', /no probe 'P7'/],
    ['an instrument that is not there', 'P1,Cell B,,60,300,12', /'Cell B' is not in the register: Cell A/],
    ['half a count', 'P1,Cell A,,60,300,12.5', /not a whole number of counts/],
    ['no counts', 'P1,Cell A,,60,300,', /holds no counts/],
    ['a length of nothing', 'P1,Cell A,,60,0,12', /'0' is not from/],
    ['a start before the fill', 'P1,Cell A,,-60,300,12', /starts 60 s before the fill has ended/],
    ['a time without a day', 'P1,Cell A,09:30,60,300,12', /'09:30' has no day/],
    ['a clock start without a fill', 'P1,Cell A,,2026-05-12T08:00:00Z,300,12', /needs the end of the fill/],
    ['text for a count', 'P1,Cell A,,60,300,many', /'many' is not a number/],
  ])('%s is named by file, row and column', async (_what, row, message) => {
    await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
    const csv = `Probe,Instrument,Fill end,Start (s),Length (s),Counts\nP2,Cell A,,60,300,900\n${row}\n`;
    const { report } = await ask('readings.import', { path: file('bad.csv', csv), dryRun: true });
    const errors = report.issues.filter((i) => i.severity === 'error');
    expect(errors.map((e) => [e.file, e.row])).toEqual([['bad.csv', 3]]);
    expect(errors[0]?.message).toMatch(message);
    expect(errors[0]?.message).toMatch(/^row 3 of bad\.csv/);
    expect(report.readingsAdded).toBe(1);
    expect((await ask('project.view', {})).samples.every((s) => s.reduction === undefined)).toBe(true);
  });

  test('two repeats are told apart by time, by number, or refused', async () => {
    await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
    const head = 'Probe,Kind,Sample,Instrument,Fill end,Start (s),Length (s),Counts\n';
    const row = (sample: string, minute: number, counts: number) =>
      `P1,repeat,${sample},Cell A,${minute < 0 ? '' : clockText(FIRST_FILL_END_MS + 60_000 * minute)},60,300,${counts}\n`;
    const two = await ask('readings.import', {
      path: file('r.csv', head + row('', 100, 900) + row('', 200, 950)),
    });
    expect(two.report).toMatchObject({ samplesAdded: 2, readingsAdded: 2 });
    const unclear = await ask('readings.import', {
      path: file('u.csv', head + row('', -1, 5).replace(',60,', ',400,')),
    });
    expect(unclear.report.readingsAdded).toBe(0);
    expect(unclear.report.issues[0]?.message).toMatch(/has several samples: say which/);
    const second = await ask('readings.import', {
      path: file('s.csv', head + row('2', -1, 960).replace(',60,', ',400,')),
    });
    expect(second.report).toMatchObject({ samplesAdded: 0, readingsAdded: 1 });
    const late = second.view.samples.filter((s) => s.reduction?.readingCount === 2);
    expect(late.map((s) => s.takenUtc)).toEqual([
      new Date(FIRST_FILL_END_MS + 12_000_000).toISOString().replace('.000', ''),
    ]);
  });

  test('the same counts by seconds, by minutes and by the clock of the day come to the same value', async () => {
    await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
    const fill = clockText(FIRST_FILL_END_MS);
    const ways = [
      `Probe,Fill end,Fill (s),Start (s),Length (s),Live (s),Counts\nP1,${fill},30,60,300,294,2100\nP1,${fill},30,360,300,294,2400\n`,
      `Probe;Fill end;Fill (min);Start (min);End (min);Live (min);Counts\nP1;${fill};0,5;1;6;4,9;2100\nP1;${fill};0,5;6;11;4,9;2400\n`,
      // The cell's clock is 90 s ahead: the fill ended at 07:31:30 by it.
      'Probe,Date,Fill start,Fill end,Start,End,Live (s),Counts\nP1,2026-05-12,07:31:00,07:31:30,07:32:30,07:37:30,294,2100\nP1,2026-05-12,07:31:00,07:31:30,07:37:30,07:42:30,294,2400\n',
    ];
    const seen: Sample[] = [];
    for (const [i, csv] of ways.entries()) {
      const { view, report } = await ask('readings.import', { path: file(`way-${i}.csv`, csv) });
      expect(report.issues.filter((x) => x.severity === 'error')).toEqual([]);
      expect(report).toMatchObject({ readingsAdded: 2, samplesRead: 1, samplesAdded: 0 });
      const found = view.samples.find((x) => x.reduction !== undefined);
      if (found !== undefined) seen.push(found);
      await ask('record.undo', {});
    }
    expect(seen).toHaveLength(3);
    for (const s of seen) {
      expect(s.radonKBqPerM3).toBeCloseTo(seen[0]?.radonKBqPerM3 ?? 0, 9);
      expect(s.radonUKBqPerM3).toBeCloseTo(seen[0]?.radonUKBqPerM3 ?? 0, 9);
    }
  });

  test('what was before can be named, may have come as a value, and undo and redo keep the record whole', async () => {
    await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
    const at = (minute: number) => clockText(FIRST_FILL_END_MS + 60_000 * minute);
    const csv =
      'Probe,Fill end,Start (s),Length (s),Counts,Before\n' +
      `P1,${at(0)},60,300,30000,\nP1,${at(0)},360,300,34000,\n` +
      `P2,${at(25)},60,300,9800,P1\nP2,${at(25)},360,300,8000,P1\n`;
    const { view } = await ask('readings.import', { path: file('b.csv', csv) });
    const [p1, p2] = view.samples;
    const detail = await ask('sample.reduction', { sampleId: p2?.id ?? '' });
    expect(detail.carriedFrom.map((c) => c.probe)).toEqual(['P1']);
    expect(detail.carriedFrom[0]?.radonKBqPerM3).toBeCloseTo(p1?.radonKBqPerM3 ?? 0, 9);
    const undone = await ask('record.undo', {});
    expect(undone.samples.every((s) => s.reduction === undefined)).toBe(true);
    const redone = await ask('record.redo', {});
    expect(redone.samples).toEqual(view.samples);
    expect((await ask('record.list', {})).intact).toBe(true);
    // P1 as a value of its own on the same instrument: its remains are taken off all the same.
    const other =
      'Probe,x,y,Depth (m),Radon (kBq/m3),u (kBq/m3),Taken (UTC)\nP5,30,20,0.8,350,4,2026-05-12T08:20:00Z\n';
    const more = await ask('import.commit', { path: file('v.csv', other), options: {} });
    const p5 = more.view.samples.find((s) => labelOf(more.view, s) === 'P5');
    const { instruments } = await ask('instrument.list', {});
    await ask('sample.handling', {
      sampleIds: [p5?.id ?? ''],
      handling: { instrumentId: instruments[0]?.id ?? '' },
    });
    const late = `Probe,Kind,Fill end,Start (s),Length (s),Counts\nP2,repeat,${at(75)},60,300,9000\n`;
    const last = await ask('readings.import', { path: file('l.csv', late) });
    const repeat = last.view.samples.find((s) => s.kind === 'repeat');
    const found = await ask('sample.reduction', { sampleId: repeat?.id ?? '' });
    expect(found.carriedFrom.map((c) => c.probe)).toEqual(['P5', 'P2', 'P1']);
    expect(found.carriedFrom[0]).toMatchObject({ radonKBqPerM3: 350, uKBqPerM3: 4 });
    const value = last.view.assessments.find((a) => a.sampleId === p5?.id)?.measured;
    expect(value).toMatchObject({ kind: 'value', estimateKBqPerM3: 350, commonURel: 0.04 });
  });

  test("windows of one's own count what they state and refuse what is no nuclide", async () => {
    const own = {
      label: 'Own',
      detector: 'windows',
      countsPerAlpha: null,
      windows: [{ id: 'low', countsPerAlpha: { 'Rn-222': 0.7, 'Po-218': 0.7, 'Po-214': 0.7 } }],
      chamberMl: 250,
      lineMl: null,
      commonURel: 0.04,
      calibratedOn: '2026-02-01',
      certificate: 'invented',
      gasLeft: 0.02,
      gasLeftU: 0.004,
      progenyLeft: null,
      clockOffsetS: 90,
      note: null,
      backgrounds: [{ window: 'low', counts: 216, liveS: 7200, takenUtc: null }],
    } as const;
    await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
    await ask('instrument.set', { id: null, instrument: own });
    const { view } = await ask('readings.import', {
      path: file(
        'r.csv',
        one([2000, 2300, 2600]) +
          one([2000, 2300, 2600]).split('\n').slice(1).join('\n').replaceAll('P1,Cell A', 'P2,Own'),
      ),
    });
    const [cell, mine] = view.samples;
    expect(mine?.reduction).toMatchObject({ basis: 'readings', instrument: 'Own' });
    // The same efficiencies as the cell's for the radon series: the same number.
    expect(mine?.radonKBqPerM3).toBeCloseTo(cell?.radonKBqPerM3 ?? 0, 9);
    const wrong = { ...own, label: 'W', windows: [{ id: 'low', countsPerAlpha: { 'Pb-214': 0.1 } }] };
    expect((await refused('instrument.set', { id: null, instrument: wrong })).message).toContain("'Pb-214'");
    const none = { ...own, label: 'N', windows: null };
    expect((await refused('instrument.set', { id: null, instrument: none })).code).toBe('BAD_INPUT');
  });

  test('windows of a spectrum part thoron from radon', async () => {
    const instrument = {
      label: 'Spectrum B',
      detector: 'spectrum',
      countsPerAlpha: 0.3,
      windows: null,
      chamberMl: 700,
      lineMl: null,
      commonURel: 0.05,
      calibratedOn: '2026-02-01',
      certificate: 'invented',
      gasLeft: 0,
      gasLeftU: 0,
      progenyLeft: 1,
      clockOffsetS: 0,
      note: null,
      backgrounds: ['Po-218', 'Po-214', 'thoron'].map((window) => ({
        window,
        counts: 4,
        liveS: 7200,
        takenUtc: null,
      })),
    } as const;
    await ask('instrument.set', { id: null, instrument });
    const csv =
      'Probe,Start (min),Length (min),Counts Po-218,Counts Po-214,Counts thoron\nP1,1,3,700,40,2500\nP1,4,3,1500,150,270\nP1,7,3,1900,300,30\nP1,10,3,2100,500,5\n';
    const { view } = await ask('readings.import', { path: file('s.csv', csv) });
    const detail = await ask('sample.reduction', { sampleId: view.samples[0]?.id ?? '' });
    expect(detail.intervals).toHaveLength(12);
    expect(detail.thoron?.estimateKBqPerM3).toBeGreaterThan(10 * (detail.thoron?.uKBqPerM3 ?? 1));
    expect(await refused('instrument.set', { id: null, instrument })).toMatchObject({
      code: 'BAD_INPUT',
      details: { field: 'label' },
    });
    const wrong = {
      ...instrument,
      label: 'C',
      backgrounds: [{ window: 'alpha', counts: 4, liveS: 60, takenUtc: null }],
    };
    expect((await refused('instrument.set', { id: null, instrument: wrong })).message).toContain(
      "window 'alpha'",
    );
    expect((await refused('sample.reduction', { sampleId: 'none' })).code).toBe('NOT_FOUND');
  });
});

test('many samples are reduced in a worker, and the engine answers meanwhile', async () => {
  const labels = Array.from({ length: 300 }, (_, i) => `Q${i + 1}`);
  await project(labels);
  await ask('instrument.import', { path: file('i.csv', INSTRUMENTS_CSV) });
  const day = labels.map((label, i): DaySample => ({ label, kind: 'grab', radonKBqPerM3: 20 + (i % 40) }));
  const path = file('many.csv', readingsCsv(countDay(day, 5)));
  let slowest = 0;
  const work = ask('readings.import', { path });
  await new Promise((resolve) => setTimeout(resolve, 0));
  while ((await Promise.race([work, new Promise<null>((r) => setTimeout(() => r(null), 5))])) === null) {
    const asked = performance.now();
    await ask('engine.info', {});
    slowest = Math.max(slowest, performance.now() - asked);
  }
  expect((await work).view.samples.filter((s) => s.reduction?.basis === 'readings')).toHaveLength(300);
  expect(slowest).toBeLessThan(500);
  expect(CELL.intervals * 300).toBe((await work).report.readingsAdded);
});
