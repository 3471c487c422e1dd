import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { DrawTest } from '../../../core/contract/draw-test.ts';
import type { Input, Output } from '../../../core/contract/requests.ts';
import type { Engine } from '../../../core/project/engine.ts';
import { resourcePath } from '../../../core/resources.ts';
import { standardDrawNumbers } from '../../../core/survey/draw-numbers.ts';
import { asking, newTestEngine } from './engine-asking.ts';

let folder: string;
let engine: Engine;
const { ask } = asking(() => engine);
const MINE = () => join(folder, 'mine.gasplat');
const THEIRS = () => join(folder, 'theirs.gasplat');

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-merge-'));
  engine = newEngine('first crew');
});

afterEach(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

const newEngine = (actor: string) => newTestEngine({ actor });

function file(name: string, content: string): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

const HEAD =
  'Probe,Easting (m),Northing (m),Depth (m),Taken (UTC),Radon (kBq/m3),Standard uncertainty (kBq/m3),Soil,Remark';
const sheet = (...rows: string[]) => `${[HEAD, ...rows].join('\n')}\n`;
const importSheet = (name: string, text: string) =>
  ask('import.commit', { path: file(name, text), options: {} });

/** Works on a project as another person, and closes it. */
async function asColleague(path: string, work: () => Promise<unknown>): Promise<void> {
  await engine.close();
  engine = newEngine('second crew');
  await ask('project.open', { path });
  await work();
  await engine.close();
  engine = newEngine('first crew');
}

/** Two crews start from copies of one project and go different ways. */
async function twoCrews() {
  await ask('project.create', { path: MINE(), name: 'Lot', crs: { kind: 'epsg', code: 32633 } });
  await importSheet(
    'common.csv',
    sheet(
      'P1,500000,5500000,0.8,2026-05-12 08:00,30,2,sand,',
      'P2,500010,5500000,0.8,2026-05-12 08:20,40,2,,',
    ),
  );
  await ask('project.close', {});
  copyFileSync(MINE(), THEIRS());
  await asColleague(THEIRS(), async () => {
    await importSheet(
      'south.csv',
      sheet(
        'P3,500000,5499990,0.8,2026-05-12 09:00,50,3,clay,theirs',
        'P4,500010,5499990,0.8,2026-05-12 09:20,60,3,clay,',
      ),
    );
    const { samples, probes } = await ask('project.view', {});
    const p1 = probes.find((p) => p.label === 'P1');
    const sampleIds = samples.filter((s) => s.probeId === p1?.id).map((s) => s.id);
    await ask('ruling.set', { sampleIds, verdict: 'lower-bound', reason: 'hissing at the collar' });
    await ask('instrument.set', { id: null, instrument: UNIT });
    await ask('readings.import', {
      path: file(
        'counts.csv',
        'Probe,Kind,Instrument,Fill end,Start (s),Length (s),Counts\nP4,repeat,Cell 7,2026-05-12T10:00:00Z,60,600,900\n',
      ),
    });
    await ask('keepout.set', {
      id: null,
      label: 'Gas pipe',
      shape: 'line',
      points: [
        [499990, 5500000],
        [500020, 5500000],
      ],
      bufferM: 1,
    });
  });
  await ask('project.open', { path: MINE() });
  await importSheet('mine.csv', sheet('P3,500000,5499995,0.8,2026-05-12 09:00,52,3,silt,mine'));
}

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

const DAY: Input<'day.set'>['log'] = {
  day: '2026-05-12',
  crew: null,
  rainMm: null,
  hoursSinceRain: null,
  surface: null,
  airTemperatureC: null,
  pressureHPa: null,
  pumpedMl: null,
  systemMl: null,
  freshTape: null,
  openingBackground: null,
  closingBackground: null,
  controlProbeId: null,
  note: null,
  events: [{ kind: 'dryer-fresh', atUtc: '2026-05-12T08:00:00Z', note: null }],
};

const radonOf = (view: Output<'project.view'>, label: string) => {
  const probe = view.probes.find((p) => p.label === label);
  return view.samples.filter((s) => s.probeId === probe?.id).map((s) => s.radonKBqPerM3);
};

test('what both crews did stands in one project: added, filled, conflicts as chosen, in one undoable change', async () => {
  await twoCrews();
  const before = await ask('project.view', {});
  const bytes = readFileSync(THEIRS());
  const preview = await ask('merge.preview', { path: THEIRS() });
  expect(preview.added).toMatchObject({
    probes: ['P4'],
    instruments: ['Cell 7'],
    keepOuts: ['Gas pipe'],
    files: ['counts.csv', 'south.csv'],
  });
  expect(preview.added.samples).toEqual(['P4', 'P4']);
  expect(preview.filled).toEqual([
    { what: 'A sample of probe P1', fields: ['ruling: lower-bound: hissing at the collar'] },
  ]);
  // 5 m apart, other soil; the sample of the same minute has another value and remark.
  expect(preview.conflicts.map((c) => [c.what, c.fields.map((f) => f.name)])).toEqual([
    ['Probe P3', ['place, m of the grid', 'soil']],
    ['A sample of probe P3', ['radon, kBq/m3', 'remark']],
  ]);
  expect(preview.conflicts[1]?.fields[0]).toEqual({ name: 'radon, kBq/m3', mine: '52', theirs: '50' });
  expect(preview.conflicts[1]?.under).toBe(preview.conflicts[0]?.key);
  expect((await ask('project.view', {})).revision).toBe(before.revision);

  const [probeKey = '', sampleKey = ''] = preview.conflicts.map((c) => c.key);
  const commit = (choices: Input<'merge.commit'>['choices']) =>
    ask('merge.commit', { path: THEIRS(), recordHash: preview.recordHash, choices });
  await expect(commit({ [probeKey]: { take: 'mine' } })).rejects.toThrow(
    /Not said yet: A sample of probe P3/,
  );
  const { view, report } = await commit({ [probeKey]: { take: 'mine' }, [sampleKey]: { take: 'theirs' } });
  expect(report).toMatchObject({ probesAdded: 1, samplesAdded: 2, readingsAdded: 1, recordsReplaced: 1 });
  expect(view.revision).toBe(before.revision + 1);
  expect(radonOf(view, 'P3')).toEqual([50]);
  expect(view.probes.find((p) => p.label === 'P3')).toMatchObject({
    native: [500000, 5499995],
    soil: 'silt',
  });
  expect(view.keepOuts.map((k) => k.label)).toEqual(['Gas pipe']);
  const ruled = view.assessments.find((a) => a.ruling !== null)?.ruling;
  expect(ruled?.reason).toMatch(/^hissing at the collar \(ruled by second crew, .* in theirs\.gasplat\)$/);
  // The counts came along with instrument and background: the value is theirs to the last digit.
  const counted = view.samples.find((s) => s.reduction?.basis === 'readings');
  expect(counted?.source?.file).toBe('counts.csv');
  await asColleague(THEIRS(), async () => {
    const theirs = await ask('project.view', {});
    const same = theirs.samples.find((s) => s.reduction?.basis === 'readings');
    expect(counted?.radonKBqPerM3).toBe(same?.radonKBqPerM3);
    expect(counted?.radonKBqPerM3).toBeGreaterThan(1);
  });
  expect(readFileSync(THEIRS()).equals(bytes)).toBe(true);

  await ask('project.open', { path: MINE() });
  const again = await ask('merge.preview', { path: THEIRS() });
  expect(again.added).toMatchObject({ probes: [], samples: [], instruments: [], keepOuts: [], files: [] });
  // Place and soil of P3 were left as mine.
  expect(again.conflicts.map((c) => c.what)).toEqual(['Probe P3']);
  const undone = await ask('record.undo', {});
  expect({ ...undone, revision: 0, canUndo: '', canRedo: '' }).toEqual({
    ...before,
    revision: 0,
    canUndo: '',
    canRedo: '',
  });
});

test('kept beside mine under a label of its own, their probe brings its sample along', async () => {
  await twoCrews();
  const preview = await ask('merge.preview', { path: THEIRS() });
  const [probeKey = ''] = preview.conflicts.map((c) => c.key);
  expect(preview.conflicts[0]?.newLabel).toBe('P3-2');
  const commit = (label: string) =>
    ask('merge.commit', {
      path: THEIRS(),
      recordHash: preview.recordHash,
      choices: { [probeKey]: { take: 'both', label } },
    });
  await expect(commit('p4')).rejects.toThrow(/The label "p4" is in use/);
  const { view } = await commit('P3 south');
  expect(radonOf(view, 'P3')).toEqual([52]);
  expect(radonOf(view, 'P3 south')).toEqual([50]);
  expect(view.probes.find((p) => p.label === 'P3 south')).toMatchObject({
    native: [500000, 5499990],
    soil: 'clay',
  });
});

test('a project that is damaged, newer, changed since, or my own is refused, and left as it is', async () => {
  await twoCrews();
  const preview = await ask('merge.preview', { path: THEIRS() });
  await asColleague(THEIRS(), () => ask('project.describe', { note: 'later' }));
  await ask('project.open', { path: MINE() });
  const choices = Object.fromEntries(preview.conflicts.map((c) => [c.key, { take: 'mine' as const }]));
  await expect(
    ask('merge.commit', { path: THEIRS(), recordHash: preview.recordHash, choices }),
  ).rejects.toThrow(/CONFLICT: theirs\.gasplat has changed since/);
  await expect(ask('merge.preview', { path: MINE() })).rejects.toThrow(/is the project that is open/);

  const bytes = readFileSync(THEIRS());
  const newer = Buffer.from(bytes);
  // user_version: bytes 60 to 63 of the header (sqlite.org/fileformat2.html, 1.3).
  newer.writeUInt32BE(999_990, 60);
  writeFileSync(THEIRS(), newer);
  await expect(ask('merge.preview', { path: THEIRS() })).rejects.toThrow(/STORE_NEWER/);
  const damaged = Buffer.from(bytes);
  const at = damaged.indexOf('hissing at the collar');
  damaged.write('hissing at the COLLAR', at);
  writeFileSync(THEIRS(), damaged);
  await expect(ask('merge.preview', { path: THEIRS() })).rejects.toThrow(/STORE_DAMAGED/);
  expect(readFileSync(THEIRS()).equals(damaged)).toBe(true);
});

// A project brought into an empty one must say the same as itself: every row, list and link came along.
test('brought into an empty project, theirs gives the same values, findings and days', async () => {
  const template = (name: string) => resourcePath('samples', 'templates', name);
  const create = (path: string) =>
    ask('project.create', { path, name: 'Lot', crs: { kind: 'local', unit: 'm', label: 'stake' } });
  await create(THEIRS());
  await ask('import.commit', { path: template('samples.csv'), options: {} });
  await ask('instrument.import', { path: template('instruments.csv') });
  await ask('readings.import', { path: template('readings.csv') });
  const counted = (await ask('project.view', {})).samples.filter((s) => s.reduction?.basis === 'readings');
  const [first, second] = counted;
  await ask('sample.handling', {
    sampleIds: [second?.id ?? ''],
    handling: { before: { sampleId: first?.id ?? '' } },
  });
  const values = 'Probe,Kind,Fill end,Start (s),Length (s),Radon (kBq/m3),Ingrowth (s)\n';
  const label = (await ask('project.view', {})).probes[0]?.label;
  await ask('readings.import', {
    path: file('v.csv', `${values}${label},repeat,2026-06-01T09:00:00Z,900,600,33,0\n`),
  });
  const theirs = await ask('project.view', {});
  await ask('project.close', {});

  await create(MINE());
  const preview = await ask('merge.preview', { path: THEIRS() });
  expect(preview.conflicts).toEqual([]);
  expect(preview.notes[0]).toMatch(/Both projects are on a local grid/);
  const { view } = await ask('merge.commit', { path: THEIRS(), recordHash: preview.recordHash, choices: {} });
  const plain = (v: typeof view) => ({
    probes: v.probes,
    samples: v.samples,
    assessments: v.assessments,
    marks: v.marks,
    frame: v.frame,
  });
  expect(theirs.samples.filter((s) => s.reduction?.basis === 'readings').length).toBeGreaterThan(5);
  expect(theirs.samples.filter((s) => s.reduction?.basis === 'values').length).toBe(1);
  expect(plain(view)).toEqual(plain(theirs));
});

test('days, keep-outs and instruments that differ go as chosen, and counts follow their own instrument', async () => {
  await ask('project.create', { path: MINE(), name: 'Lot', crs: { kind: 'epsg', code: 32633 } });
  await importSheet('common.csv', sheet('P1,500000,5500000,0.8,2026-05-12 08:00,30,2,sand,'));
  const pipe = (buffer: number) =>
    ask('keepout.set', {
      id: null,
      label: 'Gas pipe',
      shape: 'line',
      points: [
        [499990, 5500000],
        [500020, 5500000],
      ],
      bufferM: buffer,
    });
  const day = (crew: string, rainMm: number | null) =>
    ask('day.set', { id: null, log: { ...DAY, crew, rainMm } });
  await ask('project.close', {});
  copyFileSync(MINE(), THEIRS());
  await asColleague(THEIRS(), async () => {
    await pipe(2);
    await day('north', 4);
    await ask('instrument.set', { id: null, instrument: { ...UNIT, countsPerAlpha: 0.5 } });
    await importSheet('s.csv', sheet('P2,500010,5500000,0.8,2026-05-12 10:00,,,sand,'));
    await ask('readings.import', {
      path: file('c.csv', 'Probe,Fill end,Start (s),Length (s),Counts\nP2,2026-05-12T10:00:00Z,60,600,900\n'),
    });
  });
  await ask('project.open', { path: MINE() });
  await pipe(1);
  await day('south', null);
  await ask('instrument.set', { id: null, instrument: UNIT });
  const { conflicts, filled, recordHash } = await ask('merge.preview', { path: THEIRS() });
  expect(conflicts.map((c) => [c.what, c.fields.map((f) => f.name), c.allowsBoth])).toEqual([
    ['Instrument Cell 7', ['counts per alpha'], true],
    ['Keep-out Gas pipe', ['buffer, m'], true],
    ['Day 2026-05-12', ['crew'], false],
  ]);
  expect(filled).toEqual([{ what: 'Day 2026-05-12', fields: ['rain, mm: 4'] }]);
  const takes = ['both', 'theirs', 'theirs'] as const;
  const choices = Object.fromEntries(
    conflicts.map((c, i) => [c.key, { take: takes[i] ?? ('mine' as const) }]),
  );
  const { view } = await ask('merge.commit', { path: THEIRS(), recordHash, choices });
  expect(view.keepOuts.map((k) => [k.label, k.bufferM])).toEqual([['Gas pipe', 2]]);
  const { instruments } = await ask('instrument.list', {});
  expect(instruments.map((i) => [i.label, i.countsPerAlpha, i.sampleCount]).sort()).toEqual([
    ['Cell 7', 0.7, 0],
    ['Cell 7-2', 0.5, 1],
  ]);
  const { days } = await ask('day.list', {});
  expect(days.map((d) => [d.day, d.crew, d.rainMm])).toEqual([['2026-05-12', 'north', 4]]);
});

const CORNERS: [number, number][] = [
  [5, 5],
  [15, 5],
  [15, 12],
  [5, 12],
];
const control = (label: string, x: number, east: number) => ({
  label,
  local: [x, 0] as [number, number],
  mapped: [east, 5500000] as [number, number],
});

test('settings, placements and control points that differ are shown, stay mine unless chosen, and are undone as one', async () => {
  const crs = { kind: 'local', unit: 'm', label: 'stake' } as const;
  await ask('project.create', { path: MINE(), name: 'Lot', crs });
  await importSheet('common.csv', sheet('P1,10,10,0.8,2026-05-12 08:00,30,2,sand,'));
  await ask('footprint.set', { label: 'House', ring: CORNERS });
  await ask('control.set', {
    code: 32633,
    points: [control('A', 0, 500000), control('B', 100, 500100)],
  });
  await ask('project.close', {});
  copyFileSync(MINE(), THEIRS());
  const pose = { dxM: 2, dyM: -1, turnDeg: 30, mirrored: false };
  const drawTest: DrawTest = {
    ...standardDrawNumbers(),
    cavity: { kind: 'cylinder', lengthM: 0.05, diameterM: 0.012 },
    line: { kind: 'measured', lossPa: 30, atFlowMlPerMin: 1000 },
    meteredAt: 'line',
  };
  await asColleague(THEIRS(), async () => {
    const { settings } = await ask('project.view', {});
    await ask('settings.set', {
      settings: {
        ...settings,
        schemeId: 'swedish-ground-classes',
        raisedLimitId: 'silt',
        referenceDepthM: 1,
        drawTest,
        thresholds: { ...settings.thresholds, shallowDepthM: settings.thresholds.shallowDepthM + 0.1 },
        surface: { ...settings.surface, drift: 'linear' },
      },
    });
    await ask('placement.keep', { label: 'South', pose, choose: true });
    await ask('control.set', {
      code: 32633,
      points: [control('A', 0, 500000), control('B', 100, 500100.4), control('C', 50, 500050)],
    });
  });
  await ask('project.open', { path: MINE() });
  const before = await ask('project.view', {});
  const preview = await ask('merge.preview', { path: THEIRS() });
  expect(preview.conflicts).toEqual([]);
  expect(preview.differences.map((d) => d.what)).toEqual([
    'Scheme',
    'Reference depth',
    'Limits behind the findings',
    'Permeability from flow and suction',
    'How the surface is drawn',
    'Placement South',
    'Where the building stands',
    'Control point B',
    'Control point C',
  ]);
  expect(preview.differences[0]?.fields.map((f) => [f.name, f.mine])).toContainEqual([
    'limit raised for the ground',
    'nothing',
  ]);
  expect(preview.differences[0]?.hint).toMatch(/lowers the class/);
  expect(preview.differences[5]?.fields).toEqual([
    { name: 'place', mine: 'not kept', theirs: 'east 2.00 m, north -1.00 m, turned 30°' },
  ]);
  const commit = (what: readonly string[]) =>
    ask('merge.commit', {
      path: THEIRS(),
      recordHash: preview.recordHash,
      choices: Object.fromEntries(
        preview.differences.map((d) => [d.key, { take: what.includes(d.what) ? 'theirs' : 'mine' }] as const),
      ),
    });

  // Nothing chosen: nothing of it changes.
  const none = await commit([]);
  expect(none.view.settings).toEqual(before.settings);
  expect([none.view.footprint?.placements, none.report.differencesTaken]).toEqual([[], []]);
  // A choice for a place that is not kept itself says so beforehand and puts the building nowhere else.
  const alone = await commit(['Where the building stands']);
  expect(alone.view.footprint?.ring).toEqual(before.footprint?.ring);

  const taken = [
    'Scheme',
    'Reference depth',
    'Permeability from flow and suction',
    'Placement South',
    'Where the building stands',
    'Control point B',
  ];
  const { view, report } = await commit(taken);
  expect(view.settings).toEqual({
    ...before.settings,
    schemeId: 'swedish-ground-classes',
    raisedLimitId: 'silt',
    referenceDepthM: 1,
    drawTest,
  });
  expect(view.footprint?.placements).toMatchObject([{ label: 'South', pose, chosen: true }]);
  const points = (await ask('control.get', {})).control?.points ?? [];
  expect(points.map((p) => [p.label, p.mapped[0]])).toEqual([
    ['A', 500000],
    ['B', 500100.4],
  ]);
  expect(report.differencesTaken).toEqual(taken);
  expect(view.canUndo).toMatch(
    /taken as theirs: Scheme, Reference depth, Permeability from flow and suction, Placement South/,
  );
  const undone = await ask('record.undo', {});
  expect(undone.settings).toEqual(before.settings);
  expect(undone.footprint?.placements).toEqual([]);
  expect((await ask('control.get', {})).control?.points).toHaveLength(2);
});

test('another outline of the building comes with its own placements, or into a project that has none', async () => {
  const crs = { kind: 'epsg', code: 32633 } as const;
  await ask('project.create', { path: THEIRS(), name: 'Lot', crs });
  const at = (x: number, y: number): [number, number] => [500000 + x, 5500000 + y];
  const ring = [at(0, 0), at(12, 0), at(12, 8), at(0, 8)];
  await ask('footprint.set', { label: 'Barn', ring });
  await ask('placement.keep', {
    label: 'East',
    pose: { dxM: 5, dyM: 0, turnDeg: 0, mirrored: false },
    choose: false,
  });
  await ask('project.close', {});
  await ask('project.create', { path: MINE(), name: 'Lot', crs });
  const empty = await ask('merge.preview', { path: THEIRS() });
  expect(empty.differences).toEqual([]);
  expect(empty.notes).toContain('Their footprint comes in, as yours has none, with its placements.');
  const choices = { footprint: { take: 'theirs' } } as const;
  const first = await ask('merge.commit', { path: THEIRS(), recordHash: empty.recordHash, choices: {} });
  expect(first.view.footprint).toMatchObject({ label: 'Barn', placements: [{ label: 'East' }] });
  await ask('footprint.set', { label: 'House', ring: [at(0, 0), at(9, 0), at(9, 8), at(0, 8)] });
  await ask('placement.keep', {
    label: 'A',
    pose: { dxM: 1, dyM: 1, turnDeg: 0, mirrored: false },
    choose: true,
  });
  const { differences, recordHash } = await ask('merge.preview', { path: THEIRS() });
  expect(differences).toMatchObject([
    { key: 'footprint', hint: 'Your placements (A) are of your outline and go with it.' },
  ]);
  const kept = await ask('merge.commit', { path: THEIRS(), recordHash, choices: {} });
  expect(kept.view.footprint).toMatchObject({ label: 'House', placements: [{ label: 'A' }] });
  const { view } = await ask('merge.commit', { path: THEIRS(), recordHash, choices });
  expect(view.footprint).toMatchObject({ label: 'Barn', placements: [{ label: 'East', chosen: false }] });
  const back = await ask('record.undo', {});
  expect(back.footprint).toMatchObject({ label: 'House', placements: [{ label: 'A', chosen: true }] });
});
