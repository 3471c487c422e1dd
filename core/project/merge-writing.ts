import type { Transaction } from '../store/change.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { NewRow, TableName } from '../store/rows.ts';
import { RULED_BEFORE } from '../survey/merge-projects.ts';
import type { WholePlan } from './merge-plan.ts';

/** Which rows of mine stand for those of theirs, as the merge goes on. */
export interface Writing {
  readonly tx: Transaction;
  readonly store: ProjectStore;
  readonly other: ReadableStore;
  readonly plan: WholePlan;
  readonly file: string;
  readonly ids: Map<string, string>;
  readonly labels: ReadonlyMap<string, string>;
  readonly count: { probes: number; samples: number; readings: number };
}

/** Their id where it is free here, so that the order of making is kept. */
export function freeId({ store }: Writing, table: TableName, id: string): { id?: string } {
  return store.row(table, id) === undefined ? { id } : {};
}

type ListTable = 'reading' | 'interval_value' | 'background' | 'field_event';

/** Rows of one parent made those of theirs; one that says the same stays as it is, with its place in a file. */
export function takeList(
  w: Writing,
  table: ListTable,
  parent: 'sample_id' | 'instrument_id' | 'field_day_id',
  ownParent: string,
  theirs: readonly object[] = [],
): number {
  const keyOfRow = (row: object) =>
    JSON.stringify(Object.entries(row).filter(([name]) => !PLACE_COLUMNS.has(name) && name !== parent));
  const wanted = new Map(theirs.map((row) => [keyOfRow(row), row]));
  for (const old of w.store.rows(table, { [parent]: ownParent }))
    if (!wanted.delete(keyOfRow(old))) w.tx.remove(table, old.id);
  for (const row of wanted.values()) {
    const { id } = row as { readonly id: string };
    const { id: _id, ...cells } = row as Record<string, unknown>;
    w.tx.insert(table, { ...cells, ...freeId(w, table, id), [parent]: ownParent } as NewRow<ListTable>);
  }
  return wanted.size;
}

const PLACE_COLUMNS: ReadonlySet<string> = new Set(['id', 'source_attachment', 'source_row']);

/** A ruling is the word of whoever is at work; whose it was first is said in its reason. */
export function addRuling(w: Writing, theirsId: string, own: string): void {
  const ruling = w.plan.theirs.rows.rulings.get(theirsId);
  if (ruling === undefined) return;
  const who = w.other.actors().find((a) => a.id === ruling.actor_id)?.name ?? 'unknown';
  w.tx.insert('ruling', {
    sample_id: own,
    verdict: ruling.verdict,
    reason:
      who === nameAtWork(w)
        ? ruling.reason
        : `${ruling.reason}${RULED_BEFORE}${who}, ${ruling.at_utc.slice(0, 10)}, in ${w.file})`,
    actor_id: w.store.actorId,
    at_utc: new Date().toISOString(),
  });
}

function nameAtWork({ store }: Writing): string | undefined {
  return store.actors().find((a) => a.id === store.actorId)?.name;
}
