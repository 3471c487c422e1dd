import { join } from 'node:path';
import Database from 'better-sqlite3';
import { expect, test, vi } from 'vitest';
import { buildNewest, loadMigrations } from '../../core/store/migrate.ts';
import { createProject, openProject } from '../../core/store/open-project.ts';
import { newProbe, newSample, projectFields, tempFolder } from '../core/store/fixtures.ts';

vi.setConfig({ testTimeout: 60_000 });

const upTo = (version: number) => loadMigrations().filter((m) => m.version <= version);

/** A closed project as the program before readings wrote it. */
function oldProject(): string {
  const path = join(tempFolder(), 'old.gasplat');
  const store = createProject(path, { actor: 'Ann Example', project: projectFields, migrations: upTo(10) });
  store.change('import.commit', 'Three samples', (tx) => {
    for (const [number, radon] of [
      [1, 21.5],
      [2, 33.25],
      [3, null],
    ] as const) {
      const probe = tx.insert('probe', newProbe(`P${number}`, { driven_x: number, driven_y: 2 }));
      const sample = tx.insert('sample', newSample(probe, { radon_kbq_per_m3: radon }));
      if (radon === null)
        tx.insert('reading', { sample_id: sample, start_s: 60, length_s: 300, counts: 812 });
    }
  });
  store.close();
  return path;
}

test('a file of version 10 keeps its rows and its record, and takes instruments from then on', () => {
  const path = oldProject();
  const store = openProject(path, { actor: 'Bo Example', migrations: upTo(100) });
  expect(store.rows('sample').map((s) => s.radon_kbq_per_m3)).toEqual([21.5, 33.25, null]);
  expect(store.rows('sample')[0]).toMatchObject({
    instrument_id: null,
    air_correction: null,
    fill_way: null,
  });
  expect(store.rows('reading')).toMatchObject([{ counts: 812, live_s: null, source_row: null }]);
  expect(store.rows('instrument')).toEqual([]);
  expect(store.record()[0]).toMatchObject({ command: 'project.migrate' });
  expect(store.verifyRecord()).toMatchObject({ intact: true });

  const [first, second] = store.rows('sample');
  store.change('instrument.set', 'Cell A', (tx) => {
    const id = tx.insert('instrument', {
      label: 'Cell A',
      detector: 'alpha',
      counts_per_alpha: 0.7,
      chamber_ml: 250,
      clock_offset_s: 0,
    });
    tx.insert('background', { instrument_id: id, window: 'alpha', counts: 12, live_s: 3600 });
    tx.update('sample', first?.id ?? '', { instrument_id: id });
    tx.update('sample', second?.id ?? '', { instrument_id: id, previous_sample_id: first?.id ?? '' });
  });
  expect(store.undo()).toBe('Cell A');
  expect(store.rows('background')).toEqual([]);
  expect(store.redo()).toBe('Cell A');
  expect(store.rows('background')).toHaveLength(1);
  expect(store.verifyRecord()).toMatchObject({ intact: true });
  store.close();
  const again = openProject(path, { readOnly: true, migrations: upTo(100) });
  expect(again.verifyRecord()).toMatchObject({ intact: true });
  expect(again.rows('instrument')).toHaveLength(1);
  again.close();
});

const CELL = "'i', 'Cell', 'alpha', 0.7, NULL, 250, NULL, 0.05, '2026-01-31', NULL, 0.02, 0.004, 1, 0, NULL";

test.each([
  ['an efficiency over one', CELL.replace('0.7', '1.2'), 'counts_per_alpha'],
  ['a chamber without volume', CELL.replace('250', '0'), 'chamber_ml'],
  ['a kind of detector that is none', CELL.replace("'alpha'", "'beta'"), 'detector'],
  ['windows of its own without saying which', CELL.replace("'alpha', 0.7", "'windows', NULL"), 'windows'],
  ['more gas left than there was', CELL.replace('0.02', '2'), 'gas_left'],
  ['a day that is none', CELL.replace('2026-01-31', 'January'), 'calibrated_on'],
])('an instrument with %s is refused', (_what, values, part) => {
  const db = new Database(':memory:');
  buildNewest(db, upTo(100));
  db.exec(`INSERT INTO instrument VALUES (${CELL})`);
  db.exec('DELETE FROM instrument');
  expect(() => db.exec(`INSERT INTO instrument VALUES (${values})`)).toThrow(part);
});

test.each([
  ["carry_over = 'some'", 'carry_over'],
  ["air_correction = 'plug-flow tracer'", 'air_correction'],
  ["fill_way = 'poured'", 'fill_way'],
  ["fill_end_utc = 'noon'", 'fill_end_utc'],
  ['residual_share = 1', 'residual_share'],
])('a sample with %s is refused', (set, part) => {
  const db = new Database(':memory:');
  buildNewest(db, upTo(100));
  db.exec(`INSERT INTO probe (id, label, state, added) VALUES ('p', 'P1', 'driven', 0);
    INSERT INTO sample (id, probe_id, kind, said_fresh_air, said_water) VALUES ('s', 'p', 'grab', 0, 0)`);
  expect(() => db.exec(`UPDATE sample SET ${set}`)).toThrow(part);
});
