import type { ReadingsReport } from '../contract/readings.ts';
import { AppError } from '../errors.ts';
import type { Transaction } from '../store/change.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { ReadingRow, RowPatch } from '../store/rows.ts';
import type { TableOptions } from '../survey/csv-table.ts';
import type { HandlingDraft, ReadingDraft, ReadingTable } from './draft-readings.ts';
import { draftReading, openReadings } from './draft-readings.ts';
import { knownCodes } from './field-sheets.ts';
import { utcText } from './import-instruments.ts';
import type { Target } from './match-samples.ts';
import { findSamples, groupDrafts, timeOf } from './match-samples.ts';
import { openTable } from './readings-table.ts';

/** Starts and ends are equal to this. */
const SAME_TIME_S = 1e-3;

interface NewReading {
  readonly row: number;
  readonly startS: number;
  readonly lengthS: number;
  readonly liveS: number | null;
  readonly window: string;
  readonly counts: number;
}

interface NewValue {
  readonly row: number;
  readonly startS: number;
  readonly lengthS: number;
  readonly liveS: number | null;
  readonly radonKBqPerM3: number;
  readonly uKBqPerM3: number | null;
}

/**
 * Counts of a table, or values an instrument has made of them, in one change with the file: each goes to its sample by probe, kind, number or time; a sample
 * that is not there yet is made. Background rows go to their instrument. Rows with an error are named and left out;
 * counts known from before are not doubled.
 */
export function importReadings(
  store: ProjectStore,
  path: string,
  options: TableOptions & { readonly dryRun?: boolean } = {},
): ReadingsReport {
  const { bytes, table } = openTable(path, options);
  const fields = openReadings(table);
  const instruments = store.rows('instrument');
  const codes = knownCodes(store);
  const drafts = withoutOverRange(
    fields,
    fields.rows.flatMap((source) => draftReading(fields, source, instruments, codes) ?? []),
  );
  const groups = groupDrafts(
    store,
    fields,
    drafts.filter((d) => !d.isBackground),
  );
  const targets = findSamples(store, fields, groups);
  const found = targets.map((target) => ({
    target,
    fresh: newReadings(store, fields, target),
    values: newValues(store, fields, target),
  }));
  const backgrounds = newBackgrounds(
    store,
    drafts.filter((d) => d.isBackground),
  );
  const added = found.reduce((sum, f) => sum + f.fresh.length, 0);
  const valuesAdded = found.reduce((sum, f) => sum + f.values.length, 0);
  const read = found.filter((f) => f.fresh.length + f.values.length > 0);
  const offered = drafts.reduce(
    (sum, d) => sum + (fields.hasError(d.row) ? 0 : d.counts.length + (d.value === null ? 0 : 1)),
    0,
  );
  const report: ReadingsReport = {
    file: table.file,
    readingsAdded: added,
    valuesAdded,
    samplesRead: read.length,
    samplesAdded: read.filter((f) => f.target.sample === null).length,
    backgroundsAdded: backgrounds.length,
    rowsKnown: offered - added - valuesAdded - backgrounds.length,
    issues: fields.issues,
  };
  if (options.dryRun === true || added + valuesAdded + backgrounds.length === 0) return report;
  const what = [
    ...(added + backgrounds.length === 0 ? [] : [`${added} counts`]),
    ...(valuesAdded === 0 ? [] : [`${valuesAdded} interval values`]),
  ].join(' and ');
  const summary = `Import ${what} of ${report.samplesRead} samples from ${table.file}`;
  store.change('readings.import', summary, (tx) => {
    const attachment = store.putAttachment(bytes, table.file, 'text/csv');
    const ids = read.map((one) => ({ target: one.target, id: write(tx, one, attachment) }));
    for (const b of backgrounds) tx.insert('background', { ...b, source_attachment: attachment });
    for (const { target, id } of ids) linkBefore(store, tx, fields, target, id);
  });
  return report;
}

/** Intervals that are not there yet; one that overlaps another of its window is refused. */
function newReadings(store: ProjectStore, fields: ReadingTable, target: Target): NewReading[] {
  const held = target.sample === null ? [] : store.rows('reading', { sample_id: target.sample.id });
  const taken: { startS: number; endS: number; window: string | null; counts: number; place: string }[] =
    held.map((r: ReadingRow) => ({
      startS: r.start_s,
      endS: r.start_s + r.length_s,
      window: r.window,
      counts: r.counts,
      place: 'the project',
    }));
  return target.group.rows.flatMap((draft) => {
    const startS = startOf(fields, draft, target);
    if (startS === null) return [];
    return draft.counts.flatMap(({ window, counts }): NewReading[] => {
      const endS = startS + draft.lengthS;
      const clash = taken.find(
        (t) => t.window === window && t.startS < endS - SAME_TIME_S && startS < t.endS - SAME_TIME_S,
      );
      if (clash !== undefined) {
        const isSame =
          Math.abs(clash.startS - startS) <= SAME_TIME_S &&
          Math.abs(clash.endS - endS) <= SAME_TIME_S &&
          clash.counts === counts;
        if (!isSame || clash.place !== 'the project')
          fields.error(
            draft.row,
            'start',
            `${startS} to ${endS} s of window '${window}' overlaps ${clash.startS} to ${clash.endS} s with ${clash.counts} counts in ${clash.place}`,
          );
        return [];
      }
      taken.push({ startS, endS, window, counts, place: `row ${draft.row}` });
      const { row, lengthS, liveS } = draft;
      return [{ row, startS, lengthS, liveS, window, counts }];
    });
  });
}

/** Values of intervals that are not there yet; one that overlaps another is refused. */
function newValues(store: ProjectStore, fields: ReadingTable, target: Target): NewValue[] {
  const held = target.sample === null ? [] : store.rows('interval_value', { sample_id: target.sample.id });
  const taken = held.map((v) => ({
    startS: v.start_s,
    endS: v.start_s + v.length_s,
    radonKBqPerM3: v.radon_kbq_per_m3,
    place: 'the project',
  }));
  return target.group.rows.flatMap((draft): NewValue[] => {
    const { row, lengthS, liveS, value } = draft;
    if (value === null) return [];
    const startS = startOf(fields, draft, target);
    if (startS === null) return [];
    const endS = startS + lengthS;
    const clash = taken.find((t) => t.startS < endS - SAME_TIME_S && startS < t.endS - SAME_TIME_S);
    if (clash !== undefined) {
      const isSame =
        Math.abs(clash.startS - startS) <= SAME_TIME_S &&
        Math.abs(clash.endS - endS) <= SAME_TIME_S &&
        clash.radonKBqPerM3 === value.radonKBqPerM3;
      if (!isSame || clash.place !== 'the project')
        fields.error(
          row,
          'start',
          `${startS} to ${endS} s overlaps ${clash.startS} to ${clash.endS} s with ${clash.radonKBqPerM3} kBq/m3 in ${clash.place}`,
        );
      return [];
    }
    taken.push({ startS, endS, radonKBqPerM3: value.radonKBqPerM3, place: `row ${row}` });
    return [{ row, startS, lengthS, liveS, ...value }];
  });
}

function startOf(fields: ReadingTable, draft: ReadingDraft, target: Target): number | null {
  const { start } = draft;
  if (start === null) return fields.error(draft.row, 'start', 'the interval has no start');
  if ('ms' in start && target.fillEndMs === null)
    return fields.error(
      draft.row,
      'start',
      'a start by the clock needs the end of the fill: add a column "Fill end"',
    );
  const startS = 's' in start ? start.s : (start.ms - (target.fillEndMs ?? 0)) / 1000;
  if (startS >= 0) return startS;
  return fields.error(draft.row, 'start', `the count starts ${-startS} s before the fill has ended`);
}

function newBackgrounds(store: ProjectStore, drafts: readonly ReadingDraft[]) {
  const key = (b: {
    instrument_id: string;
    window: string;
    counts: number;
    live_s: number;
    taken_utc: string | null;
  }) => JSON.stringify([b.instrument_id, b.window, b.counts, b.live_s, b.taken_utc]);
  const known = new Set(store.rows('background').map(key));
  return drafts.flatMap((draft) =>
    draft.counts.flatMap(({ window, counts }) => {
      const { start, lengthS, instrument } = draft;
      if (instrument === null) return [];
      const middleMs = start !== null && 'ms' in start ? start.ms + 500 * lengthS : draft.handling.fillEndMs;
      const background = {
        instrument_id: instrument.id,
        window,
        counts,
        live_s: draft.liveS ?? lengthS,
        taken_utc: middleMs === null ? null : utcText(middleMs),
        source_row: draft.row,
      };
      if (known.has(key(background))) return [];
      known.add(key(background));
      return [background];
    }),
  );
}

interface NewOfSample {
  readonly target: Target;
  readonly fresh: readonly NewReading[];
  readonly values: readonly NewValue[];
}

function write(tx: Transaction, { target, fresh, values }: NewOfSample, attachment: string): string {
  const { group, sample } = target;
  const [first] = group.rows;
  if (first === undefined) throw new AppError('INTERNAL', `No rows of sample '${group.label}'`);
  const cells = handlingCells(group.handling, first);
  const id =
    sample?.id ??
    tx.insert('sample', {
      probe_id: group.probeId,
      kind: target.kind,
      taken_utc: group.handling.fillEndMs === null ? null : utcText(group.handling.fillEndMs),
      said_fresh_air: 0,
      said_water: 0,
      source_attachment: attachment,
      source_row: first.row,
      ...cells,
    });
  if (sample !== null) tx.update('sample', id, cells);
  for (const r of fresh)
    tx.insert('reading', {
      sample_id: id,
      start_s: r.startS,
      length_s: r.lengthS,
      live_s: r.liveS,
      counts: r.counts,
      window: r.window,
      source_attachment: attachment,
      source_row: r.row,
    });
  for (const v of values)
    tx.insert('interval_value', {
      sample_id: id,
      start_s: v.startS,
      length_s: v.lengthS,
      live_s: v.liveS,
      radon_kbq_per_m3: v.radonKBqPerM3,
      u_kbq_per_m3: v.uKBqPerM3,
      source_attachment: attachment,
      source_row: v.row,
    });
  return id;
}

/** Only what the file says: an empty cell leaves the sample as it was. */
function handlingCells(h: HandlingDraft, first: ReadingDraft): RowPatch<'sample'> {
  const said = {
    fill_start_utc: h.fillStartMs === null ? null : utcText(h.fillStartMs),
    fill_end_utc: h.fillEndMs === null ? null : utcText(h.fillEndMs),
    fill_s: h.fillS,
    fill_way: h.fillWay,
    transit_s: h.transitS,
    flush_s: h.flushS,
    pumped_ml: h.pumpedMl,
    line_ml: h.lineMl,
    soil_gas_ml: h.soilGasMl,
    residual_share: h.residualShare,
    tracer_pct: h.tracerPct,
    tracer_shroud_pct: h.shroudPct,
    carry_over: h.before !== null && isNone(h.before) ? ('none' as const) : null,
    air_correction: h.correction === 'none' ? null : h.correction,
    ingrowth_s: h.ingrowthS,
    instrument_id: first.instrument?.id ?? null,
  };
  const given = Object.fromEntries(Object.entries(said).filter(([, value]) => value !== null));
  return {
    ...given,
    ...(h.correction === 'none' ? { air_correction: null } : {}),
  };
}

const isNone = (text: string) => /^(none|clean|no)$/i.test(text.trim());

/** The last sample of the probe named in 'Before' that the same instrument was filled with earlier. */
function linkBefore(
  store: ProjectStore,
  tx: Transaction,
  fields: ReadingTable,
  target: Target,
  id: string,
): void {
  const { before } = target.group.handling;
  const [first] = target.group.rows;
  if (before === null || isNone(before) || first === undefined || first.instrument === null) return;
  const probe = store.rows('probe').find((p) => p.label.toLowerCase() === before.toLowerCase());
  const atMs = target.fillEndMs;
  const earlier = store
    .rows('sample', { instrument_id: first.instrument.id })
    .filter((s) => s.probe_id === probe?.id && s.id !== id)
    .filter((s) => atMs !== null && (timeOf(s) ?? Number.POSITIVE_INFINITY) < atMs)
    .toSorted((a, b) => (timeOf(a) ?? 0) - (timeOf(b) ?? 0))
    .at(-1);
  if (earlier === undefined) {
    fields.warn(
      first.row,
      'before',
      `'${before}' has no earlier sample on '${first.instrument.label}'; the order in time is used`,
    );
    return;
  }
  tx.update('sample', id, { carry_over: 'named', previous_sample_id: earlier.id });
}

/** A probe with one interval over the instrument's range takes none of its others: their mean would be too low. */
function withoutOverRange(fields: ReadingTable, drafts: readonly ReadingDraft[]): readonly ReadingDraft[] {
  const over = new Map<string, number>();
  for (const source of fields.rows) {
    if (!/^[>≥]/u.test(fields.text(source, 'radon') ?? '')) continue;
    const label = fields.text(source, 'probe') ?? fields.text(source, 'code') ?? '';
    over.set(label.toLowerCase(), source.row);
  }
  return drafts.filter((draft) => {
    const row = draft.value === null ? undefined : over.get(draft.label.toLowerCase());
    if (row === undefined) return true;
    fields.error(
      draft.row,
      'radon',
      `row ${row} says that ${draft.label} went over the instrument's range: a mean of its other intervals would be too low, so none is taken. Enter the sample as '>' and the end of the range in a table of samples`,
    );
    return false;
  });
}
