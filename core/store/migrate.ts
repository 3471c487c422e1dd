/** Numbered migrations bring a file of any older version to the newest. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Database, SqliteError } from 'better-sqlite3';
import { AppError } from '../errors.ts';
import { resourcePath } from '../resources.ts';
import { canonicalJson } from './canonical.ts';
import { appendEntry, COMMAND_MIGRATE, type RowStep } from './record.ts';
import { RowTables } from './row-tables.ts';
import type { ActorRow, RowImage } from './rows.ts';

export interface Migration {
  /** Kept in the file as user_version. */
  readonly version: number;
  readonly name: string;
  readonly sql: string;
}

const FILE_NAME = /^(\d{4})_([a-z0-9-]+)\.sql$/;

/**
 * All migrations of a folder, ascending.
 * @throws AppError INTERNAL on a name not like 0010_words.sql, a number twice, or one not in tens
 */
export function loadMigrations(folder: string = resourcePath('migrations')): readonly Migration[] {
  const migrations = readdirSync(folder)
    .filter((file) => file.endsWith('.sql'))
    .sort()
    .map((file) => {
      const [, number, name] = FILE_NAME.exec(file) ?? [];
      if (number === undefined || name === undefined)
        throw new AppError('INTERNAL', `Migration "${file}" is not named like 0010_words.sql`, { file });
      return { version: Number(number), name, sql: readFileSync(join(folder, file), 'utf8') };
    });
  checkOrder(migrations);
  return migrations;
}

/** @throws AppError INTERNAL unless the numbers are tens and rise */
export function checkOrder(migrations: readonly Migration[]): void {
  if (migrations.length === 0) throw new AppError('INTERNAL', 'This installation has no migrations');
  let last = 0;
  for (const { version, name } of migrations) {
    if (version % 10 !== 0 || version <= last)
      throw new AppError('INTERNAL', `Migration ${version} (${name}) after ${last}: numbers rise in tens`);
    last = version;
  }
}

export function versionOf(db: Database): number {
  return db.pragma('user_version', { simple: true }) as number;
}

/** Builds the tables of the newest version in an empty database. */
export function buildNewest(db: Database, migrations: readonly Migration[]): void {
  inTransaction(db, () => applyPending(db, migrations));
}

/**
 * Brings a project to the newest version in one transaction: all of it or none. The record gets an entry with
 * every row whose image changed, which closes undo for what went before.
 */
export function migrateProject(
  db: Database,
  migrations: readonly Migration[],
  actorOf: () => ActorRow,
): void {
  const from = versionOf(db);
  // Cannot change inside a transaction; the check below takes its place.
  db.pragma('foreign_keys = OFF');
  try {
    inTransaction(db, () => {
      const before = imagesOf(db);
      applyPending(db, migrations);
      const steps = differences(before, imagesOf(db));
      const to = versionOf(db);
      const summary = `Project file brought from version ${from} to ${to}`;
      appendEntry(db, {
        actor: actorOf(),
        command: COMMAND_MIGRATE,
        summary,
        steps,
        undoOf: null,
        redoOf: null,
      });
      const loose = db.pragma('foreign_key_check') as unknown[];
      if (loose.length > 0)
        throw new AppError('INTERNAL', `Migrating to ${to} left ${loose.length} rows without their parent`);
    });
  } finally {
    db.pragma('foreign_keys = ON');
  }
}

function applyPending(db: Database, migrations: readonly Migration[]): void {
  for (const { version, name, sql } of migrations) {
    if (version <= versionOf(db)) continue;
    try {
      db.exec(sql);
    } catch (error) {
      if (!(error instanceof SqliteError) || error.code !== 'SQLITE_ERROR') throw error;
      throw new AppError('INTERNAL', `Migration ${version} (${name}): ${error.message}`, {}, error);
    }
    if (!db.inTransaction)
      throw new AppError('INTERNAL', `Migration ${version} (${name}) ends the transaction it runs in`);
    db.pragma(`user_version = ${version}`);
  }
}

function inTransaction(db: Database, work: () => void): void {
  db.exec('BEGIN IMMEDIATE');
  try {
    work();
    db.exec('COMMIT');
  } catch (error) {
    if (db.inTransaction) db.exec('ROLLBACK');
    throw error;
  }
}

type Images = Map<string, { table: string; id: string; image: RowImage }>;

function imagesOf(db: Database): Images {
  const tables = new RowTables(db);
  const images: Images = new Map();
  for (const table of tables.names) {
    for (const image of tables.list(table)) {
      const id = String(image['id']);
      images.set(`${table} ${id}`, { table, id, image });
    }
  }
  return images;
}

function differences(before: Images, after: Images): RowStep[] {
  const steps: RowStep[] = [];
  for (const [key, { table, id, image }] of before) {
    const now = after.get(key)?.image ?? null;
    if (canonicalJson(now) !== canonicalJson(image)) steps.push({ table, id, before: image, after: now });
  }
  for (const [key, { table, id, image }] of after) {
    if (!before.has(key)) steps.push({ table, id, before: null, after: image });
  }
  return steps;
}

/** Text of all tables, indexes, triggers and views: what a file of this version must hold, no more and no less. */
export function schemaText(db: Database): string {
  return db
    .prepare("SELECT sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY type, name")
    .pluck()
    .all()
    .join(';\n');
}
