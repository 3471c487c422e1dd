import type { Output } from '../contract/requests.ts';
import type { ReadableStore } from '../store/open-project.ts';

/** The newest entries first, and whether the chain of hashes holds from the first entry on. */
export function listRecord(store: ReadableStore): Output<'record.list'> {
  const entries = store.record().map(({ seq, atUtc, actor, command, summary, hash, undone }) => ({
    seq,
    atUtc,
    actor,
    command,
    summary,
    hash,
    undone,
  }));
  return { entries, intact: store.verifyRecord().intact };
}

/** Hash of the last entry: names the state a figure was drawn from. */
export function recordHash(store: ReadableStore): string | null {
  return store.record({ limit: 1 })[0]?.hash ?? null;
}
