import type { RowPatch } from '../store/rows.ts';
import { type MergeConflict, PLACE_FIELD } from '../survey/merge-projects.ts';
import { addRuling, takeList, type Writing } from './merge-writing.ts';

const TABLE_OF = {
  probe: 'probe',
  sample: 'sample',
  instrument: 'instrument',
  'keep-out': 'keep_out',
  day: 'field_day',
} as const;

/** Fields of one record of theirs put into mine. A list takes what it lacks, or all of theirs in its place. */
export function takeFields(
  w: Writing,
  kind: MergeConflict['kind'],
  mineId: string,
  theirsId: string,
  fields: readonly string[],
): void {
  const wanted = new Set(fields);
  const patch = {
    ...Object.fromEntries(
      Object.entries(theirRow(w, kind, theirsId) ?? {}).filter(([column]) => wanted.has(column)),
    ),
    ...composedCells(w, kind, mineId, theirsId, wanted),
  };
  if (Object.keys(patch).length > 0)
    w.tx.update(TABLE_OF[kind], mineId, patch as RowPatch<(typeof TABLE_OF)[typeof kind]>);
  takeLists(w, mineId, theirsId, wanted);
  if (wanted.has('ruling')) {
    for (const old of w.store.rows('ruling', { sample_id: mineId })) w.tx.remove('ruling', old.id);
    addRuling(w, theirsId, mineId);
  }
}

function theirRow(w: Writing, kind: MergeConflict['kind'], id: string): object | undefined {
  const { probes, samples, instruments, keepOuts, days } = w.plan.theirs.rows;
  const tables = { probe: probes, sample: samples, instrument: instruments, 'keep-out': keepOuts, day: days };
  return tables[kind].get(id);
}

/** Cells behind fields that are no column of their own: places, and references to rows that bear other ids in mine. */
function composedCells(
  w: Writing,
  kind: MergeConflict['kind'],
  mineId: string,
  theirsId: string,
  wanted: ReadonlySet<string>,
): Record<string, unknown> {
  const theirs = w.plan.theirs.rows;
  const own = (id: string | null | undefined) => w.ids.get(id ?? '') ?? null;
  switch (kind) {
    case 'probe': {
      const probe = theirs.probes.get(theirsId);
      if (!wanted.has(PLACE_FIELD) || probe === undefined) return {};
      const { driven_x, driven_y, planned_x, planned_y } = probe;
      return driven_x === null ? { driven_x, driven_y, planned_x, planned_y } : { driven_x, driven_y };
    }
    case 'keep-out':
      return wanted.has('points') ? { points_json: theirs.keepOuts.get(theirsId)?.points_json } : {};
    case 'day':
      return wanted.has('control_probe')
        ? { control_probe_id: own(theirs.days.get(theirsId)?.control_probe_id) }
        : {};
    case 'sample': {
      const sample = theirs.samples.get(theirsId);
      const before = own(sample?.previous_sample_id);
      const isNamed = sample?.carry_over === 'named' && before !== null && before !== mineId;
      return {
        ...(wanted.has('instrument') ? { instrument_id: own(sample?.instrument_id) } : {}),
        ...(wanted.has('before')
          ? {
              carry_over: isNamed ? 'named' : sample?.carry_over === 'none' ? 'none' : null,
              previous_sample_id: isNamed ? before : null,
            }
          : {}),
      };
    }
    case 'instrument':
      return {};
  }
}

function takeLists(w: Writing, mineId: string, theirsId: string, wanted: ReadonlySet<string>): void {
  const { readings, values, backgrounds, events } = w.plan.theirs.rows;
  if (wanted.has('readings'))
    w.count.readings += takeList(w, 'reading', 'sample_id', mineId, readings.get(theirsId));
  if (wanted.has('values'))
    w.count.readings += takeList(w, 'interval_value', 'sample_id', mineId, values.get(theirsId));
  if (wanted.has('backgrounds'))
    takeList(w, 'background', 'instrument_id', mineId, backgrounds.get(theirsId));
  if (wanted.has('events')) takeList(w, 'field_event', 'field_day_id', mineId, events.get(theirsId));
}
