/** Taking out what came in by mistake: all the counts of one file, or an instrument that nothing uses. */
import type { ReadingFile } from '../contract/hand-entry.ts';
import { AppError } from '../errors.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { SampleRow } from '../store/rows.ts';
import { labelsOf } from './reduced-samples.ts';

/** Files that brought counts, interval values or backgrounds. */
export function readingFiles(store: ReadableStore): ReadingFile[] {
  const readings = store.rows('reading');
  const values = store.rows('interval_value');
  const backgrounds = store.rows('background');
  return store.attachments().flatMap(({ sha256, name }) => {
    const from = <R extends { readonly source_attachment: string | null }>(rows: readonly R[]) =>
      rows.filter((r) => r.source_attachment === sha256);
    const own = from(readings);
    const ownValues = from(values);
    const counted = {
      readings: own.length,
      values: ownValues.length,
      backgrounds: from(backgrounds).length,
    };
    if (counted.readings + counted.values + counted.backgrounds === 0) return [];
    return [
      {
        sha256,
        file: name,
        ...counted,
        samples: new Set([...own, ...ownValues].map((r) => r.sample_id)).size,
        bareSamples: bareSamples(store, sha256).length,
      },
    ];
  });
}

/**
 * Takes out all that one file of counts brought; the file itself stays with the record. A sample left without counts no
 * longer names the instrument that counted it.
 * @throws AppError NOT_FOUND where it brought nothing
 */
export function removeReadings(store: ProjectStore, sha256: string): void {
  const found = readingFiles(store).find((f) => f.sha256 === sha256);
  if (found === undefined)
    throw new AppError('NOT_FOUND', 'The project holds no counts of that file.', { sha256 });
  const parts = [
    `${found.readings} counts`,
    ...(found.values === 0 ? [] : [`${found.values} interval values`]),
    ...(found.backgrounds === 0 ? [] : [`${found.backgrounds} backgrounds`]),
    ...(found.bareSamples === 0 ? [] : [`${found.bareSamples} samples`]),
  ];
  store.change('readings.remove', `Take out what ${found.file} brought: ${parts.join(', ')}`, (tx) => {
    const bare = bareSamples(store, sha256);
    const counted = new Set(
      (['reading', 'interval_value'] as const).flatMap((table) =>
        store.rows(table, { source_attachment: sha256 }).map((r) => r.sample_id),
      ),
    );
    for (const table of ['reading', 'interval_value', 'background'] as const)
      for (const row of store.rows(table, { source_attachment: sha256 })) tx.remove(table, row.id);
    for (const sample of bare) tx.remove('sample', sample.id);
    for (const id of counted) {
      if (bare.some((s) => s.id === id)) continue;
      const isLeft =
        store.rows('reading', { sample_id: id }).length +
        store.rows('interval_value', { sample_id: id }).length;
      if (isLeft === 0) tx.update('sample', id, { instrument_id: null });
    }
  });
}

/** Samples made for the counts of a file that nobody wrote anything else on. */
function bareSamples(store: ReadableStore, sha256: string): SampleRow[] {
  const isForeign = (r: { readonly source_attachment: string | null }) => r.source_attachment !== sha256;
  return store
    .rows('sample', { source_attachment: sha256 })
    .filter(
      (s) =>
        s.entered_json === null &&
        s.radon_kbq_per_m3 === null &&
        s.radon_below_kbq_per_m3 === null &&
        s.radon_above_kbq_per_m3 === null &&
        s.oxygen_pct === null &&
        s.carbon_dioxide_pct === null &&
        s.remark === null &&
        store.rows('ruling', { sample_id: s.id }).length === 0 &&
        store.rows('sample', { previous_sample_id: s.id }).length === 0 &&
        !store.rows('reading', { sample_id: s.id }).some(isForeign) &&
        !store.rows('interval_value', { sample_id: s.id }).some(isForeign),
    );
}

/** @throws AppError CONFLICT naming the samples that use it; NOT_FOUND */
export function removeInstrument(store: ProjectStore, id: string): void {
  const row = store.row('instrument', id);
  if (row === undefined) throw new AppError('NOT_FOUND', `There is no instrument "${id}" in this project.`);
  const users = store.rows('sample', { instrument_id: id });
  if (users.length > 0) {
    const labels = labelsOf(store);
    const names = users.slice(0, 8).map((s) => labels.get(s.id) ?? s.id);
    const more = users.length > 8 ? ` and ${users.length - 8} more` : '';
    throw new AppError(
      'CONFLICT',
      `Instrument ${row.label} is named by ${users.length} samples (${names.join(', ')}${more}): it stays.`,
    );
  }
  store.change('instrument.remove', `Remove the instrument ${row.label}`, (tx) => {
    for (const b of store.rows('background', { instrument_id: id })) tx.remove('background', b.id);
    tx.remove('instrument', id);
  });
}
