/** From the printed code to the sample: the table that goes out empty comes back filled in. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Papa from 'papaparse';
import { afterAll, afterEach, beforeAll, beforeEach, expect, test } from 'vitest';
import { createJobRunner, type JobRunner } from '../../../core/jobs/runner.ts';
import { setLot } from '../../../core/project/edit.ts';
import { codesOf, gatherSheets, saveReturnTable } from '../../../core/project/field-sheets.ts';
import { commitImport } from '../../../core/project/import-files.ts';
import { importInstruments } from '../../../core/project/import-instruments.ts';
import { importReadings } from '../../../core/project/import-readings.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { acceptPlan } from '../../../core/project/plan-probes.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';
import { INSTRUMENTS_CSV } from './counted-day.ts';

const context = { signal: new AbortController().signal, onProgress: () => {} };
let folder: string;
let store: ProjectStore;
let jobs: JobRunner;

beforeAll(() => {
  jobs = createJobRunner({ threads: 1 });
});
afterAll(() => jobs.close());

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-return-'));
  const crs = { kind: 'local', unit: 'ft', label: 'Grid' } as const;
  store = newProject({ path: join(folder, 'a.gasplat'), name: 'A', crs, actor: 'tester' });
  const corners = [
    [0, 0],
    [120, 0],
    [120, 90],
    [0, 90],
  ] as const;
  setLot(store, corners, null, 'entered');
  const probes = Array.from({ length: 6 }, (_, i) => {
    return { label: `P${i + 1}`, native: [10 + 20 * i, 20] as const, added: false };
  });
  acceptPlan(store, probes, 0.8, false);
});

afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

type Row = Record<string, string>;

async function emptyTable(): Promise<Row[]> {
  const path = join(folder, 'return.csv');
  await saveReturnTable(store, jobs, path, {}, context);
  const { data } = Papa.parse<Row>(readFileSync(path, 'utf8'), {
    header: true,
    comments: '#',
    skipEmptyLines: true,
  });
  return data;
}

function bring(rows: readonly Row[], name = 'back.csv') {
  const path = join(folder, name);
  writeFileSync(path, Papa.unparse([...rows]));
  return commitImport(store, path, {});
}

test('the empty table holds the codes of the sheets in their order, and brings nothing back by itself', async () => {
  const rows = await emptyTable();
  const sheets = await gatherSheets(store, jobs, { form: 'list' }, context, '0.0.0');
  expect(rows.map((r) => [r['Code'], r['Probe']])).toEqual(sheets.probes.map((p) => [p.code, p.label]));
  expect(Object.keys(rows[0] ?? {})).toContain('Suction (in. H2O)');
  const report = commitImport(store, join(folder, 'return.csv'), {});
  expect(report).toMatchObject({ probesAdded: 0, probesMet: 0, samplesAdded: 0 });
  expect(report.issues.filter((i) => i.severity === 'error')).toEqual([]);
  expect(report.issues.map((i) => i.message).join()).toMatch(/6 rows of return\.csv are not filled in/);
  expect(store.rows('probe').every((p) => p.state === 'planned')).toBe(true);
});

test('filled in: samples find their probes by the code whatever the label says, offsets and states are taken', async () => {
  const rows = await emptyTable();
  const of = (label: string, filled: Row): Row => {
    const row = rows.find((r) => r['Probe'] === label);
    return { ...(row ?? {}), ...filled };
  };
  const radon = (value: string) => ({ 'Radon (kBq/m3)': value, 'Standard uncertainty (kBq/m3)': '2' });
  const report = bring([
    // A label in the crew's own hand, the code in small letters without dashes.
    of('P1', {
      Probe: 'by the gate',
      Code: (rows[0]?.['Code'] ?? '').toLowerCase().replaceAll('-', ''),
      ...radon('31'),
    }),
    of('P2', {
      'Offset east (ft)': '3',
      'Offset north (ft)': '-1.5',
      'Depth (ft)': '2.5',
      'Suction (in. H2O)': '4',
      ...radon('18'),
    }),
    of('P2', { Kind: 'duplicate', Remark: 'second draw', ...radon('19') }),
    of('P3', { State: 'refused', Remark: 'stone' }),
    of('P4', { State: 'abandoned', Remark: 'service mark' }),
    of('P5', {}),
    of('P6', { Probe: '', ...radon('27') }),
  ]);
  expect(report.issues.filter((i) => i.severity === 'error')).toEqual([]);
  expect(report).toMatchObject({ probesAdded: 0, probesMet: 5, samplesAdded: 6 });
  expect(report.issues.find((i) => i.row === 2)?.message).toMatch(
    /the row says 'by the gate'; the code decides/,
  );
  const view = buildView(store);
  const probe = (label: string) => view.probes.find((p) => p.label === label);
  expect(view.probes.map((p) => [p.label, p.state])).toEqual([
    ['P1', 'driven'],
    ['P2', 'driven'],
    ['P3', 'refused'],
    ['P4', 'abandoned'],
    ['P5', 'planned'],
    ['P6', 'driven'],
  ]);
  // Planned at (30, 20) ft; 3 ft east and 1.5 ft south of it. 2.5 ft are 0.762 m (international foot, exact).
  expect(probe('P2')?.native[0]).toBeCloseTo(33, 9);
  expect(probe('P2')?.native[1]).toBeCloseTo(18.5, 9);
  expect(probe('P2')?.depthM).toBeCloseTo(0.762, 12);
  const values = view.samples.map((s) => [
    view.probes.find((p) => p.id === s.probeId)?.label,
    s.kind,
    s.radonKBqPerM3,
  ]);
  expect(values).toEqual([
    ['P1', 'grab', 31],
    ['P2', 'grab', 18],
    ['P2', 'duplicate', 19],
    ['P3', 'grab', null],
    ['P4', 'grab', null],
    ['P6', 'grab', 27],
  ]);
});

test('a mistyped code costs its row, with row, field and the code it may have been', async () => {
  const rows = await emptyTable();
  const [first, second] = rows;
  const code = first?.['Code'] ?? '';
  const wrong = `${code.slice(0, 3)}${code[3] === '7' ? '8' : '7'}${code.slice(4)}`;
  const filled = { 'Radon (kBq/m3)': '30', 'Standard uncertainty (kBq/m3)': '2' };
  const report = bring([
    { ...first, ...filled, Code: wrong },
    { ...second, ...filled },
  ]);
  expect(report).toMatchObject({ probesMet: 1, samplesAdded: 1 });
  const [issue] = report.issues.filter((i) => i.severity === 'error');
  expect(issue).toMatchObject({ row: 2, field: 'Code' });
  expect(issue?.message).toContain(`'${wrong}' is mistyped`);
  expect(issue?.message).toContain(`perhaps ${code} (probe 'P1')`);
});

test('codes outlive a new label, and die with their probe', async () => {
  const before = [...codesOf(store).values()];
  const [probe] = store.rows('probe');
  store.change('test', 'rename', (tx) => tx.update('probe', probe?.id ?? '', { label: 'North corner' }));
  expect([...codesOf(store).values()]).toEqual(before);
  const rows = await emptyTable();
  expect(rows[0]).toMatchObject({ Code: before[0], Probe: 'North corner' });
  acceptPlan(store, [{ label: 'R1', native: [10, 20], added: false }], 0.8, true);
  const report = bring([{ ...rows[0], 'Radon (kBq/m3)': '30' }]);
  expect(report.samplesAdded).toBe(0);
  // No code of the new plan is like it, yet it is one of ours: sound, and gone.
  expect(report.issues.find((i) => i.severity === 'error')?.message).toMatch(
    /no probe of this project has it: perhaps of a plan that was replaced/,
  );
});

test("a file with a column 'Code' of its own comes in as before", () => {
  const report = bring([
    { Probe: 'P1', Code: 'S-001', 'Radon (kBq/m3)': '30', 'u (kBq/m3)': '2' },
    { Probe: 'P2', Code: 'S-002', 'Radon (kBq/m3)': '31', 'u (kBq/m3)': '2' },
  ]);
  expect(report).toMatchObject({ probesMet: 2, samplesAdded: 2 });
  expect(report.issues.find((i) => i.field === 'Code')?.message).toMatch(/holds no codes of field sheets/);
});

test('probes in no walking order, as from a file, are walked by a short round; the sheet says which it is', async () => {
  const here = [0, 5, 1, 4, 2, 3].map((k, i) => {
    return { label: `F${i + 1}`, native: [10 + 20 * k, i % 2 === 0 ? 20 : 70] as const, added: false };
  });
  expect((await gatherSheets(store, jobs, { form: 'list' }, context, '0')).orderWords).toMatch(/laid out/);
  acceptPlan(store, here, 0.8, true);
  const sheets = await gatherSheets(store, jobs, { form: 'list' }, context, '0');
  expect(sheets.orderWords).toMatch(/short walk, not the order of the numbers/);
  const lengthOf = (places: readonly (readonly [number, number])[]) =>
    places.reduce((sum, [x, y], i) => {
      const [u, v] = places[(i + 1) % places.length] ?? [x, y];
      return sum + Math.hypot(u - x, v - y);
    }, 0);
  const walked = [sheets.startM, ...sheets.probes.map((p) => p.positionM)];
  expect(lengthOf(walked)).toBeCloseTo(sheets.walkM, 6);
  const asGiven = buildView(store).probes.map((p) => p.positionM);
  expect(sheets.walkM).toBeLessThan(lengthOf([sheets.startM, ...asGiven]));
});

test('rounds for two instruments take every probe once, each from the probe nearer the start', async () => {
  const rounds = { instruments: 2, days: 1, minutesPerTest: 20 };
  const sheets = await gatherSheets(store, jobs, { form: 'list', rounds }, context, '0');
  expect(sheets.rounds.map((r) => r.name)).toEqual(['day 1, instrument 1', 'day 1, instrument 2']);
  expect(sheets.rounds.reduce((sum, r) => sum + r.count, 0)).toBe(6);
  expect(sheets.probes.map((p) => p.label).sort()).toEqual(['P1', 'P2', 'P3', 'P4', 'P5', 'P6']);
  const away = (i: number) => {
    const [x, y] = sheets.probes[i]?.positionM ?? [Number.NaN, Number.NaN];
    return Math.hypot(x - sheets.startM[0], y - sheets.startM[1]);
  };
  const first = sheets.rounds[0]?.count ?? 0;
  expect(away(0)).toBeLessThanOrEqual(away(first - 1));
  expect(away(first)).toBeLessThanOrEqual(away(5));
});

test('counts find their probe by the code as well; a slip costs the row', async () => {
  const [first, second] = await emptyTable();
  const put = (name: string, content: string) => {
    writeFileSync(join(folder, name), content);
    return join(folder, name);
  };
  bring([
    { ...first, 'Radon (kBq/m3)': '', Remark: 'counted', Taken: '2026-05-06T08:00:00Z' },
    { ...second, 'Radon (kBq/m3)': '', Remark: 'counted', Taken: '2026-05-06T09:00:00Z' },
  ]);
  importInstruments(store, put('i.csv', INSTRUMENTS_CSV));
  const slip = `${second?.['Code']?.slice(0, -1)}0`;
  const counts = put(
    'c.csv',
    `Code,Probe,Start (s),Length (s),Counts\n${first?.['Code']},hole 1,600,300,900\n${slip},,600,300,900\n`,
  );
  const report = importReadings(store, counts);
  expect(report).toMatchObject({ readingsAdded: 1, samplesRead: 1, samplesAdded: 0 });
  const [issue] = report.issues.filter((i) => i.severity === 'error');
  expect(issue).toMatchObject({ row: 3, field: 'Code' });
  expect(issue?.message).toContain(`perhaps ${second?.['Code']} (probe 'P2')`);
  const [reading] = store.rows('reading');
  const sample = store.rows('sample').find((s) => s.id === reading?.sample_id);
  expect(store.rows('probe').find((p) => p.id === sample?.probe_id)?.label).toBe('P1');
});
