import type { ProjectCrs, RulingVerdict } from '../contract/model.ts';
import type { ProjectSettings } from '../contract/settings.ts';
import { AppError } from '../errors.ts';
import { refuseDegrees } from '../exchange/check-geometry.ts';
import type { PositionNative } from '../geo/frame.ts';
import { nativeText, ringToFrame } from '../geo/frame.ts';
import { validateLot } from '../geo/planar.ts';
import type { ProjectStore } from '../store/open-project.ts';
import { clip } from '../text.ts';

import { frameOf, lotNative, originFor, projectRow, toProjectNative } from './frame-of.ts';
import { importedSchemes, refuseForeignLimit } from './schemes.ts';
import { changedSettings } from './setting-words.ts';
import { parseSettings } from './settings.ts';

export function describeProject(store: ProjectStore, input: { name?: string; note?: string }): void {
  store.change('project.describe', 'Describe the project', (tx) => {
    tx.update('project', projectRow(store).id, {
      ...(input.name === undefined ? {} : { name: input.name }),
      ...(input.note === undefined ? {} : { note: input.note }),
    });
  });
}

/** Which scheme files the project keeps is not for settings to say; that stays as it is. */
export function setSettings(store: ProjectStore, wanted: ProjectSettings): void {
  const row = projectRow(store);
  const { schemeFiles: _theirs, ...rest } = wanted;
  const before = parseSettings(row.settings_json);
  const { schemeFiles } = before;
  const settings: ProjectSettings = { ...rest, ...(schemeFiles === undefined ? {} : { schemeFiles }) };
  refuseForeignLimit(settings, importedSchemes(store, settings));
  const changed = changedSettings(before, settings);
  store.change('settings.set', changed === '' ? 'Change settings' : `Change settings: ${changed}`, (tx) => {
    tx.update('project', row.id, { settings_json: JSON.stringify(settings) });
  });
}

/**
 * @param crs - system of `ring`; null where it is the project's own. The outline is kept as entered, in that system,
 *   except on a local grid.
 * @param source - in words: typed, drawn, or the name of a file
 * @throws AppError BAD_INPUT for an outline that is no lot, naming the corner
 */
export function setLot(
  store: ProjectStore,
  ring: readonly PositionNative[],
  crs: ProjectCrs | null,
  source: string,
): void {
  const native = toProjectNative(store, ring, crs);
  const origin = originFor(store, native);
  const frame = frameOf(store, origin);
  refuseDegrees(native, { noun: 'lot', projectCrs: frame.crs, lot: lotNative(store) });
  const { areaM2 } = validateLot(ringToFrame(frame, native), {}, 'lot', (at) => nativeText(frame, at));
  // On a local grid an outline of the map is kept as it lay when entered: other control points must not move it.
  const kept = frame.crs.kind === 'local' ? { ring: native, crs: null } : { ring, crs };
  store.change('lot.set', `Set the lot: ${Math.round(areaM2)} m2, ${clip(source)}`, (tx) => {
    tx.update('project', projectRow(store).id, { origin_x: origin[0], origin_y: origin[1] });
    for (const lot of store.rows('lot')) tx.remove('lot', lot.id);
    tx.insert('lot', {
      ring_json: JSON.stringify(kept.ring),
      crs_json: kept.crs === null ? null : JSON.stringify(kept.crs),
      source,
    });
  });
}

/** @param ring - in the project's own system; null removes the footprint */
export function setFootprint(
  store: ProjectStore,
  label: string,
  ring: readonly PositionNative[] | null,
): void {
  const origin = originFor(store, ring ?? []);
  const frame = frameOf(store, origin);
  if (ring !== null) {
    refuseDegrees(ring, { noun: 'footprint', projectCrs: frame.crs, lot: lotNative(store) });
    validateLot(ringToFrame(frame, ring), {}, 'footprint', (at) => nativeText(frame, at));
  }
  store.change('footprint.set', ring === null ? 'Remove the footprint' : 'Set the footprint', (tx) => {
    tx.update('project', projectRow(store).id, { origin_x: origin[0], origin_y: origin[1] });
    // Kept places are places of the old outline.
    for (const old of store.rows('placement')) tx.remove('placement', old.id);
    for (const old of store.rows('footprint')) tx.remove('footprint', old.id);
    if (ring !== null) tx.insert('footprint', { label, ring_json: JSON.stringify(ring) });
  });
}

/** A ruling replaces the sample's earlier one; the earlier one stays in the record. */
export function setRuling(
  store: ProjectStore,
  input: { sampleIds: readonly string[]; verdict: RulingVerdict | null; reason: string },
): void {
  const { verdict } = input;
  const reason = input.reason.trim();
  if (verdict !== null && reason === '') {
    throw new AppError('BAD_INPUT', 'A ruling needs a reason: it is printed in the report.', {
      field: 'reason',
    });
  }
  for (const id of input.sampleIds) {
    if (store.row('sample', id) === undefined) {
      throw new AppError('NOT_FOUND', `There is no sample "${id}" in this project.`);
    }
  }
  const words = { use: 'Use', 'leave-out': 'Leave out', 'lower-bound': 'Take as lower bound' } as const;
  const what = verdict === null ? 'Take back the ruling on' : words[verdict];
  const count = input.sampleIds.length;
  store.change('ruling.set', `${what}: ${count === 1 ? '1 sample' : `${count} samples`}`, (tx) => {
    const chosen = new Set(input.sampleIds);
    for (const old of store.rows('ruling')) if (chosen.has(old.sample_id)) tx.remove('ruling', old.id);
    if (verdict === null) return;
    for (const sampleId of chosen) {
      tx.insert('ruling', {
        sample_id: sampleId,
        verdict,
        reason,
        actor_id: store.actorId,
        at_utc: new Date().toISOString(),
      });
    }
  });
}
