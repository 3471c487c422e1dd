import { basename } from 'node:path';
import type { MergeChoice, MergeReport } from '../contract/merge.ts';
import { AppError } from '../errors.ts';
import type { PositionNative } from '../geo/frame.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { MergeConflict } from '../survey/merge-projects.ts';
import { plainLabel } from '../survey/merge-projects.ts';
import { originFor, projectRow } from './frame-of.ts';
import { takeFields } from './merge-fields.ts';
import { differencesOf, insertPlacements, isSameSystem, takeDifferences } from './merge-once.ts';
import {
  conflictsOf,
  filesToTake,
  fillsOf,
  keyOf,
  newLabel,
  planWhole,
  takenLabels,
  type WholePlan,
} from './merge-plan.ts';
import { converter } from './merge-side.ts';
import { whatOf } from './merge-words.ts';
import { addRuling, freeId, takeList, type Writing } from './merge-writing.ts';
import { recordHash } from './record.ts';

/**
 * Takes a colleague's project in, in one change: what is new is added, gaps are filled, and each conflict goes as
 * chosen. What is replaced stands in the record.
 * @param expectedHash - state of theirs that the choices were made for
 * @throws AppError CONFLICT where theirs has changed since; BAD_INPUT naming conflicts without a choice, or a label in use
 */
export function commitMerge(
  store: ProjectStore,
  other: ReadableStore,
  path: string,
  expectedHash: string,
  choices: Readonly<Record<string, MergeChoice>>,
): MergeReport {
  const file = basename(path);
  if ((recordHash(other) ?? '') !== expectedHash)
    throw new AppError('CONFLICT', `${file} has changed since it was looked through: look again.`, {
      file: path,
    });
  const apart = new Set(
    conflictsOf(planWhole(store, other))
      .filter((c) => c.kind !== 'sample' && choices[keyOf(c)]?.take === 'both')
      .map((c) => c.theirsId),
  );
  const plan = planWhole(store, other, apart);
  const conflicts = conflictsOf(plan);
  refuseUnchosen(conflicts, choices);
  const labels = labelsApart(plan, apart, choices);
  const fills = fillsOf(plan);
  const taken = differencesOf(store, other).filter((d) => choices[d.key]?.take === 'theirs');
  const replaced = conflicts.filter((c) => choices[keyOf(c)]?.take === 'theirs' && c.fields.length > 0);
  const count = { probes: 0, samples: 0, readings: 0 };
  const summary = () =>
    `Bring in ${file} (state ${expectedHash.slice(0, 12)}): ${count.probes} probes and ${count.samples} samples added, ${fills.length} records filled, ${replaced.length} of ${conflicts.length} conflicts as theirs${taken.length === 0 ? '' : `; taken as theirs: ${taken.map((d) => d.what).join(', ')}`}`;
  store.change('merge.commit', summary, (tx) => {
    const ids = new Map(
      [plan.probes, plan.samples, plan.instruments, plan.keepOuts, plan.days].flatMap((p) => [...p.matched]),
    );
    const writing: Writing = { tx, store, other, plan, file, ids, labels, count };
    for (const { sha256, name, mediaType } of filesToTake(other))
      store.putAttachment(other.attachment(sha256).bytes, name, mediaType);
    takeGround(writing);
    takeDifferences(tx, store, taken);
    addInstruments(writing);
    addProbes(writing);
    addKeepOuts(writing);
    addDays(writing);
    const added = new Set(plan.samples.add.map((s) => s.id));
    for (const c of plan.samples.conflicts) if (choices[keyOf(c)]?.take === 'both') added.add(c.theirsId);
    for (const id of plan.theirs.rows.samples.keys()) if (added.has(id)) addSample(writing, id);
    for (const id of added) linkSample(writing, id);
    // A sample kept beside mine brings its own values: mine is then left as it is.
    for (const { kind, mineId, theirsId, fields } of fills)
      if (!(kind === 'sample' && added.has(theirsId)))
        takeFields(writing, kind, mineId, theirsId, Object.keys(fields));
    for (const { kind, mineId, theirsId, fields } of replaced)
      takeFields(
        writing,
        kind,
        mineId,
        theirsId,
        fields.map((f) => f.field),
      );
  });
  return {
    file,
    summary: summary(),
    probesAdded: count.probes,
    samplesAdded: count.samples,
    readingsAdded: count.readings,
    recordsFilled: fills.length,
    recordsReplaced: replaced.length,
    differencesTaken: taken.map((d) => d.what),
  };
}

function refuseUnchosen(
  conflicts: readonly MergeConflict[],
  choices: Readonly<Record<string, MergeChoice>>,
): void {
  const open = conflicts.filter((c) => {
    const take = choices[keyOf(c)]?.take;
    return take === undefined || (take === 'both' && c.kind === 'day');
  });
  if (open.length === 0) return;
  const names = open.map((c) => whatOf(c.kind, c.label)).join('; ');
  throw new AppError('BAD_INPUT', `Say for each conflict whose version holds. Not said yet: ${names}.`, {
    field: 'choices',
  });
}

/** Labels of the records kept beside mine. @throws AppError BAD_INPUT for one that is in use */
function labelsApart(
  plan: WholePlan,
  apart: ReadonlySet<string>,
  choices: Readonly<Record<string, MergeChoice>>,
): Map<string, string> {
  const labels = new Map<string, string>();
  const parts = [
    ['probe', plan.theirs.probes],
    ['instrument', plan.theirs.instruments],
    ['keep-out', plan.theirs.keepOuts],
  ] as const;
  for (const [kind, records] of parts) {
    const taken = new Set(takenLabels(plan, kind));
    for (const { id, label } of records.filter((r) => apart.has(r.id))) {
      const wanted = choices[`${kind}:${id}`]?.label ?? newLabel(label, taken);
      if (taken.has(plainLabel(wanted)))
        throw new AppError('BAD_INPUT', `The label "${wanted}" is in use: choose another for ${label}.`, {
          field: 'label',
        });
      taken.add(plainLabel(wanted));
      labels.set(id, wanted);
    }
  }
  return labels;
}

function takeGround(w: Writing): void {
  const { store, other, tx } = w;
  const toMine = converter(other, store);
  const points = [...w.plan.theirs.rows.probes.values()].flatMap((p): PositionNative[] => {
    const [x, y] = [p.driven_x ?? p.planned_x, p.driven_y ?? p.planned_y];
    return x === null || y === null ? [] : [[x, y]];
  });
  const [ox, oy] = originFor(store, points);
  tx.update('project', projectRow(store).id, { origin_x: ox, origin_y: oy });
  const [lot] = other.rows('lot');
  if (lot !== undefined && store.rows('lot').length === 0) {
    const ring = JSON.parse(lot.ring_json) as PositionNative[];
    const isOwnSystem = lot.crs_json === null;
    tx.insert('lot', {
      ring_json: JSON.stringify(isOwnSystem ? toMine(ring) : ring),
      crs_json: lot.crs_json,
      source: `${lot.source} (of ${w.file})`,
      source_attachment: lot.source_attachment,
    });
  }
  const [footprint] = other.rows('footprint');
  if (footprint !== undefined && store.rows('footprint').length === 0) {
    const id = tx.insert('footprint', {
      label: footprint.label,
      ring_json: JSON.stringify(toMine(JSON.parse(footprint.ring_json) as PositionNative[])),
    });
    insertPlacements(tx, id, isSameSystem(store, other) ? other.rows('placement') : []);
  }
}

function addInstruments(w: Writing): void {
  for (const { id, label } of w.plan.instruments.add) {
    const row = w.plan.theirs.rows.instruments.get(id);
    if (row === undefined) continue;
    const { id: _id, ...cells } = row;
    const own = w.tx.insert('instrument', {
      ...cells,
      ...freeId(w, 'instrument', id),
      label: w.labels.get(id) ?? label,
    });
    w.ids.set(id, own);
    takeList(w, 'background', 'instrument_id', own, w.plan.theirs.rows.backgrounds.get(id));
  }
}

function addProbes(w: Writing): void {
  for (const { id, label } of w.plan.probes.add) {
    const row = w.plan.theirs.rows.probes.get(id);
    if (row === undefined) continue;
    const { id: _id, ...cells } = row;
    const own = w.tx.insert('probe', {
      ...cells,
      ...freeId(w, 'probe', id),
      label: w.labels.get(id) ?? label,
    });
    w.ids.set(id, own);
    w.count.probes += 1;
  }
}

function addKeepOuts(w: Writing): void {
  for (const { id, label } of w.plan.keepOuts.add) {
    const row = w.plan.theirs.rows.keepOuts.get(id);
    if (row === undefined) continue;
    const { id: _id, ...cells } = row;
    w.tx.insert('keep_out', { ...cells, ...freeId(w, 'keep_out', id), label: w.labels.get(id) ?? label });
  }
}

function addDays(w: Writing): void {
  for (const { id } of w.plan.days.add) {
    const row = w.plan.theirs.rows.days.get(id);
    if (row === undefined) continue;
    const { id: _id, control_probe_id: control, ...cells } = row;
    const own = w.tx.insert('field_day', {
      ...cells,
      ...freeId(w, 'field_day', id),
      control_probe_id: control === null ? null : (w.ids.get(control) ?? null),
    });
    takeList(w, 'field_event', 'field_day_id', own, w.plan.theirs.rows.events.get(id));
  }
}

function addSample(w: Writing, id: string): void {
  const row = w.plan.theirs.rows.samples.get(id);
  const probeId = w.ids.get(row?.probe_id ?? '');
  if (row === undefined || probeId === undefined)
    throw new AppError('INTERNAL', `No probe for the sample ${id} that is brought in`);
  const { id: _id, instrument_id: instrument, previous_sample_id: _before, carry_over, ...cells } = row;
  const own = w.tx.insert('sample', {
    ...cells,
    ...freeId(w, 'sample', id),
    probe_id: probeId,
    instrument_id: instrument === null ? null : (w.ids.get(instrument) ?? null),
    carry_over: carry_over === 'named' ? null : carry_over,
  });
  w.ids.set(id, own);
  w.count.samples += 1;
  addReadings(w, id, own);
  addRuling(w, id, own);
}

function addReadings(w: Writing, theirsId: string, own: string): void {
  const { readings, values } = w.plan.theirs.rows;
  w.count.readings += takeList(w, 'reading', 'sample_id', own, readings.get(theirsId));
  w.count.readings += takeList(w, 'interval_value', 'sample_id', own, values.get(theirsId));
}

/** Names the sample that was in the chamber before, where it came along or was there already. */
function linkSample(w: Writing, id: string): void {
  const row = w.plan.theirs.rows.samples.get(id);
  const own = w.ids.get(id);
  if (row?.carry_over !== 'named' || own === undefined) return;
  const before = w.ids.get(row.previous_sample_id ?? '');
  if (before !== undefined) w.tx.update('sample', own, { carry_over: 'named', previous_sample_id: before });
}
