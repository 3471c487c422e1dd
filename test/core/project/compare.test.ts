/**
 * Invented lots compared with themselves: the second survey is the first one's numbers, changed by a known amount.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fromArrayBuffer } from 'geotiff';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { InstrumentEntry } from '../../../core/contract/model.ts';
import { convertNative } from '../../../core/geo/frame.ts';
import { createJobRunner, type JobRunner } from '../../../core/jobs/runner.ts';
import { type Comparison, compareSurveys, saveComparison } from '../../../core/project/compare.ts';
import { createFromDemo } from '../../../core/project/demo.ts';
import { setLot, setSettings } from '../../../core/project/edit.ts';
import { setHandling } from '../../../core/project/handling.ts';
import { commitImport } from '../../../core/project/import-files.ts';
import { setInstrument } from '../../../core/project/instruments.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { computeSurface } from '../../../core/project/surface.ts';
import { buildView } from '../../../core/project/view.ts';
import { chanceOfSoMany } from '../../../core/report/compare-words.ts';
import { resourcePath } from '../../../core/resources.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

const context = { signal: new AbortController().signal, onProgress: () => undefined };
let folder: string;
let jobs: JobRunner;
let spring: ProjectStore;

const table = readFileSync(resourcePath('samples', 'ordinary-lot', 'samples.csv'), 'utf8')
  .trim()
  .split(/\r?\n/)
  .map((line) => line.split(','));

/** The same rows in October, with radon raised by `riseKBqPerM3` east of the given easting. */
function autumnCsv(riseKBqPerM3: number, eastOf = 0, place = (x: number, y: number) => [x, y]): string {
  const [head, ...rows] = table as [string[], ...string[][]];
  const out = rows.map((cells) => {
    const row = [...cells];
    const [x, y] = [Number(row[1]), Number(row[2])];
    if (row[5] !== '' && row[15] !== 'blank' && x > eastOf) row[5] = String(Number(row[5]) + riseKBqPerM3);
    [row[1], row[2]] = place(x, y).map(String) as [string, string];
    row[13] = (row[13] ?? '').replace('2026-05', '2026-10');
    return row.join(',');
  });
  return [head.join(','), ...out].join('\n');
}

function autumn(name: string, csv: string, code = 32633): string {
  const path = join(folder, `${name}.gasplat`);
  const store = newProject({
    path,
    name: `Autumn ${name}`,
    crs: { kind: 'epsg', code },
    actor: 'Ann Example',
  });
  const [lot] = spring.rows('lot');
  setLot(store, JSON.parse(lot?.ring_json ?? '[]'), { kind: 'epsg', code: 32633 }, 'lot.geojson');
  makeCoarse(store);
  const file = join(folder, `${name}.csv`);
  writeFileSync(file, csv);
  commitImport(store, file, {});
  store.close();
  return path;
}

/** Cells of 2 m: enough to see a difference, and soon computed. */
function makeCoarse(store: ProjectStore): void {
  const { settings } = buildView(store);
  setSettings(store, { ...settings, surface: { ...settings.surface, cellM: 2 } });
}

const against = (path: string) => compareSurveys(spring, jobs, { kind: 'project', path }, context, '0.1.0');

beforeAll(async () => {
  jobs = createJobRunner();
  folder = mkdtempSync(join(tmpdir(), 'gasplat-compare-'));
  spring = createFromDemo({ path: join(folder, 'spring.gasplat'), lot: 'ordinary', actor: 'Ann Example' });
  makeCoarse(spring);
  await computeSurface(spring, jobs, context);
});

afterAll(async () => {
  spring.close();
  await jobs.close();
  rmSync(folder, { recursive: true, force: true });
});

describe('another project', () => {
  let risen: Comparison;

  test('the same numbers half a year later: no real difference, and what could not have been seen', async () => {
    const { summary, sheet } = await against(autumn('same', autumnCsv(0)));
    expect(summary.statement).toBe('No clear change');
    expect(summary).toMatchObject({ earlier: '2026-05-12', later: '2026-10-12', clearShare: 0, patches: [] });
    expect(summary.meanKBqPerM3).toBeCloseTo(0, 9);
    expect(summary.lines.join(' ')).toMatch(/could not have been told from none/);
    expect(sheet.headline?.lines.join(' ')).toContain('no proof that there is none');
  });

  test('twice as much everywhere is a rise by as much, on the ground and at each probe', async () => {
    risen = await against(autumn('risen', autumnCsv(60)));
    const { summary, difference } = risen;
    expect(summary.statement).toMatch(/^Clear rise on \d+ % of the ground$/);
    // Surfaces of values that all differ by 60 differ by about 60; logarithms may be chosen, so not exactly.
    expect(summary.meanKBqPerM3).toBeGreaterThan(50);
    expect(summary.meanKBqPerM3).toBeLessThan(70);
    expect(summary.patches[0]?.direction).toBe('rise');
    const area = summary.patches.reduce((sum, p) => sum + p.areaM2, 0);
    expect(area / summary.sharedGroundM2).toBeCloseTo(summary.clearShare ?? 0, 1);
    const changes = summary.probes.flatMap((p) => p.change ?? []);
    expect(changes).toHaveLength(20);
    for (const c of changes) expect(c.kBqPerM3).toBeCloseTo(60, 6);
    expect(difference.statements.join(' ')).toContain(
      'No calibration uncertainty was entered on either side',
    );
  });

  test('a rise in the east alone is told as one in the east', async () => {
    const { summary } = await against(autumn('east', autumnCsv(90, 600_028)));
    expect(summary.statement).not.toMatch(/No clear change|fall/);
    expect(summary.lines.join(' ')).toMatch(
      /7 beyond twice the error \(up: P4, P5, P9, P13, P14, P18, P20; down: none\)/,
    );
  });

  test('a survey in the next zone gives the same difference', async () => {
    const move = (x: number, y: number) =>
      convertNative({ kind: 'epsg', code: 32633 }, { kind: 'epsg', code: 32632 }, [[x, y]])[0] as [
        number,
        number,
      ];
    const here = risen;
    const there = await against(autumn('zone32', autumnCsv(60, 0, move), 32632));
    expect(there.summary.probes.map((p) => p.label)).toEqual(here.summary.probes.map((p) => p.label));
    expect(there.summary.sharedGroundM2 / here.summary.sharedGroundM2).toBeCloseTo(1, 1);
    // Metres of the two zones differ by the scale of the far one (about 1.002 six degrees off), hence the surfaces a little.
    expect(Math.abs(there.summary.meanKBqPerM3 - here.summary.meanKBqPerM3)).toBeLessThan(1);
    expect(there.summary.method.join(' ')).toContain(
      '(EPSG:32633) were brought into EPSG:32632 by projection',
    );
  });

  test('the project that is open, and one of other ground, are refused with the reason', async () => {
    await expect(against(spring.path)).rejects.toThrow(/This is the project that is open/);
    const other = createFromDemo({
      path: join(folder, 'feet.gasplat'),
      lot: 'troubled',
      actor: 'Ann Example',
    });
    other.close();
    await expect(against(other.path)).rejects.toThrow(/EPSG:32633.*no control points tie the local grid/);
  });
});

const METER: InstrumentEntry = {
  label: 'Meter A',
  detector: 'alpha',
  countsPerAlpha: 0.62,
  windows: null,
  chamberMl: 180,
  lineMl: null,
  commonURel: 0.1,
  calibratedOn: '2026-01-10',
  certificate: 'C-118',
  gasLeft: null,
  gasLeftU: null,
  progenyLeft: null,
  clockOffsetS: 0,
  note: null,
  backgrounds: [],
};

describe('two spans of days of one project', () => {
  const dates = { kind: 'dates', earlier: { to: '2026-07-31' }, later: { from: '2026-08-01' } } as const;
  let both: ProjectStore;

  beforeAll(() => {
    both = createFromDemo({ path: join(folder, 'both.gasplat'), lot: 'ordinary', actor: 'Ann Example' });
    makeCoarse(both);
    const file = join(folder, 'october.csv');
    writeFileSync(file, autumnCsv(60));
    commitImport(both, file, {});
  });
  afterAll(() => both.close());

  test('each span is a survey of its own, and files hold what was found', async () => {
    const revision = both.revision;
    const out = (ending: string) => join(folder, `change.${ending}`);
    const { summary, files } = await saveComparison(
      both,
      jobs,
      [
        { path: out('pdf'), format: 'pdf' },
        { path: out('tif'), format: 'geotiff' },
      ],
      { with: dates, options: {} },
      context,
      '0.1.0',
    );
    expect(both.revision).toBe(revision);
    expect(summary).toMatchObject({ earlier: '2026-05-12', later: '2026-10-12' });
    for (const p of summary.probes) expect(p.change?.kBqPerM3).toBeCloseTo(60, 6);
    expect(files.map((f) => f.bytes > 1000)).toEqual([true, true]);
    const tiff = await fromArrayBuffer(new Uint8Array(readFileSync(out('tif'))).buffer);
    const [change, error] = await (await tiff.getImage()).readRasters();
    const known = Array.from(change as Float64Array).filter(Number.isFinite);
    expect(known.reduce((sum, v) => sum + v, 0) / known.length).toBeCloseTo(summary.meanKBqPerM3, 9);
    expect(Array.from(error as Float64Array).filter(Number.isFinite)).toHaveLength(known.length);
  });

  test('one instrument acts on the difference alone, two act on each value (JCGM 100:2008, 5.2)', async () => {
    const day = (month: string) =>
      both
        .rows('sample')
        .filter((s) => s.taken_utc?.startsWith(`2026-${month}`) === true)
        .map((s) => s.id);
    const instrument = (label: string) => {
      setInstrument(both, { id: null, instrument: { ...METER, label } });
      return both.rows('instrument').find((i) => i.label === label)?.id ?? '';
    };
    const uOf = async () => {
      const { summary } = await compareSurveys(both, jobs, dates, context, '0.1.0');
      const [p1] = summary.probes;
      return { u: p1?.change?.uKBqPerM3 ?? Number.NaN, method: summary.method.join(' ') };
    };
    const a = instrument('Meter A');
    setHandling(both, { sampleIds: [...day('05'), ...day('10')], handling: { instrumentId: a } });
    const one = await uOf();
    setHandling(both, { sampleIds: day('10'), handling: { instrumentId: instrument('Meter B') } });
    const two = await uOf();
    // P1 of the sample lot: 20 with u 1.4, and the same 60 higher with the same u.
    const random = Math.hypot(1.4, 1.4);
    expect(one.u).toBeCloseTo(Math.hypot(random, 0.1 * 60), 6);
    expect(two.u).toBeCloseTo(Math.hypot(random, 0.1 * 20, 0.1 * 80), 6);
    expect(one.method).toContain('One calibration is taken to serve both sides (10 %');
    expect(two.method).toContain('Each side has its own calibration');
  });

  test('days without a sample, and days that overlap, are refused', async () => {
    const compare = (earlier: object, later: object) =>
      compareSurveys(both, jobs, { kind: 'dates', earlier, later }, context, '0.1.0');
    await expect(compare({ to: '2020-01-01' }, { from: '2026-08-01' })).rejects.toThrow(
      /no sample from the start to 2020-01-01/,
    );
    await expect(compare({ to: '2026-08-01' }, { from: '2026-08-01' })).rejects.toThrow(/overlap/);
  });
});

test('how likely so many clear probes are by chance: binomial with p = 0.0455', () => {
  // 1 - 0.9545^20 and, for two or more of three, 3 p^2 (1 - p) + p^3.
  expect(chanceOfSoMany(1, 20)).toBeCloseTo(1 - 0.9545 ** 20, 12);
  expect(chanceOfSoMany(2, 3)).toBeCloseTo(3 * 0.0455 ** 2 * 0.9545 + 0.0455 ** 3, 12);
  expect(chanceOfSoMany(0, 5)).toBe(1);
});
