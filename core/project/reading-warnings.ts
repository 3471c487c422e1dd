import type { ReadableStore } from '../store/open-project.ts';
import { instrumentWarnings } from './instruments.ts';
import { planReadings } from './readings.ts';
import type { ReducedRow } from './reduced-samples.ts';
import { labelsOf } from './reduced-samples.ts';

const MOST_NAMED = 8;

/** What keeps counts from being defended: gaps in the register, counts without a value, fills without a time. */
export function readingWarnings(store: ReadableStore, reduced: ReadonlyMap<string, ReducedRow>): string[] {
  const labels = labelsOf(store);
  const named = (ids: readonly string[]) => {
    const names = ids.slice(0, MOST_NAMED).map((id) => labels.get(id) ?? id);
    return `${names.join(', ')}${ids.length > MOST_NAMED ? ` and ${ids.length - MOST_NAMED} more` : ''}`;
  };
  const valueless = [...reduced]
    .filter(([, { summary: s }]) => s.readingCount > 0 && s.basis !== 'readings' && s.basis !== 'values')
    .map(([id]) => id);
  const times = new Map(store.rows('sample').map((s) => [s.id, s.fill_end_utc ?? s.taken_utc]));
  const timeless = planReadings(store)
    .tasks.filter((t) => (times.get(t.sampleId) ?? null) === null)
    .map((t) => t.sampleId);
  return [
    ...instrumentWarnings(store),
    ...(valueless.length === 0
      ? []
      : [`Counts or interval values that give no value: ${named(valueless)}. 'reduce --sample' says why.`]),
    ...(timeless.length === 0
      ? []
      : [
          `Counts without the time of their filling: ${named(timeless)}. What earlier samples left cannot be taken off.`,
        ]),
  ];
}
