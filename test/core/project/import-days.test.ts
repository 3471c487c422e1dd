import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test, vi } from 'vitest';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import { listDayLogs } from '../../../core/project/day-log.ts';
import { handlerTools } from '../../../core/project/handler-tools.ts';
import { importDays } from '../../../core/project/import-days.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { qualityHandlers } from '../../../core/project/quality-handlers.ts';
import { newProbe, newStore, tempFolder } from '../store/fixtures.ts';

vi.setConfig({ testTimeout: 60_000 });

function setUp() {
  const folder = tempFolder();
  const store = newStore(join(folder, 'days.gasplat'));
  const probeId = store.change('probe.add', 'Probe', (tx) => tx.insert('probe', newProbe('P1')));
  const take = (text: string, dryRun = false) => {
    const path = join(folder, 'days.csv');
    writeFileSync(path, text);
    return importDays(store, path, { dryRun });
  };
  return { store, probeId, take };
}

test('rows of a day make one log, in SI, with a decimal comma; the same file again changes nothing', () => {
  const { store, probeId, take } = setUp();
  // One inch is 25.4 mm and one kPa 10 hPa, exactly.
  const text = [
    'Day;Crew;Rain (in);Hours since rain (d);Surface;Pressure (kPa);Line volume (L);Fresh tape;Control probe;Time (UTC+2);Look',
    '2030-05-02;A. Sample;0,5;1,5;Wet;101,3;0,06;yes;p1;09:10;dryer fresh',
    '2030-05-02;;;;;;;;;12:40;line leaked',
    '2030-05-03;;0;;;;;;;;',
    '',
  ].join('\n');
  expect(take(text, true)).toMatchObject({ daysAdded: 2, looksAdded: 2 });
  expect(listDayLogs(store)).toEqual([]);
  expect(take(text)).toMatchObject({ daysAdded: 2, daysChanged: 0, looksAdded: 2, issues: [] });
  const [first, second] = listDayLogs(store);
  expect(first).toMatchObject({
    day: '2030-05-02',
    crew: 'A. Sample',
    rainMm: 12.7,
    hoursSinceRain: 36,
    surface: 'wet',
    pressureHPa: 1013,
    systemMl: 60,
    pumpedMl: null,
    freshTape: true,
    controlProbeId: probeId,
    events: [
      { kind: 'dryer-fresh', atUtc: '2030-05-02T07:10:00Z' },
      { kind: 'leak-failed', atUtc: '2030-05-02T10:40:00Z' },
    ],
  });
  expect(second).toMatchObject({ day: '2030-05-03', rainMm: 0, hoursSinceRain: null, crew: null });
  const { revision } = store;
  expect(take(text)).toMatchObject({ daysAdded: 0, daysChanged: 0, looksAdded: 0, rowsKnown: 3 });
  expect(store.revision).toBe(revision);
  // A later word on a day takes its place; what it leaves empty stays.
  expect(take('Day,Rain (mm)\n2030-05-02,14\n')).toMatchObject({ daysChanged: 1 });
  expect(listDayLogs(store)[0]).toMatchObject({ rainMm: 14, crew: 'A. Sample' });
  expect(store.undo()).toMatch(/Import the logs of 1 days/);
  expect(listDayLogs(store)[0]).toEqual(first);
});

test.each([
  ['Day,Rain (mm)\nsoon,3\n', 'Day', /'soon' is not a date/],
  ['Day,Rain (mm)\n2030-05-02,lots\n', 'Rain (mm)', /'lots' is not a number/],
  ['Day,Surface\n2030-05-02,muddy\n', 'Surface', /none of dry, moist, wet, frozen/],
  ['Day,Control probe\n2030-05-02,P9\n', 'Control probe', /no probe 'P9'/],
  ['Day,Fresh tape\n2030-05-02,old\n', 'Fresh tape', /neither yes nor no/],
  ['Day,Time (UTC),Look\n2030-05-02,09:00,dryer blue\n', 'Look', /'dryer blue' is none of/],
  ['Day,Time (UTC),Look\n2030-05-02,,dryer fresh\n', 'Time (UTC)', /needs its time/],
])('%j: the row is left out by name', (text, field, message) => {
  const { store, take } = setUp();
  expect(take(text).issues.find((i) => i.severity === 'error')).toMatchObject({
    file: 'days.csv',
    row: 2,
    field,
    message: expect.stringMatching(message),
  });
  expect(listDayLogs(store)).toEqual([]);
});

test('air in degrees Fahrenheit: 50 F are 10 C, exactly', () => {
  const { store, take } = setUp();
  expect(take('Day,Air temperature (°F)\n2030-05-02,50\n')).toMatchObject({ daysAdded: 1, issues: [] });
  expect(listDayLogs(store)[0]?.airTemperatureC).toBeCloseTo(10, 12);
});

test('two rows of a file that contradict each other: the second is left out', () => {
  const { store, take } = setUp();
  const report = take('Day,Rain (mm)\n2030-05-02,3\n2030-05-02,5\n');
  expect(report.issues).toMatchObject([{ severity: 'error', row: 3 }]);
  expect(listDayLogs(store)[0]?.rainMm).toBe(3);
});

test('asked by the window, a table is looked through first and then taken in as on the command line', async () => {
  const folder = tempFolder();
  const path = join(folder, 'days.csv');
  writeFileSync(path, 'Day,Rain (mm)\n2030-05-02,4\n2030-05-03,much\n');
  const crs = { kind: 'local', unit: 'm', label: 'stake' } as const;
  const store = newProject({ path: join(folder, 'a.gasplat'), name: 'Days', crs, actor: 'tester' });
  const told: number[] = [];
  const jobs = createJobRunner();
  const handlers = qualityHandlers(
    handlerTools({ jobs, version: '0', current: () => store, onChanged: (revision) => told.push(revision) }),
  );
  const context = { signal: new AbortController().signal, onProgress: () => {} };
  const looked = await handlers['day.import']({ path, dryRun: true }, context);
  expect(looked.report).toMatchObject({ daysAdded: 1, issues: [{ severity: 'error', row: 3 }] });
  expect([told, listDayLogs(store)]).toEqual([[], []]);
  const taken = await handlers['day.import']({ path }, context);
  expect(taken.report).toEqual(looked.report);
  expect(told).toEqual([store.revision]);
  expect(taken.view.canUndo).toMatch(/Import the logs of 1 days/);
  store.close();
  await jobs.close();
});
