import type { SampleEntry } from '../contract/hand-entry.ts';
import { AppError } from '../errors.ts';
import type { Transaction } from '../store/change.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { ProbeRow, SampleRow } from '../store/rows.ts';
import { checkIntervals, typedIntervals, writeIntervals } from './enter-intervals.ts';
import { originFor, projectRow } from './frame-of.ts';
import { labelsOf } from './reduced-samples.ts';
import { sampleCells, sampleValues } from './sample-cells.ts';

/**
 * A sample typed in, or one typed in before changed. A probe that is not there yet is made at the place given; a
 * planned one counts as driven, or as refused, where it was planned.
 * @returns id of the sample
 * @throws AppError BAD_INPUT naming the field; CONFLICT for a sample that came from a file
 */
export function enterSample(
  store: ProjectStore,
  input: { readonly sampleId: string | null; readonly entry: SampleEntry },
): string {
  const { sampleId, entry } = input;
  const old = sampleId === null ? null : handMade(store, sampleId);
  const label = entry.probeLabel.trim();
  const probe = store.rows('probe').find((p) => p.label.toLowerCase() === label.toLowerCase()) ?? null;
  checkEntry(entry, probe);
  if (entry.saidRefused) checkRefused(store, entry, probe, sampleId);
  const intervals = checkIntervals(store, entry, sampleId);
  const what = `${old === null ? 'Enter' : 'Change'} a sample of ${probe?.label ?? label} by hand`;
  return store.change('sample.enter', what, (tx) => {
    const probeId = probe === null ? makeProbe(store, tx, label, entry) : probe.id;
    if (probe !== null) setState(tx, probe, entry);
    const cells = {
      probe_id: probeId,
      ...sampleCells(entry),
      // An explicit no of the handling stays one.
      said_tight: entry.saidTight ? 1 : old?.said_tight === 0 ? 0 : null,
      leak_test_passed: entry.leakTestPassed === null ? null : entry.leakTestPassed ? 1 : 0,
      instrument_id: entry.instrumentId,
      ingrowth_s: entry.ingrowthS,
    } as const;
    const id = old?.id ?? tx.insert('sample', cells);
    if (old !== null) tx.update('sample', id, cells);
    if (old !== null && old.probe_id !== probeId) freeProbe(store, tx, old.probe_id);
    writeIntervals(store, tx, id, intervals);
    return id;
  });
}

/** A sample as it was typed; null for one that came from a file. @throws AppError NOT_FOUND */
export function entryOfSample(store: ReadableStore, sampleId: string): SampleEntry | null {
  const row = sampleRow(store, sampleId);
  if (row.source_attachment !== null) return null;
  const probe = store.row('probe', row.probe_id);
  return {
    probeLabel: probe?.label ?? '',
    place: null,
    soil: null,
    permeabilityClass: null,
    ...sampleValues(row),
    saidTight: row.said_tight === 1,
    saidRefused: row.kind === 'grab' && probe?.state === 'refused',
    leakTestPassed: row.leak_test_passed === null ? null : row.leak_test_passed === 1,
    instrumentId: row.instrument_id,
    ingrowthS: row.ingrowth_s,
    ...typedIntervals(store, sampleId),
  };
}

/**
 * Takes a sample out that was typed in, with its ruling and counts. A probe made for it goes too, and a planned one
 * counts as planned again, where no other sample is of it.
 * @throws AppError CONFLICT for a sample from a file, with counts from a file, or named as the one before another
 */
export function removeSample(store: ProjectStore, sampleId: string): void {
  const row = handMade(store, sampleId);
  const label = labelsOf(store).get(sampleId) ?? sampleId;
  const counts = [
    ...store.rows('reading', { sample_id: sampleId }),
    ...store.rows('interval_value', { sample_id: sampleId }),
  ];
  const file = counts.find((r) => r.source_attachment !== null);
  if (file !== undefined)
    throw new AppError(
      'CONFLICT',
      `The sample of ${label} carries counts from a file: take out what that file brought first, or leave the sample out by a ruling.`,
    );
  const after = store.rows('sample', { previous_sample_id: sampleId });
  if (after.length > 0) {
    const names = after.map((s) => labelsOf(store).get(s.id) ?? s.id).join(', ');
    throw new AppError(
      'CONFLICT',
      `The sample of ${label} is named as the one before ${names}: change that first.`,
    );
  }
  store.change('sample.remove', `Remove the sample of ${label} entered by hand`, (tx) => {
    for (const r of store.rows('ruling', { sample_id: sampleId })) tx.remove('ruling', r.id);
    for (const r of store.rows('reading', { sample_id: sampleId })) tx.remove('reading', r.id);
    for (const v of store.rows('interval_value', { sample_id: sampleId })) tx.remove('interval_value', v.id);
    tx.remove('sample', sampleId);
    freeProbe(store, tx, row.probe_id);
  });
}

function sampleRow(store: ReadableStore, id: string): SampleRow {
  const row = store.row('sample', id);
  if (row === undefined) throw new AppError('NOT_FOUND', `There is no sample "${id}" in this project.`);
  return row;
}

function handMade(store: ReadableStore, id: string): SampleRow {
  const row = sampleRow(store, id);
  if (row.source_attachment === null) return row;
  const label = labelsOf(store).get(id) ?? id;
  const { name } = store.attachment(row.source_attachment);
  throw new AppError(
    'CONFLICT',
    `The sample of ${label} came from ${name}, row ${row.source_row}: it keeps its origin. Leave it out by a ruling with its reason, and enter the right one by hand.`,
  );
}

function checkEntry(entry: SampleEntry, probe: ProbeRow | null): void {
  const refuse = (field: string, message: string) => {
    throw new AppError('BAD_INPUT', message, { field });
  };
  if (probe === null && entry.place === null && entry.kind !== 'blank')
    refuse('place', `There is no probe ${entry.probeLabel.trim()} yet: say where it is.`);
  if (probe === null && entry.place === null)
    refuse(
      'probeLabel',
      `There is no probe ${entry.probeLabel.trim()}: a blank belongs to the probe it was drawn at.`,
    );
  if (probe !== null && entry.place !== null)
    refuse('place', `Probe ${probe.label} has its place already: leave it as it is.`);
  const above = entry.radonAboveKBqPerM3 ?? null;
  if (entry.radonKBqPerM3 !== null && entry.radonBelowKBqPerM3 !== null)
    refuse('radonBelowKBqPerM3', 'A sample has a value or was not detected, not both.');
  if (above !== null && (entry.radonKBqPerM3 !== null || entry.radonBelowKBqPerM3 !== null))
    refuse(
      'radonAboveKBqPerM3',
      'A sample over the range of its instrument has neither a value nor a limit it lies below.',
    );
  if (entry.radonUKBqPerM3 !== null && entry.radonKBqPerM3 === null)
    refuse('radonUKBqPerM3', 'An uncertainty needs the value it belongs to.');
  if (entry.readings.length > 0 && entry.instrumentId === null)
    refuse('instrumentId', 'Counts need the instrument they were counted with.');
}

/** @throws AppError BAD_INPUT where something was drawn there after all */
function checkRefused(
  store: ReadableStore,
  entry: SampleEntry,
  probe: ProbeRow | null,
  sampleId: string | null,
): void {
  const refuse = (message: string) => new AppError('BAD_INPUT', message, { field: 'saidRefused' });
  const isRead =
    entry.radonKBqPerM3 !== null ||
    entry.radonBelowKBqPerM3 !== null ||
    entry.radonAboveKBqPerM3 !== undefined ||
    entry.readings.length + entry.values.length > 0;
  if (isRead || entry.kind !== 'grab')
    throw refuse(
      'A probe that could not be driven gives no gas: take out the value, or the tick at refused.',
    );
  const others = store
    .rows('sample', { probe_id: probe?.id ?? '' })
    .filter((s) => s.id !== sampleId && s.kind !== 'blank');
  if (others.length > 0)
    throw refuse(
      `Probe ${probe?.label} has a sample already, so it was driven. Enter the hole beside it under a label of its own.`,
    );
}

/** A blank is drawn beside the hole: it says nothing of the probe. */
function setState(tx: Transaction, probe: ProbeRow, entry: SampleEntry): void {
  const { state, planned_x, planned_y, driven_x, driven_y } = probe;
  if (entry.kind === 'blank' || state === 'abandoned') return;
  tx.update('probe', probe.id, {
    state: entry.saidRefused ? 'refused' : 'driven',
    driven_x: driven_x ?? planned_x,
    driven_y: driven_y ?? planned_y,
  });
}

function makeProbe(store: ProjectStore, tx: Transaction, label: string, entry: SampleEntry): string {
  const [x, y] = entry.place ?? [null, null];
  if (x !== null && y !== null) {
    const [ox, oy] = originFor(store, [[x, y]]);
    tx.update('project', projectRow(store).id, { origin_x: ox, origin_y: oy });
  }
  return tx.insert('probe', {
    label,
    state: entry.saidRefused ? 'refused' : 'driven',
    driven_x: x,
    driven_y: y,
    depth_m: entry.depthM,
    soil: entry.soil,
    permeability_class: entry.permeabilityClass,
    added: 0,
  });
}

/** What a probe is once its last sample is gone. One from a file keeps a sample of that file, so it never comes here. */
function freeProbe(store: ProjectStore, tx: Transaction, probeId: string): void {
  const probe = store.row('probe', probeId);
  if (probe === undefined || store.rows('sample', { probe_id: probeId }).length > 0) return;
  const isControl = store.rows('field_day', { control_probe_id: probeId }).length > 0;
  const wasTried = probe.state === 'driven' || probe.state === 'refused';
  if (probe.planned_x === null && wasTried && !isControl) tx.remove('probe', probeId);
  const isWherePlanned = probe.driven_x === probe.planned_x && probe.driven_y === probe.planned_y;
  if (probe.planned_x !== null && wasTried && isWherePlanned)
    tx.update('probe', probeId, { state: 'planned', driven_x: null, driven_y: null });
}
