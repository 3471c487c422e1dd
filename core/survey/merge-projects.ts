import type { PositionM } from '../contract/model.ts';

export type MergeKind = 'probe' | 'sample' | 'instrument' | 'keep-out' | 'day';
export type MergeCell = string | number | null;
export type MergeCells = Readonly<Record<string, MergeCell>>;

/** One thing of a project as two crews can both have written it. Cells in `SET_FIELDS` hold a JSON list. */
export interface MergeRecord {
  readonly id: string;
  readonly label: string;
  readonly cells: MergeCells;
  /** In one frame for both sides; null where it has no place. */
  readonly positionM: PositionM | null;
}

export interface MergeSample {
  readonly id: string;
  readonly probeId: string;
  readonly kind: string;
  readonly takenUtc: string | null;
  /** File by its hash: two crews' sheets can have one name. */
  readonly source: { readonly file: string; readonly row: number } | null;
  readonly cells: MergeCells;
}

export interface MergeSide {
  readonly probes: readonly MergeRecord[];
  readonly samples: readonly MergeSample[];
}

export interface FieldConflict {
  readonly field: string;
  readonly mine: MergeCell;
  readonly theirs: MergeCell;
}

export interface MergeConflict {
  readonly kind: MergeKind;
  readonly label: string;
  readonly mineId: string;
  readonly theirsId: string;
  /** Fields where both hold something and not the same; empty where it is not clear which of mine is meant. */
  readonly fields: readonly FieldConflict[];
}

/** Values that mine lacks and theirs has: nothing is overwritten by filling them. */
export interface MergeFill {
  readonly kind: MergeKind;
  readonly label: string;
  readonly mineId: string;
  readonly theirsId: string;
  readonly fields: MergeCells;
}

export interface RecordPlan<R> {
  readonly add: readonly R[];
  readonly fill: readonly MergeFill[];
  /** Ids of theirs that hold nothing mine does not. */
  readonly same: readonly string[];
  readonly conflicts: readonly MergeConflict[];
  /** Mine, by the id of theirs. */
  readonly matched: ReadonlyMap<string, string>;
}

export interface MergePlan {
  readonly probes: RecordPlan<MergeRecord>;
  /** An added one names the probe of mine that it belongs to, or the probe to be added. */
  readonly samples: RecordPlan<MergeSample & { readonly toProbeId: string; readonly label: string }>;
  /** Samples of theirs that belong to no probe of theirs. */
  readonly strays: readonly string[];
}

/** The field under which a conflict of places stands. */
export const PLACE_FIELD = 'place';
/** Fields whose cell is a JSON list: one that holds all of the other's entries only adds to it. */
export const SET_FIELDS: ReadonlySet<string> = new Set(['readings', 'values', 'backgrounds', 'events']);
/** How the reason of a ruling goes on that came with a merge. */
export const RULED_BEFORE = ' (ruled by ';
const SAME_PLACE_M = 0.05;

/**
 * How a colleague's probes and samples go into mine: probes by label (spaces and case apart), samples by probe, kind
 * and time, or place in the file, or value where times are missing. Every record of theirs comes out exactly once:
 * added, the same, filling gaps of mine, in conflict (one with gaps and differences is in `fill` and `conflicts`), or
 * a stray.
 * @param apart - probes of theirs to be added as others whatever their label
 */
export function planMerge(
  mine: MergeSide,
  theirs: MergeSide,
  apart: ReadonlySet<string> = new Set(),
): MergePlan {
  const probes = planRecords('probe', mine.probes, theirs.probes, apart);
  const mineByProbe = Map.groupBy(mine.samples, (s) => s.probeId);
  const labels = new Map(theirs.probes.map((p) => [p.id, p.label]));
  const open = openPlan<MergeSample & { toProbeId: string; label: string }>();
  const taken = new Set<string>();
  const strays: string[] = [];
  for (const sample of theirs.samples) {
    const label = labels.get(sample.probeId);
    if (label === undefined) {
      strays.push(sample.id);
      continue;
    }
    const toProbeId = probes.matched.get(sample.probeId) ?? sample.probeId;
    const free = (mineByProbe.get(toProbeId) ?? []).filter((s) => !taken.has(s.id) && s.kind === sample.kind);
    const match = free.find((s) => s.id === sample.id) ?? free.find((s) => isSameDraw(s, sample));
    if (match === undefined) {
      open.add.push({ ...sample, toProbeId, label });
      continue;
    }
    taken.add(match.id);
    open.matched.set(sample.id, match.id);
    compare(open, 'sample', label, match, sample, null);
  }
  return { probes, samples: open, strays };
}

/**
 * Records by label. Where two labels of one side are alike, none of theirs is matched without a conflict.
 * @param apart - records of theirs to be added as others whatever their label
 */
export function planRecords(
  kind: MergeKind,
  mine: readonly MergeRecord[],
  theirs: readonly MergeRecord[],
  apart: ReadonlySet<string> = new Set(),
): RecordPlan<MergeRecord> {
  const open = openPlan<MergeRecord>();
  const mineByLabel = Map.groupBy(mine, (r) => plainLabel(r.label));
  const theirsByLabel = Map.groupBy(theirs, (r) => plainLabel(r.label));
  for (const record of theirs) {
    const key = plainLabel(record.label);
    const candidates = mineByLabel.get(key) ?? [];
    const [match] = candidates;
    if (match === undefined || apart.has(record.id)) {
      open.add.push(record);
      continue;
    }
    open.matched.set(record.id, match.id);
    if (candidates.length > 1 || (theirsByLabel.get(key) ?? []).length > 1) {
      const { label, id: theirsId } = record;
      open.conflicts.push({ kind, label, mineId: match.id, theirsId, fields: [] });
      continue;
    }
    compare(open, kind, record.label, match, record, placeConflict(match, record));
  }
  return open;
}

/** Spaces and case apart. */
export function plainLabel(label: string): string {
  return label.trim().replace(/\s+/g, ' ').toLowerCase();
}

interface OpenPlan<R> {
  readonly add: R[];
  readonly fill: MergeFill[];
  readonly same: string[];
  readonly conflicts: MergeConflict[];
  readonly matched: Map<string, string>;
}

function openPlan<R>(): OpenPlan<R> {
  return { add: [], fill: [], same: [], conflicts: [], matched: new Map() };
}

/** The same clock minute; without a time on one side, the same row of the same file, or the same value. */
function isSameDraw(a: MergeSample, b: MergeSample): boolean {
  if (a.takenUtc !== null && b.takenUtc !== null)
    return Math.abs(Date.parse(a.takenUtc) - Date.parse(b.takenUtc)) < 60_000;
  if (a.source !== null && b.source !== null && a.source.file === b.source.file)
    return a.source.row === b.source.row;
  return VALUE_FIELDS.every((field) => (a.cells[field] ?? null) === (b.cells[field] ?? null));
}

const VALUE_FIELDS = [
  'radon_kbq_per_m3',
  'radon_below_kbq_per_m3',
  'radon_above_kbq_per_m3',
  'readings',
  'values',
] as const;

function compare<R>(
  plan: OpenPlan<R>,
  kind: MergeKind,
  label: string,
  mine: { readonly id: string; readonly cells: MergeCells },
  theirs: { readonly id: string; readonly cells: MergeCells },
  place: FieldConflict | null,
): void {
  const differing: FieldConflict[] = [];
  const missing: Record<string, MergeCell> = {};
  const isDrivenSince = isWeaker('state', mine.cells['state'] ?? null, theirs.cells['state'] ?? null);
  if (place !== null && isDrivenSince) missing[PLACE_FIELD] = place.theirs;
  else if (place !== null) differing.push(place);
  for (const [field, b] of Object.entries(theirs.cells)) {
    const a = mine.cells[field] ?? null;
    if (a === b || isEmpty(field, b)) continue;
    if (isEmpty(field, a) || isWeaker(field, a, b)) missing[field] = b;
    else if (!isWeaker(field, b, a)) differing.push({ field, mine: a, theirs: b });
  }
  const ids = { kind, label, mineId: mine.id, theirsId: theirs.id };
  if (Object.keys(missing).length > 0) plan.fill.push({ ...ids, fields: missing });
  if (differing.length > 0) plan.conflicts.push({ ...ids, fields: differing });
  if (differing.length === 0 && Object.keys(missing).length === 0) plan.same.push(theirs.id);
}

/** What was not noted: an empty cell, and a 0 where only a 1 was ever written down by hand. */
function isEmpty(field: string, cell: MergeCell): boolean {
  const isUnsaid = cell === 0 && (field === 'said_fresh_air' || field === 'said_water' || field === 'added');
  return cell === null || cell === '' || isUnsaid || (SET_FIELDS.has(field) && cell === '[]');
}

/** A planned probe was driven since, a list grew, a ruling says whose it was before an earlier merge: no conflict. */
function isWeaker(field: string, a: MergeCell, b: MergeCell): boolean {
  if (field === 'state') return a === 'planned' && b !== 'planned';
  if (field === 'ruling') return typeof b === 'string' && b.startsWith(`${a}${RULED_BEFORE}`);
  if (!SET_FIELDS.has(field) || typeof a !== 'string' || typeof b !== 'string') return false;
  const larger = new Set((JSON.parse(b) as unknown[]).map((entry) => JSON.stringify(entry)));
  return (JSON.parse(a) as unknown[]).every((entry) => larger.has(JSON.stringify(entry)));
}

function placeConflict(mine: MergeRecord, theirs: MergeRecord): FieldConflict | null {
  const [a, b] = [mine.positionM, theirs.positionM];
  if (b === null || a === null) return null;
  if (Math.hypot(a[0] - b[0], a[1] - b[1]) <= SAME_PLACE_M) return null;
  return { field: PLACE_FIELD, mine: placeText(a), theirs: placeText(b) };
}

function placeText(at: PositionM): string {
  return `(${at.map((v) => v.toFixed(2)).join(', ')})`;
}
