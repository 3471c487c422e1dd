import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  copyFileSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { hostname } from 'node:os';
import { basename, join } from 'node:path';
import Database from 'better-sqlite3';
import { describe, expect, test, vi } from 'vitest';
import { AppError } from '../../../core/errors.ts';
import { loadMigrations } from '../../../core/store/migrate.ts';
import { createProject, openProject, type ReadableStore } from '../../../core/store/open-project.ts';
import { TABLES } from '../../../core/store/rows.ts';
import {
  fileHash,
  firstLine,
  newProbe,
  newStore,
  outputOf,
  projectFields,
  refusalOf,
  smallProject,
  startChild,
  tempFolder,
} from './fixtures.ts';

// Every save waits for the disk, which other work may hold up.
vi.setConfig({ testTimeout: 60_000 });

/** 3840 as a header holds it: no migration of this program has that number. */
const NEWEST_VERSION = loadMigrations().at(-1)?.version;
const NEWER_VERSION = [0, 0, 15, 0];

const open = (path: string) => openProject(path, { actor: 'Bo Example' });

/** Refused for work and for reading, with nothing in the folder changed or added. */
function expectRefusedUntouched(path: string, codes: readonly string[]): void {
  const folder = join(path, '..');
  const before = readdirSync(folder).map((name) => [name, fileHash(join(folder, name))]);
  expect(codes).toContain(refusalOf(() => open(path)).code);
  expect(codes).toContain(refusalOf(() => openProject(path, { readOnly: true })).code);
  expect(readdirSync(folder).map((name) => [name, fileHash(join(folder, name))])).toEqual(before);
}

function patchBytes(path: string, offset: number, bytes: readonly number[]): void {
  const content = readFileSync(path);
  content.set(bytes, offset);
  writeFileSync(path, content);
}

function placesOf(content: Buffer, value: Buffer): number[] {
  const places: number[] = [];
  for (let at = content.indexOf(value); at >= 0; at = content.indexOf(value, at + 1)) places.push(at);
  return places;
}

describe('making', () => {
  test('leaves one file, with our application_id and the last migration as user_version', () => {
    const folder = tempFolder();
    const path = join(folder, 'new.gasplat');
    newStore(path).close();
    expect(readdirSync(folder)).toEqual(['new.gasplat']);
    // Offsets 60 and 68: https://www.sqlite.org/fileformat2.html section 1.3
    const header = readFileSync(path);
    expect(header.subarray(68, 72).toString('latin1')).toBe('GSPL');
    expect(header.readUInt32BE(60)).toBe(NEWEST_VERSION);
  });

  test('never replaces a file', () => {
    const path = smallProject(tempFolder());
    const hash = fileHash(path);
    const refusal = refusalOf(() => createProject(path, { actor: 'Bo', project: projectFields }));
    expect(refusal.code).toBe('BAD_INPUT');
    expect(refusal.message).toContain(path);
    expect(fileHash(path)).toBe(hash);
  });

  test('names a folder that is not there', () => {
    const path = join(tempFolder(), 'nowhere', 'new.gasplat');
    const refusal = refusalOf(() => createProject(path, { actor: 'Bo', project: projectFields }));
    expect(refusal.message).toMatch(/folder .*nowhere" does not exist/);
  });

  test('a refused row leaves no file', () => {
    const folder = tempFolder();
    const project = { ...projectFields, name: ' ' };
    expect(refusalOf(() => createProject(join(folder, 'a.gasplat'), { actor: 'Bo', project })).code).toBe(
      'BAD_INPUT',
    );
    expect(readdirSync(folder)).toEqual([]);
  });
});

describe('the connection', () => {
  test('has the settings that make a save last', () => {
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    const { db } = store as unknown as { db: Database.Database };
    const value = (name: string) => db.pragma(name, { simple: true });
    expect(value('journal_mode')).toBe('delete');
    expect(value('locking_mode')).toBe('exclusive');
    expect(value('synchronous')).toBe(3); // EXTRA
    expect(value('foreign_keys')).toBe(1);
    expect(value('trusted_schema')).toBe(0);
    expect(value('cell_size_check')).toBe(1);
  });

  test('reading only cannot write', () => {
    const path = smallProject(tempFolder());
    const store = openProject(path, { readOnly: true });
    const { db } = store as unknown as { db: Database.Database };
    expect(() => db.exec("INSERT INTO actor VALUES ('x', 'x')")).toThrow(/readonly/);
    expect(store.rows('probe')).toHaveLength(12);
    store.close();
  });
});

describe('a file that is not for this program', () => {
  test('a newer version', () => {
    const path = smallProject(tempFolder());
    patchBytes(path, 60, NEWER_VERSION);
    const refusal = refusalOf(() => open(path));
    expect(refusal.message).toContain(
      `newer Gasplat (file version 3840; this program knows up to ${NEWEST_VERSION})`,
    );
    expectRefusedUntouched(path, ['STORE_NEWER']);
  });

  test('a version that never was', () => {
    const path = smallProject(tempFolder());
    patchBytes(path, 60, [0, 0, 0, 7]);
    expectRefusedUntouched(path, ['STORE_DAMAGED']);
  });

  test('an SQLite file of another program', () => {
    const path = join(tempFolder(), 'other.gasplat');
    new Database(path).exec('CREATE TABLE t (x)').close();
    expectRefusedUntouched(path, ['STORE_FOREIGN']);
  });

  test('a spreadsheet text', () => {
    const path = join(tempFolder(), 'sheet.gasplat');
    writeFileSync(path, 'label;radon\nP1;12\n'.repeat(50));
    expectRefusedUntouched(path, ['STORE_FOREIGN']);
  });

  test('nothing, and a folder', () => {
    const folder = tempFolder();
    expect(refusalOf(() => open(join(folder, 'none.gasplat'))).code).toBe('NOT_FOUND');
    expect(refusalOf(() => open(folder)).code).toBe('BAD_INPUT');
  });

  test('ours in name, with a table more or a trigger less', () => {
    const folder = tempFolder();
    for (const sql of ['CREATE TABLE extra (x)', 'DROP TRIGGER record_never_updated']) {
      const path = smallProject(folder, `${sql.length}.gasplat`);
      new Database(path).exec(sql).close();
      expectRefusedUntouched(path, ['STORE_DAMAGED']);
    }
  });

  test('switched to a write-ahead log', () => {
    const path = smallProject(tempFolder());
    const db = new Database(path);
    db.pragma('journal_mode = WAL');
    db.close();
    expectRefusedUntouched(path, ['STORE_DAMAGED']);
  });
});

describe('damage', () => {
  test('cut short anywhere', () => {
    const folder = tempFolder();
    const whole = smallProject(folder);
    const size = readFileSync(whole).length;
    const path = join(folder, 'cut.gasplat');
    for (const length of [0, 10, 60, 99, 100, 4096, 5000, size - 4096, size - 1]) {
      copyFileSync(whole, path);
      truncateSync(path, length);
      expectRefusedUntouched(path, ['STORE_DAMAGED']);
    }
  });

  /** Whether opening finds the damage; where it does not, every row must be as in the whole file. */
  function findsDamage(path: string, content: Buffer, expected: string): boolean {
    writeFileSync(path, content);
    try {
      const store = open(path);
      const { intact } = store.verifyRecord();
      const rows = rowsText(store);
      store.close();
      if (intact) expect(rows).toBe(expected);
      return !intact;
    } catch (error) {
      if (!(error instanceof AppError)) throw error;
      expect(['STORE_DAMAGED', 'STORE_FOREIGN', 'STORE_NEWER']).toContain(error.code);
      expect(readFileSync(path).equals(content)).toBe(true);
      return true;
    }
  }

  const rowsText = (store: ReadableStore) => JSON.stringify(TABLES.map((table) => store.rows(table)));

  function wholeProject() {
    const folder = tempFolder();
    const whole = smallProject(folder);
    const store = openProject(whole, { readOnly: true });
    const expected = rowsText(store);
    store.close();
    return { content: readFileSync(whole), expected, path: join(folder, 'changed.gasplat') };
  }

  test('one byte flipped anywhere is found, or lies where it changes nothing', () => {
    const { content, expected, path } = wholeProject();
    let found = 0;
    const step = Math.floor(content.length / 150);
    for (let offset = 0; offset < content.length; offset += step) {
      const flipped = Buffer.from(content);
      flipped[offset] = (flipped[offset] ?? 0) ^ 0x41;
      if (findsDamage(path, flipped, expected)) found += 1;
    }
    expect(found).toBeGreaterThan(15);
  });

  test('a changed value of a row is found', () => {
    const { content, expected, path } = wholeProject();
    const radon = Buffer.alloc(8);
    radon.writeDoubleBE(10 + 7 / 3);
    for (const value of [radon, Buffer.from('P7'), Buffer.from('driven'), Buffer.from('Invented lot')]) {
      // Splitting a page leaves a dead copy behind, so not every place holds a row.
      const found = placesOf(content, value).filter((place) => {
        const changed = Buffer.from(content);
        const last = place + value.length - 1;
        changed[last] = (changed[last] ?? 0) ^ 1;
        return findsDamage(path, changed, expected);
      });
      expect(found.length).toBeGreaterThan(0);
    }
  });
});

describe('a write cut short', () => {
  async function hotProject(folder: string): Promise<string> {
    const path = smallProject(folder);
    await outputOf(startChild('die-mid-write', path));
    // Magic of a journal that will be played back: https://www.sqlite.org/fileformat2.html section 3
    expect(readFileSync(`${path}-journal`).subarray(0, 8).toString('hex')).toBe('d9d505f920a163d7');
    return path;
  }

  test('is rolled back when the file is opened for work', async () => {
    const folder = tempFolder();
    const twin = fileHash(smallProject(folder, 'twin.gasplat'));
    const path = await hotProject(folder);
    expect(fileHash(path)).not.toBe(twin);
    const store = open(path);
    expect(store.recovered).toBe(true);
    expect(store.rows('project')[0]?.name).toBe('Invented lot');
    expect(store.attachments()).toHaveLength(1);
    expect(store.verifyRecord()).toMatchObject({ intact: true });
    store.close();
    expect(existsSync(`${path}-journal`)).toBe(false);
    const again = open(path);
    expect(again.recovered).toBe(false);
    again.close();
  });

  test('is left alone by reading only, and says why', async () => {
    const path = await hotProject(tempFolder());
    const hashes = [fileHash(path), fileHash(`${path}-journal`)];
    const refusal = refusalOf(() => openProject(path, { readOnly: true }));
    expect(refusal.message).toContain('cut short');
    expect([fileHash(path), fileHash(`${path}-journal`)]).toEqual(hashes);
  });

  test('is left alone in a newer and in a foreign file', async () => {
    const folder = tempFolder();
    const path = await hotProject(folder);
    const original = readFileSync(path);
    patchBytes(path, 60, NEWER_VERSION);
    expectRefusedUntouched(path, ['STORE_NEWER']);
    writeFileSync(path, original);
    patchBytes(path, 68, [1, 2, 3, 4]);
    expectRefusedUntouched(path, ['STORE_FOREIGN']);
  });

  test('is undone even where the file no longer starts like ours, when the journal holds its first page', async () => {
    const path = await hotProject(tempFolder());
    patchBytes(path, 0, new Array<number>(100).fill(0));
    const store = open(path);
    expect(store.rows('probe')).toHaveLength(12);
    store.close();
  });
});

describe('two programs', () => {
  test('the second is told who, which process and since when', async () => {
    const path = smallProject(tempFolder());
    const child = startChild('hold', path);
    expect(await firstLine(child)).toBe('open');
    for (const attempt of [() => open(path), () => openProject(path, { readOnly: true })]) {
      const refusal = refusalOf(attempt);
      expect(refusal.code).toBe('STORE_LOCKED');
      expect(refusal.details).toMatchObject({ host: hostname(), pid: child.pid, program: 'Test child' });
      expect(refusal.message).toContain(`Test child on ${hostname()} (process ${child.pid}) since 20`);
    }
    // SQLite's own lock holds where the lock file was deleted.
    const lock = readFileSync(`${path}-lock`);
    spawnSync('rm', [`${path}-lock`]);
    expect(refusalOf(() => open(path)).code).toBe('STORE_LOCKED');
    writeFileSync(`${path}-lock`, lock);
    child.kill('SIGKILL');
    await new Promise((done) => child.once('exit', done));
    // The lock file is still there; its process is not.
    expect(existsSync(`${path}-lock`)).toBe(true);
    open(path).close();
    expect(existsSync(`${path}-lock`)).toBe(false);
  });

  test('the same window, also by another name of the file', () => {
    const folder = tempFolder();
    const path = join(folder, 'a.gasplat');
    newStore(path);
    symlinkSync(path, join(folder, 'link.gasplat'));
    expect(refusalOf(() => open(path)).message).toContain('open already in this window');
    expect(refusalOf(() => open(join(folder, 'link.gasplat'))).code).toBe('STORE_LOCKED');
    expect(refusalOf(() => createProject(path, { actor: 'Bo', project: projectFields })).code).toBe(
      'STORE_LOCKED',
    );
  });

  test('a refused second opening in the same process does not drop the lock', async () => {
    const path = join(tempFolder(), 'a.gasplat');
    newStore(path);
    refusalOf(() => open(path));
    spawnSync('rm', [`${path}-lock`]);
    expect(await outputOf(startChild('write-until-refused', path))).toContain('STORE_LOCKED');
  });

  test.runIf(process.platform === 'linux')('a process number used again does not keep the lock', () => {
    const path = smallProject(tempFolder());
    const lock = { pid: process.pid, program: 'Gasplat', sinceUtc: '2020-01-01T00:00:00.000Z', token: 't' };
    writeFileSync(
      `${path}-lock`,
      JSON.stringify({ ...lock, host: hostname(), processStart: 'another boot 1' }),
    );
    open(path).close();
    expect(existsSync(`${path}-lock`)).toBe(false);
  });

  test('a lock of another computer stands, and says how to remove it', () => {
    const path = smallProject(tempFolder());
    const lock = {
      pid: 1,
      program: 'Gasplat',
      sinceUtc: '2020-01-01T00:00:00.000Z',
      token: 't',
      processStart: null,
    };
    writeFileSync(`${path}-lock`, JSON.stringify({ ...lock, host: 'field-laptop-2' }));
    const refusal = refusalOf(() => open(path));
    expect(refusal.details).toMatchObject({ host: 'field-laptop-2', pid: 1 });
    expect(refusal.message).toContain('-lock"');
    expect(existsSync(`${path}-lock`)).toBe(true);
  });
});

describe.runIf(process.platform !== 'win32')('a place that cannot be written', () => {
  /** Root may write anywhere, so the attempt is made by the system's nobody. */
  const uid = process.getuid?.() === 0 ? 65534 : undefined;
  const asOther = uid === undefined ? {} : { uid };

  test('a read-only folder, and a write-protected file', async () => {
    const folder = join(tempFolder(), 'media');
    chmodSync(join(folder, '..'), 0o755);
    mkdirSync(folder);
    const path = smallProject(folder);
    chmodSync(path, 0o444);
    expect(await outputOf(startChild('write-until-refused', path, asOther))).toContain('write-protected');
    chmodSync(path, 0o666);
    chmodSync(folder, 0o555);
    const said = await outputOf(startChild('write-until-refused', path, asOther));
    expect(said).toContain('its folder cannot be written to');
    expect(said).toContain('open it for reading only');
    expect(readdirSync(folder)).toEqual([basename(path)]);
    chmodSync(folder, 0o755);
  });

  test('a disk that takes no more bytes: said, nothing lost', async () => {
    const path = smallProject(tempFolder());
    const limitKiB = Math.ceil(readFileSync(path).length / 1024) + 150;
    // A limit on the size of files stands in for a full disk: writes beyond it fail.
    const shell = `ulimit -f ${limitKiB * 2} 2>/dev/null`;
    const lines = (await outputOf(startChild('write-until-refused', path, { shell }))).trim().split('\n');
    const refusal = JSON.parse(lines.at(-1) ?? '');
    expect(refusal.code).toBe('BAD_INPUT');
    expect(refusal.message).toMatch(/disk .* (is full|failed)/);
    const store = open(path);
    expect(store.revision).toBe(Number(lines.at(-2)));
    expect(store.verifyRecord()).toMatchObject({ intact: true });
    store.close();
  });

  test('SQLite out of pages reads as a full disk and leaves the store usable', () => {
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    const { db } = store as unknown as { db: Database.Database };
    db.pragma(`max_page_count = ${db.pragma('page_count', { simple: true })}`);
    const revision = store.revision;
    const refusal = refusalOf(() =>
      store.change('probe.add', 'Too much', (tx) =>
        tx.insert('probe', newProbe('P1', { note: 'x'.repeat(50_000) })),
      ),
    );
    expect(refusal.message).toMatch(/disk of .* is full.*not saved/);
    expect(store.revision).toBe(revision);
    expect(store.rows('probe')).toEqual([]);
    db.pragma('max_page_count = 100000');
    store.change('probe.add', 'Fits', (tx) => tx.insert('probe', newProbe('P1')));
    expect(store.verifyRecord()).toEqual({ intact: true, entries: 2 });
  });
});
