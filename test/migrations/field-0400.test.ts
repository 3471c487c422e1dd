import { join } from 'node:path';
import Database from 'better-sqlite3';
import { expect, test, vi } from 'vitest';
import { buildNewest, loadMigrations } from '../../core/store/migrate.ts';
import { createProject, openProject } from '../../core/store/open-project.ts';
import { newProbe, newSample, projectFields, tempFolder } from '../core/store/fixtures.ts';

vi.setConfig({ testTimeout: 60_000 });

const upTo = (version: number) => loadMigrations().filter((m) => m.version <= version);

test('a file of version 300 keeps its rows, says nothing of what nobody noted, and takes a log from then on', () => {
  const path = join(tempFolder(), 'old.gasplat');
  const old = createProject(path, { actor: 'Ann Example', project: projectFields, migrations: upTo(300) });
  old.change('import.commit', 'One sample', (tx) => {
    const probe = tx.insert('probe', newProbe('P1', { driven_x: 1, driven_y: 2 }));
    tx.insert('sample', newSample(probe, { radon_kbq_per_m3: 21.5 }));
  });
  old.close();
  const store = openProject(path, { actor: 'Bo Example', migrations: upTo(400) });
  expect(store.rows('sample')).toMatchObject([
    {
      radon_kbq_per_m3: 21.5,
      air_porosity: null,
      flow_ml_per_min: null,
      said_tight: null,
      said_dryer_spent: null,
      leak_test_passed: null,
    },
  ]);
  store.change('day.set', 'Log of 2030-05-02', (tx) => {
    const day = tx.insert('field_day', { day: '2030-05-02', rain_mm: 0 });
    tx.insert('field_event', { field_day_id: day, kind: 'dryer-fresh', at_utc: '2030-05-02T08:00:00Z' });
  });
  expect(store.undo()).toBe('Log of 2030-05-02');
  expect(store.rows('field_event')).toEqual([]);
  store.redo();
  expect(store.rows('field_event')).toHaveLength(1);
  expect(store.verifyRecord()).toMatchObject({ intact: true });
  store.close();
});

test.each([
  ['air_porosity = 25', 'air_porosity'],
  ['flow_ml_per_min = -1', 'flow_ml_per_min'],
  ['said_tight = 2', 'said_tight'],
  ["leak_test_passed = 'yes'", 'leak_test_passed'],
])('a sample with %s is refused', (set, part) => {
  const db = new Database(':memory:');
  buildNewest(db, upTo(400));
  db.exec(`INSERT INTO probe (id, label, state, added) VALUES ('p', 'P1', 'driven', 0);
    INSERT INTO sample (id, probe_id, kind, said_fresh_air, said_water) VALUES ('s', 'p', 'grab', 0, 0)`);
  expect(() => db.exec(`UPDATE sample SET ${set}`)).toThrow(part);
});

test.each([
  ["day = 'May'", 'day'],
  ['rain_mm = -1', 'rain_mm'],
  ["surface = 'muddy'", 'surface'],
  ['pressure_hpa = 101', 'pressure_hpa'],
  ['system_ml = 0', 'system_ml'],
])('a day with %s is refused', (set, part) => {
  const db = new Database(':memory:');
  buildNewest(db, upTo(400));
  db.exec("INSERT INTO field_day (id, day) VALUES ('d', '2030-05-02')");
  expect(() => db.exec(`UPDATE field_day SET ${set}`)).toThrow(part);
});
