import type { ReadableStore } from '../store/open-project.ts';
import type { ReadingRow, RowImage, RowMap, SampleRow, TableName } from '../store/rows.ts';

export interface SupposedRows {
  /** Takes the place of the row of its id, or stands beside the others. */
  readonly sample: SampleRow;
  readonly readings: readonly ReadingRow[];
}

/**
 * The store as it would read with one more or one other sample, so that what is asked beforehand is answered by the
 * same code as what is stored. Nothing is written.
 */
export function supposeSample(store: ReadableStore, extra: SupposedRows): ReadableStore {
  const own: { readonly [T in TableName]?: readonly RowMap[T][] } = {
    sample: [extra.sample],
    reading: extra.readings,
  };
  const rows = <T extends TableName>(table: T, where: Partial<RowMap[T]> = {}): RowMap[T][] => {
    const added = (own[table] ?? []) as readonly RowMap[T][];
    const ids = new Set(added.map((row) => row.id));
    const fits = (row: RowMap[T]) =>
      Object.entries(where).every(([name, cell]) => (row as unknown as RowImage)[name] === cell);
    return [...store.rows(table, where).filter((row) => !ids.has(row.id)), ...added.filter(fits)];
  };
  const row = <T extends TableName>(table: T, id: string): RowMap[T] | undefined =>
    ((own[table] ?? []) as readonly RowMap[T][]).find((r) => r.id === id) ?? store.row(table, id);
  return Object.create(store, { rows: { value: rows }, row: { value: row } }) as ReadableStore;
}
