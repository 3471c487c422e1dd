/** An open project. `openProject` and `createProject` make one. */
import type { Database } from 'better-sqlite3';
import { AppError } from '../errors.ts';
import { sha256 } from './canonical.ts';
import { ChangeRecorder, type Transaction } from './change.ts';
import { newId } from './ids.ts';
import {
  ATTACHMENT_TABLE,
  appendEntry,
  COMMAND_KEEP_FILE,
  checkRecord,
  History,
  type HistoryItem,
  parseSteps,
  type RecordCheck,
  type RecordRow,
  type RowStep,
} from './record.ts';
import { RowTables } from './row-tables.ts';
import type { ActorRow, RowMap, TableName } from './rows.ts';
import { explainSqliteError } from './sqlite-errors.ts';

/** An entry as lists show it; `changesOf` gives its rows. */
export interface RecordEntry {
  readonly seq: number;
  readonly id: string;
  readonly atUtc: string;
  readonly actor: string;
  readonly command: string;
  readonly summary: string;
  readonly undoOf: number | null;
  readonly redoOf: number | null;
  readonly hash: string;
  /** Taken back and not done again. */
  readonly undone: boolean;
}

export interface RecordPage {
  /** Only entries before this one. */
  readonly beforeSeq?: number;
  /** 200 where absent. */
  readonly limit?: number;
}

export interface Attachment {
  readonly sha256: string;
  readonly name: string;
  readonly mediaType: string;
  readonly bytes: Uint8Array;
}

export interface StoreParts {
  readonly db: Database;
  readonly path: string;
  /** A write of an earlier session was cut short and rolled back on opening. */
  readonly recovered: boolean;
  readonly onClose: () => void;
}

/** What can be read. A store opened for reading only is just this. */
export class ReadableStore {
  /** Absolute, links resolved. No other code may open this file while the store is open (see open-project.ts). */
  readonly path: string;
  readonly recovered: boolean;
  protected readonly db: Database;
  protected readonly tables: RowTables;
  protected readonly history: History;
  readonly #onClose: () => void;

  constructor(parts: StoreParts) {
    this.path = parts.path;
    this.recovered = parts.recovered;
    this.db = parts.db;
    this.#onClose = parts.onClose;
    this.tables = new RowTables(parts.db);
    this.history = new History(parts.db);
  }

  /** Number of the last entry of the record. */
  get revision(): number {
    return this.history.revision;
  }

  /** Rows in the order they were made; `where` keeps those whose columns equal it. */
  rows<T extends TableName>(table: T, where: Partial<RowMap[T]> = {}): RowMap[T][] {
    return this.tables.list(table, this.tables.checkCells(table, where)) as unknown as RowMap[T][];
  }

  row<T extends TableName>(table: T, id: string): RowMap[T] | undefined {
    return this.tables.get(table, id) as unknown as RowMap[T] | undefined;
  }

  actors(): ActorRow[] {
    return this.tables.prepare('SELECT id, name FROM actor ORDER BY id').all() as ActorRow[];
  }

  /** Newest first. */
  record(page: RecordPage = {}): RecordEntry[] {
    const rows = this.tables
      .prepare(
        `SELECT record.*, actor.name AS actor_name FROM record JOIN actor ON actor.id = actor_id
         WHERE seq < ? ORDER BY seq DESC LIMIT ?`,
      )
      .all(page.beforeSeq ?? Number.MAX_SAFE_INTEGER, page.limit ?? 200) as (RecordRow & {
      actor_name: string;
    })[];
    return rows.map((row) => ({
      seq: row.seq,
      id: row.id,
      atUtc: row.at_utc,
      actor: row.actor_name,
      command: row.command,
      summary: row.summary,
      undoOf: row.undo_of,
      redoOf: row.redo_of,
      hash: row.hash,
      undone: this.history.isUndone(row.seq),
    }));
  }

  /** Rows an entry wrote, in order; numbers are decimal text. @throws AppError NOT_FOUND */
  changesOf(seq: number): readonly RowStep[] {
    const text = this.tables.prepare('SELECT changes_json FROM record WHERE seq = ?').pluck().get(seq);
    if (typeof text !== 'string') throw new AppError('NOT_FOUND', `The record has no entry ${seq}.`);
    return parseSteps(text);
  }

  /** Recomputes the chain, compares all rows with it, and hashes every kept file. */
  verifyRecord(): RecordCheck {
    const check = checkRecord(this.db, this.tables);
    if (!check.intact) return check;
    const kept = this.db.prepare<[], { sha256: string; bytes: Buffer }>(
      'SELECT sha256, bytes FROM attachment',
    );
    for (const { sha256: expected, bytes } of kept.iterate()) {
      if (sha256(bytes) !== expected)
        return { intact: false, seq: null, problem: `the kept file ${expected} was altered` };
    }
    return check;
  }

  /** Summary of what undo would take back; null where nothing can be. */
  canUndo(): string | null {
    return this.history.nextUndo?.summary ?? null;
  }

  canRedo(): string | null {
    return this.history.nextRedo?.summary ?? null;
  }

  /** @throws AppError NOT_FOUND; STORE_DAMAGED where the bytes no longer have their hash */
  attachment(hash: string): Attachment {
    const row = this.tables
      .prepare('SELECT name, media_type, bytes FROM attachment WHERE sha256 = ?')
      .get(hash) as { name: string; media_type: string; bytes: Buffer } | undefined;
    if (row === undefined) throw new AppError('NOT_FOUND', `The project keeps no file ${hash}.`);
    if (sha256(row.bytes) !== hash)
      throw new AppError('STORE_DAMAGED', `The kept file "${row.name}" was altered.`, { file: this.path });
    return { sha256: hash, name: row.name, mediaType: row.media_type, bytes: row.bytes };
  }

  /** Name and type of every kept file, by hash. */
  attachments(): Omit<Attachment, 'bytes'>[] {
    return this.tables
      .prepare('SELECT sha256, name, media_type AS mediaType FROM attachment ORDER BY name, sha256')
      .all() as Omit<Attachment, 'bytes'>[];
  }

  /** A result kept from before; undefined where there is none or its bytes are not what was put. */
  derivedGet(key: string): Uint8Array | undefined {
    const row = this.tables.prepare('SELECT value, value_sha256 FROM derived WHERE key = ?').get(key) as
      | { value: Buffer; value_sha256: string }
      | undefined;
    return row !== undefined && sha256(row.value) === row.value_sha256 ? row.value : undefined;
  }

  close(): void {
    if (!this.db.open) return;
    this.db.close();
    this.#onClose();
  }
}

export class ProjectStore extends ReadableStore {
  readonly #actor: ActorRow;
  #current: ChangeRecorder | null = null;

  /** @param actorName the person at work; joins the project's actors with their first change */
  constructor(parts: StoreParts, actorName: string) {
    super(parts);
    this.#actor = findActor(parts.db, actorName) ?? { id: newId(), name: actorName };
  }

  /** The person at work, whom a ruling made inside a change names. */
  get actorId(): string {
    return this.#actor.id;
  }

  get actorName(): string {
    return this.#actor.name;
  }

  /**
   * The only way to change a project: what `work` writes and one entry of the record are saved together or not at
   * all. A change that leaves everything as it was writes nothing.
   * @param command name of the request that asks for it, such as `ruling.set`
   * @param summary one line for people, or made from the result
   * @param work may not be async
   * @throws AppError BAD_INPUT, CONFLICT, NOT_FOUND from the rows; BAD_INPUT where the disk is full or failing
   */
  change<R>(command: string, summary: string | ((result: R) => string), work: (tx: Transaction) => R): R {
    return this.#write({ command, undoOf: null, redoOf: null }, (recorder) => {
      const result = work(recorder);
      if (result instanceof Promise) throw new AppError('INTERNAL', `${command}: a change may not be async`);
      return { result, summary: typeof summary === 'string' ? summary : summary(result) };
    });
  }

  /** Takes the last change back by a new entry. @returns its summary, or null where nothing can be undone */
  undo(): string | null {
    return this.#replay(this.history.nextUndo, 'back');
  }

  /** Does again what was undone last. @returns its summary, or null where nothing can be redone */
  redo(): string | null {
    return this.#replay(this.history.nextRedo, 'again');
  }

  /**
   * Keeps a file by the hash of its bytes. Bytes already kept keep their first name. Inside a change the file is
   * part of its entry; outside, it makes an entry of its own. Undo leaves the bytes.
   * @returns lower-case hex SHA-256
   */
  putAttachment(bytes: Uint8Array, name: string, mediaType: string): string {
    const hash = sha256(bytes);
    const recorder = this.#current;
    if (recorder === null)
      return this.change(COMMAND_KEEP_FILE, `File "${name}" kept`, () =>
        this.putAttachment(bytes, name, mediaType),
      );
    const { changes } = this.tables
      .prepare(
        'INSERT INTO attachment (sha256, name, media_type, bytes) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING',
      )
      .run(hash, name, mediaType, Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength));
    const after = { sha256: hash, name, media_type: mediaType };
    if (changes > 0) recorder.steps.push({ table: ATTACHMENT_TABLE, id: hash, before: null, after });
    return hash;
  }

  /** Keeps a result under the hash of all it came from; replaces one of the same key. Not in the record. */
  derivedPut(key: string, kind: string, value: Uint8Array): void {
    const bytes = Buffer.from(value.buffer, value.byteOffset, value.byteLength);
    this.#run(() =>
      this.tables
        .prepare(
          'INSERT OR REPLACE INTO derived (key, kind, value, value_sha256, made_utc) VALUES (?, ?, ?, ?, ?)',
        )
        .run(key, kind, bytes, sha256(bytes), new Date().toISOString()),
    );
  }

  /** Drops kept results, all or of one kind. */
  derivedClear(kind?: string): void {
    this.#run(() =>
      kind === undefined
        ? this.tables.prepare('DELETE FROM derived').run()
        : this.tables.prepare('DELETE FROM derived WHERE kind = ?').run(kind),
    );
  }

  #replay(item: HistoryItem | undefined, direction: 'back' | 'again'): string | null {
    if (item === undefined) return null;
    const steps = this.changesOf(item.seq);
    const head =
      direction === 'back'
        ? { command: 'record.undo', undoOf: item.seq, redoOf: null }
        : { command: 'record.redo', undoOf: null, redoOf: item.seq };
    return this.#write(head, (recorder) => {
      // A row is replaced whole, so its children hang loose between the steps.
      this.db.pragma('defer_foreign_keys = ON');
      for (const step of direction === 'back' ? steps.toReversed() : steps) recorder.replay(step, direction);
      const verb = direction === 'back' ? 'Undone' : 'Redone';
      return { result: item.summary, summary: `${verb}: ${item.summary}` };
    });
  }

  #write<R>(
    head: { readonly command: string; readonly undoOf: number | null; readonly redoOf: number | null },
    work: (recorder: ChangeRecorder) => { result: R; summary: string },
  ): R {
    if (this.#current !== null)
      throw new AppError('INTERNAL', `${head.command} was asked for inside another change`);
    return this.#run(() => {
      this.db.exec('BEGIN IMMEDIATE');
      let recorder: ChangeRecorder | undefined;
      try {
        addActor(this.db, this.#actor);
        recorder = new ChangeRecorder(this.tables);
        this.#current = recorder;
        const { result, summary } = work(recorder);
        const isReplay = head.undoOf !== null || head.redoOf !== null;
        if (!isReplay && !recorder.changesAnything()) {
          this.db.exec('ROLLBACK');
          return result;
        }
        const { steps } = recorder;
        const row = appendEntry(this.db, { ...head, actor: this.#actor, summary, steps });
        this.db.exec('COMMIT');
        this.history.add(row);
        return result;
      } catch (error) {
        if (this.db.inTransaction) this.db.exec('ROLLBACK');
        throw error;
      } finally {
        recorder?.end();
        this.#current = null;
      }
    });
  }

  #run<R>(work: () => R): R {
    try {
      return work();
    } catch (error) {
      throw explainSqliteError(error, this.path);
    }
  }
}

/** The actor of this name, added where the project does not know it yet. */
export function actorNamed(db: Database, name: string): ActorRow {
  const actor = findActor(db, name) ?? { id: newId(), name };
  addActor(db, actor);
  return actor;
}

function findActor(db: Database, name: string): ActorRow | undefined {
  return db.prepare<[string], ActorRow>('SELECT id, name FROM actor WHERE name = ?').get(name);
}

function addActor(db: Database, actor: ActorRow): void {
  db.prepare('INSERT INTO actor (id, name) VALUES (@id, @name) ON CONFLICT (id) DO NOTHING').run(actor);
}
