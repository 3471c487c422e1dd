/**
 * Making and opening project files.
 *
 * On POSIX systems a process that closes any descriptor of a file drops all its locks on it. So while a store is
 * open, no code of the same process may open its file: copy or hash it through the store.
 */
import {
  accessSync,
  closeSync,
  constants,
  existsSync,
  fsyncSync,
  openSync,
  realpathSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import Database, { SqliteError } from 'better-sqlite3';
import { AppError } from '../errors.ts';
import { APPLICATION_ID, codeOf, lookAtProjectFile } from './file-header.ts';
import { refuseLiveLock, takeLock } from './lock-file.ts';
import {
  buildNewest,
  loadMigrations,
  type Migration,
  migrateProject,
  schemaText,
  versionOf,
} from './migrate.ts';
import { actorNamed, ProjectStore, ReadableStore } from './project-store.ts';
import { COMMAND_CREATE, checkRecord } from './record.ts';
import { RowTables } from './row-tables.ts';
import type { NewRow } from './rows.ts';
import { explainSqliteError } from './sqlite-errors.ts';

export type { ProjectStore, ReadableStore };

/** How long SQLite waits for another program's lock. The thread stands still meanwhile. */
const BUSY_MS = 500;

/** Files open in this process; see the note on locks above. */
const openPaths = new Set<string>();

export interface OpenOptions {
  /** Name of the person at work, as the record keeps it. */
  readonly actor: string;
  readonly readOnly?: false;
  /** Named to whoever finds the project locked. */
  readonly program?: string;
  /** For tests of a version to come. */
  readonly migrations?: readonly Migration[];
}

export interface ReadOnlyOptions {
  readonly readOnly: true;
  readonly migrations?: readonly Migration[];
}

export interface CreateOptions {
  readonly actor: string;
  readonly project: Omit<NewRow<'project'>, 'id' | 'created_utc'>;
  readonly program?: string;
  readonly migrations?: readonly Migration[];
}

/**
 * Makes a project file and opens it. The file appears whole or not at all.
 * @throws AppError BAD_INPUT where the file exists, its folder does not, or the folder cannot be written
 */
export function createProject(path: string, options: CreateOptions): ProjectStore {
  const migrations = options.migrations ?? loadMigrations();
  const target = locate(path);
  refuseOpenHere(target);
  const exists = () =>
    new AppError('BAD_INPUT', `"${target}" exists already. Open it, or choose another name.`, {
      file: target,
    });
  if (existsSync(target)) throw exists();
  const release = takeLock(target, options.program ?? 'Gasplat');
  const part = `${target}.part-${crypto.randomUUID()}`;
  try {
    writeDurably(part, buildProjectBytes(options, migrations));
    if (existsSync(target)) throw exists();
    renameSync(part, target);
    syncFolder(dirname(target));
    return openLocked(target, options.actor, migrations, release);
  } catch (error) {
    rmSync(part, { force: true });
    release();
    throw error;
  }
}

/**
 * Opens a project for work, or for reading only.
 *
 * For work, an older file is brought to the newest version after a copy `<path>.before-NNNN.bak` of it is made,
 * and a file whose rows and record disagree is refused; for reading only, such a file opens, and `verifyRecord`
 * says where it breaks. Every refusal leaves the file as it was.
 * @throws AppError NOT_FOUND, BAD_INPUT (unreadable, not writable, cut-short write or older version read-only),
 *   STORE_LOCKED, STORE_NEWER, STORE_FOREIGN, STORE_DAMAGED
 */
export function openProject(path: string, options: OpenOptions): ProjectStore;
export function openProject(path: string, options: ReadOnlyOptions): ReadableStore;
export function openProject(path: string, options: OpenOptions | ReadOnlyOptions): ReadableStore {
  const migrations = options.migrations ?? loadMigrations();
  const target = locate(path);
  refuseOpenHere(target);
  refuseLiveLock(target);
  const look = lookAtProjectFile(target, versionsOf(migrations));
  if (options.readOnly === true) return openForReading(target, look, migrations);
  refuseUnwritable(target);
  const release = takeLock(target, options.program ?? 'Gasplat');
  try {
    return openLocked(target, options.actor, migrations, release);
  } catch (error) {
    release();
    throw error;
  }
}

function openLocked(
  path: string,
  actor: string,
  migrations: readonly Migration[],
  release: () => void,
): ProjectStore {
  // Looked at again: until the lock was ours, another program could have changed it.
  const look = lookAtProjectFile(path, versionsOf(migrations));
  return openGuarded(path, { readonly: false }, (db) => {
    db.pragma('journal_mode = DELETE');
    db.pragma('synchronous = EXTRA');
    // Takes the exclusive lock now, and plays back a hot journal; nothing else is written.
    db.exec('BEGIN EXCLUSIVE; COMMIT');
    checkSound(db, path, migrations);
    refuseBrokenRecord(db, path);
    if (versionOf(db) < newestOf(migrations)) {
      const backup = writeBackup(db, path, newestOf(migrations));
      try {
        migrateProject(db, migrations, () => actorNamed(db, actor));
      } catch (error) {
        rmSync(backup, { force: true });
        throw error;
      }
      checkSound(db, path, migrations);
    }
    const onClose = () => {
      openPaths.delete(path);
      release();
    };
    return new ProjectStore({ db, path, recovered: look.hotJournal, onClose }, actor);
  });
}

function openForReading(
  path: string,
  look: { readonly version: number; readonly hotJournal: boolean },
  migrations: readonly Migration[],
): ReadableStore {
  const why = look.hotJournal
    ? 'its last change was cut short and must be rolled back'
    : look.version < newestOf(migrations)
      ? `an older Gasplat saved it (file version ${look.version}; now ${newestOf(migrations)})`
      : null;
  if (why !== null)
    throw new AppError(
      'BAD_INPUT',
      `"${path}" cannot be only read: ${why}. Open it as a project once, then try again.`,
      {
        file: path,
      },
    );
  return openGuarded(path, { readonly: true }, (db) => {
    checkSound(db, path, migrations);
    return new ReadableStore({ db, path, recovered: false, onClose: () => openPaths.delete(path) });
  });
}

/** Opens the connection, hands it to `use`, and closes it again where that fails. */
function openGuarded<S>(
  path: string,
  mode: { readonly readonly: boolean },
  use: (db: Database.Database) => S,
): S {
  let db: Database.Database | undefined;
  try {
    openPaths.add(path);
    db = new Database(path, { readonly: mode.readonly, fileMustExist: true, timeout: BUSY_MS });
    db.pragma('locking_mode = EXCLUSIVE');
    db.pragma('foreign_keys = ON');
    db.pragma('trusted_schema = OFF');
    db.pragma('cell_size_check = ON');
    db.pragma('temp_store = MEMORY');
    return use(db);
  } catch (error) {
    db?.close();
    openPaths.delete(path);
    const explained = explainSqliteError(error, path);
    if (!(explained instanceof SqliteError)) throw explained;
    throw new AppError(
      'STORE_DAMAGED',
      `"${path}" is damaged (${explained.message}). It was not changed. Use a backup.`,
      { file: path, sqlite: explained.code },
      explained,
    );
  }
}

function checkSound(db: Database.Database, path: string, migrations: readonly Migration[]): void {
  const problem = db.prepare('PRAGMA integrity_check(1)').pluck().get();
  const damaged = (what: string) =>
    new AppError('STORE_DAMAGED', `"${path}" is damaged: ${what}. It was not changed. Use a backup.`, {
      file: path,
    });
  if (problem !== 'ok') throw damaged(String(problem));
  const version = versionOf(db);
  if (schemaText(db) !== expectedSchema(migrations.filter((migration) => migration.version <= version)))
    throw damaged(`its tables are not those of version ${version}`);
}

function expectedSchema(migrations: readonly Migration[]): string {
  const db = new Database(':memory:');
  try {
    buildNewest(db, migrations);
    return schemaText(db);
  } finally {
    db.close();
  }
}

function refuseBrokenRecord(db: Database.Database, path: string): void {
  const check = checkRecord(db, new RowTables(db));
  if (check.intact) return;
  throw new AppError(
    'STORE_DAMAGED',
    `"${path}" is damaged: ${check.problem}. It was not changed. It can still be opened for reading only.`,
    { file: path, seq: check.seq },
  );
}

function buildProjectBytes({ actor, project }: CreateOptions, migrations: readonly Migration[]): Buffer {
  const db = new Database(':memory:');
  try {
    db.pragma(`application_id = ${APPLICATION_ID}`);
    buildNewest(db, migrations);
    const store = new ProjectStore({ db, path: '', recovered: false, onClose: () => {} }, actor);
    store.change(COMMAND_CREATE, `Project "${project.name}" made`, (tx) =>
      tx.insert('project', { ...project, created_utc: new Date().toISOString() }),
    );
    return db.serialize();
  } finally {
    db.close();
  }
}

/** Made from the open connection, not by copying the file: see the note on locks above. */
function writeBackup(db: Database.Database, path: string, newest: number): string {
  const stem = `${path}.before-${String(newest).padStart(4, '0')}`;
  let backup = `${stem}.bak`;
  for (let number = 2; existsSync(backup); number += 1) backup = `${stem}-${number}.bak`;
  writeDurably(backup, db.serialize());
  return backup;
}

function writeDurably(path: string, bytes: Uint8Array): void {
  try {
    writeFileSync(path, bytes, { flag: 'wx', flush: true });
  } catch (error) {
    rmSync(path, { force: true });
    const code = codeOf(error);
    const why =
      code === 'ENOSPC' || code === 'EDQUOT' ? 'the disk is full' : `it cannot be written (${code})`;
    throw new AppError('BAD_INPUT', `"${path}" was not saved: ${why}.`, { file: path, reason: code }, error);
  }
}

/** Makes a rename last through a power cut. Windows has no such call and refuses the open. */
function syncFolder(folder: string): void {
  if (process.platform === 'win32') return;
  const fd = openSync(folder, 'r');
  try {
    fsyncSync(fd);
  } finally {
    closeSync(fd);
  }
}

/** The absolute path with links resolved, as SQLite names the journal; the file itself need not be there. */
function locate(path: string): string {
  const absolute = resolve(path);
  // better-sqlite3 trims the name it is given and would open another file.
  if (absolute !== absolute.trim())
    throw new AppError('BAD_INPUT', `"${path}" ends with a space. Choose another name.`, { file: path });
  try {
    return realpathSync.native(absolute);
  } catch {
    try {
      return join(realpathSync.native(dirname(absolute)), basename(absolute));
    } catch (error) {
      throw new AppError(
        'BAD_INPUT',
        `The folder "${dirname(absolute)}" does not exist or cannot be read.`,
        { file: absolute, reason: codeOf(error) },
        error,
      );
    }
  }
}

function refuseOpenHere(path: string): void {
  if (openPaths.has(path))
    throw new AppError('STORE_LOCKED', `"${path}" is open already in this window.`, {
      file: path,
      pid: process.pid,
    });
}

function refuseUnwritable(path: string): void {
  try {
    accessSync(path, constants.W_OK);
  } catch (error) {
    throw new AppError(
      'BAD_INPUT',
      `"${path}" cannot be changed: the file is write-protected (${codeOf(error)}). Copy it to a folder of your own, or open it for reading only.`,
      { file: path, reason: codeOf(error) },
      error,
    );
  }
}

const versionsOf = (migrations: readonly Migration[]): readonly number[] =>
  migrations.map((migration) => migration.version);

const newestOf = (migrations: readonly Migration[]): number => migrations.at(-1)?.version ?? 0;
