/**
 * The record: every change in order, each entry chained to the one before by its hash.
 *
 * hash = sha256(prev_hash + entry), both as lower-case hex and canonical text, where entry is the canonical JSON
 * (see canonical.ts) of { actor: { id, name }, at_utc, changes, command, id, redo_of, seq, summary, undo_of }.
 * The first entry's prev_hash is 64 zeros.
 */
import type { Database } from 'better-sqlite3';
import { canonicalJson, sha256 } from './canonical.ts';
import { newId } from './ids.ts';
import type { RowTables } from './row-tables.ts';
import type { ActorRow, RowImage } from './rows.ts';

/** One row written: before is null where it was inserted, after where it was removed. */
export interface RowStep {
  readonly table: string;
  readonly id: string;
  readonly before: RowImage | null;
  readonly after: RowImage | null;
}

/** Steps of this table say that a file was kept; the bytes stay when the change is undone. */
export const ATTACHMENT_TABLE = 'attachment';

/** Entries that nothing before or at them can be undone across. */
export const COMMAND_CREATE = 'project.create';
export const COMMAND_MIGRATE = 'project.migrate';
export const COMMAND_ISSUE = 'report.issue';
export const COMMAND_REVIEW = 'report.review';
const CLOSING: ReadonlySet<string> = new Set([
  COMMAND_CREATE,
  COMMAND_MIGRATE,
  COMMAND_ISSUE,
  COMMAND_REVIEW,
]);
/** A file kept outside any change: there is no row to take back. */
export const COMMAND_KEEP_FILE = 'attachment.put';

const FIRST_PREV_HASH = '0'.repeat(64);

export interface RecordRow {
  readonly seq: number;
  readonly id: string;
  readonly at_utc: string;
  readonly actor_id: string;
  readonly command: string;
  readonly summary: string;
  readonly changes_json: string;
  readonly undo_of: number | null;
  readonly redo_of: number | null;
  readonly prev_hash: string;
  readonly hash: string;
}

export interface EntryDraft {
  readonly actor: ActorRow;
  readonly command: string;
  readonly summary: string;
  readonly steps: readonly RowStep[];
  readonly undoOf: number | null;
  readonly redoOf: number | null;
}

/** Appends an entry to the chain. The caller holds the transaction that also writes the rows. */
export function appendEntry(db: Database, draft: EntryDraft): RecordRow {
  const last = db.prepare('SELECT seq, hash FROM record ORDER BY seq DESC LIMIT 1').get() as
    | Pick<RecordRow, 'seq' | 'hash'>
    | undefined;
  const content = {
    seq: (last?.seq ?? 0) + 1,
    id: newId(),
    at_utc: new Date().toISOString(),
    actor_id: draft.actor.id,
    command: draft.command,
    summary: draft.summary,
    changes_json: canonicalJson(
      draft.steps.map(({ table, id, before, after }) => ({ table, id, before, after })),
    ),
    undo_of: draft.undoOf,
    redo_of: draft.redoOf,
    prev_hash: last?.hash ?? FIRST_PREV_HASH,
  };
  const row: RecordRow = { ...content, hash: entryHash(content, draft.actor.name) };
  db.prepare(
    `INSERT INTO record (seq, id, at_utc, actor_id, command, summary, changes_json, undo_of, redo_of, prev_hash, hash)
     VALUES (@seq, @id, @at_utc, @actor_id, @command, @summary, @changes_json, @undo_of, @redo_of, @prev_hash, @hash)`,
  ).run(row);
  return row;
}

function entryHash(row: Omit<RecordRow, 'hash'>, actorName: string): string {
  // Spliced from sorted parts so that a long list of changes, canonical already, is not read and written again.
  const actor = canonicalJson({ id: row.actor_id, name: actorName });
  const tail = canonicalJson({
    command: row.command,
    id: row.id,
    redo_of: row.redo_of,
    seq: row.seq,
    summary: row.summary,
    undo_of: row.undo_of,
  }).slice(1);
  const at = canonicalJson(row.at_utc);
  return sha256(`${row.prev_hash}{"actor":${actor},"at_utc":${at},"changes":${row.changes_json},${tail}`);
}

/** Steps of an entry as stored: cells that hold numbers are decimal text. */
export function parseSteps(changesJson: string): readonly RowStep[] {
  return JSON.parse(changesJson) as readonly RowStep[];
}

export type RecordCheck =
  | { readonly intact: true; readonly entries: number }
  | {
      readonly intact: false;
      /** The first entry that does not fit; for a row that differs from the record, the last entry on that row. */
      readonly seq: number | null;
      readonly problem: string;
    };

/**
 * Recomputes the chain from its start, then compares every row of every table with the image its last entry left:
 * a row altered behind the program's back, or entries cut off the end of the record, show as well.
 */
export function checkRecord(db: Database, tables: RowTables): RecordCheck {
  const entries = db
    .prepare<[], RecordRow & { actor_name: string | null }>(
      'SELECT record.*, actor.name AS actor_name FROM record LEFT JOIN actor ON actor.id = actor_id ORDER BY seq',
    )
    .iterate();
  let count = 0;
  let prevHash = FIRST_PREV_HASH;
  const expected = new Map<string, { text: string | null; seq: number }>();
  for (const row of entries) {
    count += 1;
    const broken = (problem: string): RecordCheck => ({ intact: false, seq: row.seq, problem });
    if (row.seq !== count) return broken(`entry ${count} is missing`);
    if (row.prev_hash !== prevHash) return broken(`entry ${row.seq} does not follow the entry before it`);
    if (entryHash(row, row.actor_name ?? '') !== row.hash)
      return broken(`entry ${row.seq} was altered after it was written`);
    prevHash = row.hash;
    for (const step of parseSteps(row.changes_json)) {
      const text = step.after === null ? null : canonicalJson(step.after);
      expected.set(`${step.table} ${step.id}`, { text, seq: row.seq });
    }
  }
  return compareRows(db, tables, expected) ?? { intact: true, entries: count };
}

function compareRows(
  db: Database,
  tables: RowTables,
  expected: Map<string, { text: string | null; seq: number }>,
): RecordCheck | null {
  const compare = (table: string, id: string, image: RowImage): RecordCheck | null => {
    const key = `${table} ${id}`;
    const known = expected.get(key);
    expected.delete(key);
    if (known?.text === canonicalJson(image)) return null;
    const problem = `${table} ${id} is not as the record says`;
    return { intact: false, seq: known?.seq ?? null, problem };
  };
  for (const table of tables.names) {
    for (const row of tables.list(table)) {
      const difference = compare(table, String(row['id']), row);
      if (difference !== null) return difference;
    }
  }
  const kept = db.prepare<[], RowImage>('SELECT sha256, name, media_type FROM attachment').all();
  for (const row of kept) {
    const difference = compare(ATTACHMENT_TABLE, String(row['sha256']), row);
    if (difference !== null) return difference;
  }
  for (const [key, { text, seq }] of expected) {
    if (text !== null) return { intact: false, seq, problem: `${key} is in the record but not in its table` };
  }
  return null;
}

export interface HistoryItem {
  readonly seq: number;
  readonly command: string;
  readonly summary: string;
  readonly undo_of: number | null;
  readonly redo_of: number | null;
}

/** Which entries can be undone and redone, from the entries in order. */
export class History {
  readonly #undo: HistoryItem[] = [];
  readonly #redo: HistoryItem[] = [];
  readonly #undone = new Set<number>();
  revision = 0;

  constructor(db: Database) {
    const items = db.prepare<[], HistoryItem>(
      'SELECT seq, command, summary, undo_of, redo_of FROM record ORDER BY seq',
    );
    for (const item of items.iterate()) this.add(item);
  }

  add(item: HistoryItem): void {
    this.revision = item.seq;
    if (item.undo_of !== null) {
      const undone = this.#undo.pop();
      if (undone !== undefined) this.#redo.push(undone);
      this.#undone.add(item.undo_of);
    } else if (item.redo_of !== null) {
      const redone = this.#redo.pop();
      if (redone !== undefined) this.#undo.push(redone);
      this.#undone.delete(item.redo_of);
    } else if (item.command !== COMMAND_KEEP_FILE) {
      this.#redo.length = 0;
      if (CLOSING.has(item.command)) this.#undo.length = 0;
      else this.#undo.push(item);
    }
  }

  get nextUndo(): HistoryItem | undefined {
    return this.#undo.at(-1);
  }

  get nextRedo(): HistoryItem | undefined {
    return this.#redo.at(-1);
  }

  isUndone(seq: number): boolean {
    return this.#undone.has(seq);
  }
}
