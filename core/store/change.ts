/** One change under way: writes rows and notes each as a step for the record. */
import { AppError } from '../errors.ts';
import { canonicalJson } from './canonical.ts';
import { newId } from './ids.ts';
import { ATTACHMENT_TABLE, type RowStep } from './record.ts';
import type { RowTables } from './row-tables.ts';
import type { NewRow, RowImage, RowPatch, TableName } from './rows.ts';

/** What the callback of `store.change` may do; refused once the callback has returned. */
export interface Transaction {
  /** @returns the row's id, made where `row` has none */
  insert<T extends TableName>(table: T, row: NewRow<T>): string;
  /** Writes only columns that differ. @throws AppError NOT_FOUND */
  update<T extends TableName>(table: T, id: string, patch: RowPatch<T>): void;
  /** Rows that name this one must go first. @throws AppError NOT_FOUND; CONFLICT where a row still names it */
  remove(table: TableName, id: string): void;
}

export class ChangeRecorder implements Transaction {
  readonly steps: RowStep[] = [];
  readonly #tables: RowTables;
  #ended = false;

  constructor(tables: RowTables) {
    this.#tables = tables;
  }

  insert<T extends TableName>(table: T, row: NewRow<T>): string {
    this.#refuseLate();
    const cells = this.#tables.checkCells(table, row);
    const id = typeof cells['id'] === 'string' ? cells['id'] : newId();
    this.#tables.insert(table, { ...cells, id });
    this.#note(table, id, null);
    return id;
  }

  update<T extends TableName>(table: T, id: string, patch: RowPatch<T>): void {
    const before = this.#present(table, id);
    const cells = Object.entries(this.#tables.checkCells(table, patch));
    const changed = Object.fromEntries(cells.filter(([name, cell]) => before[name] !== cell));
    if (Object.keys(changed).length === 0) return;
    this.#tables.update(table, id, changed);
    this.#note(table, id, before);
  }

  remove(table: TableName, id: string): void {
    const before = this.#present(table, id);
    this.#tables.remove(table, id);
    this.steps.push({ table, id, before, after: null });
  }

  /** Takes a step of an earlier entry back, or does it again. @throws AppError CONFLICT where the row is not as left */
  replay(step: RowStep, direction: 'back' | 'again'): void {
    const { table, id } = step;
    if (table === ATTACHMENT_TABLE) return;
    const [from, to] = direction === 'back' ? [step.after, step.before] : [step.before, step.after];
    const present = this.#tables.get(table, id) ?? null;
    if (canonicalJson(present) !== canonicalJson(from))
      throw new AppError(
        'CONFLICT',
        `This cannot be ${direction === 'back' ? 'undone' : 'redone'}: ${table} ${id} is not as that change left it.`,
        { table, id },
      );
    if (present !== null) this.#tables.remove(table, id);
    if (to !== null) this.#tables.insert(table, this.#tables.decode(table, to));
    this.#note(table, id, present);
  }

  /** From here on every write is refused: it would miss the record. */
  end(): void {
    this.#ended = true;
  }

  /** Whether the steps, taken together, leave anything different. */
  changesAnything(): boolean {
    const first = new Map<string, string>();
    const last = new Map<string, string>();
    for (const step of this.steps) {
      const key = `${step.table} ${step.id}`;
      if (!first.has(key)) first.set(key, canonicalJson(step.before));
      last.set(key, canonicalJson(step.after));
    }
    return [...first].some(([key, before]) => last.get(key) !== before);
  }

  #refuseLate(): void {
    if (this.#ended) throw new AppError('INTERNAL', 'A change was written to after it had ended');
  }

  #present(table: string, id: string): RowImage {
    this.#refuseLate();
    const row = this.#tables.get(table, id);
    if (row === undefined)
      throw new AppError('NOT_FOUND', `There is no ${table} with id ${id}.`, { table, id });
    return row;
  }

  /** The image is read back: the record holds what SQLite holds, not what was asked of it. */
  #note(table: string, id: string, before: RowImage | null): void {
    this.steps.push({ table, id, before, after: this.#tables.get(table, id) ?? null });
  }
}
