import { mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import Database from 'better-sqlite3';
import { describe, expect, test, vi } from 'vitest';
import {
  buildNewest,
  checkOrder,
  loadMigrations,
  type Migration,
  versionOf,
} from '../../../core/store/migrate.ts';
import { openProject } from '../../../core/store/open-project.ts';
import { fileHash, refusalOf, smallProject, tempFolder } from './fixtures.ts';

// Every save waits for the disk, which other work may hold up.
vi.setConfig({ testTimeout: 60_000 });

const known = loadMigrations();
const next = (sql: string): readonly Migration[] => [
  ...known,
  { version: (known.at(-1)?.version ?? 0) + 10, name: 'made-up', sql },
];
const nextVersion = (known.at(-1)?.version ?? 0) + 10;

describe('order', () => {
  test('numbers rise in tens', () => {
    const at = (...versions: number[]) => versions.map((version) => ({ version, name: 'x', sql: '' }));
    checkOrder(at(10, 20, 40));
    for (const wrong of [at(), at(20, 10), at(10, 10), at(10, 15)])
      expect(refusalOf(() => checkOrder(wrong)).code).toBe('INTERNAL');
  });

  test('files are read by number, and a misnamed one is not skipped', () => {
    const folder = join(tempFolder(), 'm');
    mkdirSync(folder);
    writeFileSync(join(folder, '0020_b.sql'), 'CREATE TABLE b (x)');
    writeFileSync(join(folder, '0010_a.sql'), 'CREATE TABLE a (x)');
    expect(loadMigrations(folder).map((migration) => migration.name)).toEqual(['a', 'b']);
    writeFileSync(join(folder, '30-c.sql'), '');
    expect(refusalOf(() => loadMigrations(folder)).message).toContain('30-c.sql');
  });
});

describe('an older file', () => {
  const migrations = next(`
    ALTER TABLE probe ADD COLUMN rod_m REAL;
    UPDATE probe SET soil = 'unknown';
    CREATE TABLE photo (id TEXT PRIMARY KEY, probe_id TEXT NOT NULL REFERENCES probe (id)) STRICT;
  `);

  test('is copied, brought forward with its rows, and cannot be undone behind it', () => {
    const folder = tempFolder();
    const path = smallProject(folder);
    const before = fileHash(path);
    const store = openProject(path, { actor: 'Bo Example', migrations });
    const backup = `${path}.before-${String(nextVersion).padStart(4, '0')}.bak`;
    expect(fileHash(backup)).toBe(before);
    expect(store.rows('probe')).toHaveLength(12);
    expect(store.rows('probe')[0]).toMatchObject({
      label: 'P1',
      rod_m: null,
      soil: 'unknown',
      driven_x: 5.1,
    });
    expect(store.record()[0]).toMatchObject({ command: 'project.migrate', actor: 'Bo Example' });
    expect(store.canUndo()).toBeNull();
    expect(store.verifyRecord()).toMatchObject({ intact: true });
    store.change('probe.set', 'Soil', (tx) =>
      tx.update('probe', store.rows('probe')[0]?.id ?? '', { soil: 'gravel' }),
    );
    store.undo();
    expect(store.rows('probe')[0]?.soil).toBe('unknown');
    store.close();

    // The program of before refuses the new file and still opens the copy.
    expect(refusalOf(() => openProject(path, { actor: 'Bo' })).code).toBe('STORE_NEWER');
    const old = openProject(backup, { actor: 'Bo' });
    expect(old.canUndo()).toBe('Probe 12');
    old.close();
    const again = openProject(path, { actor: 'Bo', migrations });
    expect(again.verifyRecord()).toMatchObject({ intact: true });
    again.close();
    expect(readdirSync(folder).sort()).toEqual([basename(path), basename(backup)].sort());
  });

  test('stays as it was where the migration fails', () => {
    const folder = tempFolder();
    const path = smallProject(folder);
    const before = fileHash(path);
    for (const sql of [
      'UPDATE probe SET soil = 1; SELECT broken',
      'COMMIT',
      "DELETE FROM probe WHERE label = 'P1'",
    ]) {
      expect(refusalOf(() => openProject(path, { actor: 'Bo', migrations: next(sql) })).code).toBe(
        'INTERNAL',
      );
      expect(fileHash(path)).toBe(before);
      expect(readdirSync(folder)).toEqual([basename(path)]);
    }
    openProject(path, { actor: 'Bo' }).close();
  });

  test('is not brought forward by reading', () => {
    const path = smallProject(tempFolder());
    const before = fileHash(path);
    expect(refusalOf(() => openProject(path, { readOnly: true, migrations })).message).toContain(
      'Open it as a project once',
    );
    expect(fileHash(path)).toBe(before);
  });

  test('in memory, from each number to the next', () => {
    const db = new Database(':memory:');
    for (let count = 1; count <= migrations.length; count += 1) {
      buildNewest(db, migrations.slice(0, count));
      expect(versionOf(db)).toBe(migrations[count - 1]?.version);
    }
    db.close();
  });
});
