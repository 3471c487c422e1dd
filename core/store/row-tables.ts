/** Reading and writing rows by table name, for every table that changes through the record. */
import type { Database, Statement } from 'better-sqlite3';
import { AppError } from '../errors.ts';
import type { RowImage } from './rows.ts';

/** Tables outside the record: its own, kept files (protected by their hash) and what can be computed again. */
const UNTRACKED: ReadonlySet<string> = new Set(['actor', 'attachment', 'derived', 'record']);

export type Cell = string | number | null;

export class RowTables {
  readonly #db: Database;
  readonly #statements = new Map<string, Statement<unknown[], unknown>>();
  readonly #columns = new Map<string, ReadonlyMap<string, string>>();

  constructor(db: Database) {
    this.#db = db;
    const names = this.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
      .pluck()
      .all() as string[];
    for (const name of names) {
      if (UNTRACKED.has(name) || name.startsWith('sqlite_')) continue;
      const columns = db.pragma(`table_info("${name}")`) as { name: string; type: string }[];
      this.#columns.set(name, new Map(columns.map((column) => [column.name, column.type])));
    }
  }

  /** Names of all tables that change through the record. */
  get names(): readonly string[] {
    return [...this.#columns.keys()];
  }

  /** Column names with their SQL types, in the order of the table. */
  columns(table: string): ReadonlyMap<string, string> {
    const columns = this.#columns.get(table);
    if (columns === undefined) throw new AppError('INTERNAL', `No table "${table}"`);
    return columns;
  }

  prepare(sql: string): Statement<unknown[], unknown> {
    let statement = this.#statements.get(sql);
    if (statement === undefined) {
      statement = this.#db.prepare(sql);
      this.#statements.set(sql, statement);
    }
    return statement;
  }

  get(table: string, id: string): RowImage | undefined {
    this.columns(table);
    return this.prepare(`SELECT * FROM "${table}" WHERE id = ?`).get(id) as RowImage | undefined;
  }

  /** All rows in the order they were made, or those whose columns equal `where`. */
  list(table: string, where: RowImage = {}): RowImage[] {
    const names = Object.keys(where);
    for (const name of names) this.#checkColumn(table, name);
    const clause = names.map((name) => `"${name}" IS ?`).join(' AND ') || 'TRUE';
    const sql = `SELECT * FROM "${table}" WHERE ${clause} ORDER BY id`;
    return this.prepare(sql).all(...Object.values(where)) as RowImage[];
  }

  insert(table: string, row: RowImage): void {
    const names = [...this.columns(table).keys()];
    const marks = names.map(() => '?').join(', ');
    const sql = `INSERT INTO "${table}" (${names.map((name) => `"${name}"`).join(', ')}) VALUES (${marks})`;
    this.prepare(sql).run(...names.map((name) => row[name] ?? null));
  }

  update(table: string, id: string, patch: RowImage): void {
    const names = Object.keys(patch);
    const sets = names.map((name) => `"${name}" = ?`).join(', ');
    this.prepare(`UPDATE "${table}" SET ${sets} WHERE id = ?`).run(...Object.values(patch), id);
  }

  remove(table: string, id: string): void {
    this.prepare(`DELETE FROM "${table}" WHERE id = ?`).run(id);
  }

  /**
   * The cells SQLite will hold for what a caller gave: every column known, -0 as 0, absent keys left out.
   * @throws AppError BAD_INPUT on a number that is not finite or a text SQLite would not give back as it was
   */
  checkCells(table: string, given: object): RowImage {
    const cells: Record<string, Cell> = {};
    for (const [name, value] of Object.entries(given) as [string, unknown][]) {
      this.#checkColumn(table, name);
      if (value === undefined) continue;
      cells[name] = checkCell(value, table, name);
    }
    return cells;
  }

  /** A row from its image in the record, where numbers are decimal text. */
  decode(table: string, image: RowImage): RowImage {
    const row: Record<string, Cell> = {};
    for (const [name, type] of this.columns(table)) {
      const cell = image[name] ?? null;
      row[name] = cell === null || type === 'TEXT' ? cell : Number(cell);
    }
    return row;
  }

  #checkColumn(table: string, name: string): void {
    if (!this.columns(table).has(name)) throw new AppError('INTERNAL', `No column "${name}" in "${table}"`);
  }
}

function checkCell(value: unknown, table: string, field: string): Cell {
  if (value === null) return null;
  if (typeof value === 'number' && Number.isFinite(value)) return value === 0 ? 0 : value;
  if (typeof value === 'string' && !/\p{Surrogate}|\0/u.test(value)) return value;
  const shown = typeof value === 'string' ? JSON.stringify(value.slice(0, 80)) : String(value);
  throw new AppError('BAD_INPUT', `${table}.${field} cannot hold ${shown}`, { table, field });
}
