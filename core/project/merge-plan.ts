/** A colleague's project laid beside the open one: what would come in, and what the two say differently. */
import { basename } from 'node:path';
import type { MergeConflictView, MergePreview } from '../contract/merge.ts';
import { metresPerUnit } from '../geo/crs.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type {
  MergeConflict,
  MergeFill,
  MergePlan,
  MergeRecord,
  RecordPlan,
} from '../survey/merge-projects.ts';
import { plainLabel, planMerge, planRecords } from '../survey/merge-projects.ts';
import { toMetres } from '../units.ts';
import { projectCrs, projectRow } from './frame-of.ts';
import { differencesOf, isSameSystem } from './merge-once.ts';
import { converter, type MergeParts, readParts } from './merge-side.ts';
import { cellText, fieldName, whatOf } from './merge-words.ts';
import { recordHash } from './record.ts';

/** Probes of two labels so near each other are likely one. */
const LIKELY_SAME_M = 0.05;

export interface WholePlan extends MergePlan {
  readonly mine: MergeParts;
  readonly theirs: MergeParts;
  readonly instruments: RecordPlan<MergeRecord>;
  readonly keepOuts: RecordPlan<MergeRecord>;
  readonly days: RecordPlan<MergeRecord>;
}

/** @param apart - ids of theirs that are to be kept as others whatever their label */
export function planWhole(
  store: ReadableStore,
  other: ReadableStore,
  apart: ReadonlySet<string> = new Set(),
): WholePlan {
  const crs = projectCrs(store);
  const unitM = crs.kind === 'local' ? toMetres(1, crs.unit) : metresPerUnit(crs.code);
  const mine = readParts(store, (points) => [...points], unitM);
  const theirs = readParts(other, converter(other, store), unitM);
  return {
    mine,
    theirs,
    ...planMerge(mine, theirs, apart),
    instruments: planRecords('instrument', mine.instruments, theirs.instruments, apart),
    keepOuts: planRecords('keep-out', mine.keepOuts, theirs.keepOuts, apart),
    days: planRecords('day', mine.days, theirs.days),
  };
}

export const keyOf = (conflict: MergeConflict): string => `${conflict.kind}:${conflict.theirsId}`;

export function conflictsOf(plan: WholePlan): MergeConflict[] {
  return [plan.probes, plan.samples, plan.instruments, plan.keepOuts, plan.days].flatMap((p) => p.conflicts);
}

export function fillsOf(plan: WholePlan): MergeFill[] {
  return [plan.probes, plan.samples, plan.instruments, plan.keepOuts, plan.days].flatMap((p) => p.fill);
}

/** Kept files of theirs but for their issued reports, which are theirs alone. */
export function filesToTake(other: ReadableStore) {
  const issued = new Set([
    ...other.rows('issued').flatMap((row) => [row.state_sha256, row.report_sha256]),
    ...other.rows('issued_file').map((row) => row.file_sha256),
  ]);
  return other.attachments().filter((a) => !issued.has(a.sha256));
}

/** What `commitMerge` would do; nothing is written. */
export function previewMerge(store: ReadableStore, other: ReadableStore, path: string): MergePreview {
  const plan = planWhole(store, other);
  const known = new Set(store.attachments().map((a) => a.sha256));
  const probeConflicts = new Map(plan.probes.conflicts.map((c) => [c.theirsId, keyOf(c)]));
  return {
    file: basename(path),
    name: projectRow(other).name,
    recordHash: recordHash(other) ?? '',
    added: {
      probes: plan.probes.add.map((p) => p.label),
      samples: plan.samples.add.map((s) => s.label),
      instruments: plan.instruments.add.map((i) => i.label),
      keepOuts: plan.keepOuts.add.map((k) => k.label),
      days: plan.days.add.map((d) => d.label),
      files: filesToTake(other)
        .filter((a) => !known.has(a.sha256))
        .map((a) => a.name),
    },
    filled: fillsOf(plan).map((fill) => ({
      what: whatOf(fill.kind, fill.label),
      fields: Object.entries(fill.fields).map(
        ([field, cell]) => `${fieldName(field)}: ${cellText(field, cell)}`,
      ),
    })),
    same: [plan.probes, plan.samples, plan.instruments, plan.keepOuts, plan.days].reduce(
      (sum, p) => sum + p.same.length,
      0,
    ),
    conflicts: conflictsOf(plan).map((conflict) => viewOf(conflict, plan, probeConflicts)),
    differences: differencesOf(store, other).map(({ take: _take, ...view }) => view),
    notes: notesOf(store, other, plan),
  };
}

function viewOf(
  conflict: MergeConflict,
  plan: WholePlan,
  probeConflicts: ReadonlyMap<string, string>,
): MergeConflictView {
  const { kind, label, theirsId } = conflict;
  const theirProbe = plan.theirs.rows.samples.get(theirsId)?.probe_id ?? '';
  return {
    key: keyOf(conflict),
    kind,
    what: whatOf(kind, label),
    fields:
      conflict.fields.length === 0
        ? [{ name: 'label', mine: 'stands more than once', theirs: label }]
        : conflict.fields.map(({ field, mine, theirs }) => ({
            name: fieldName(field),
            mine: cellText(field, mine),
            theirs: cellText(field, theirs),
          })),
    allowsBoth: kind !== 'day',
    newLabel: kind === 'day' || kind === 'sample' ? null : newLabel(label, takenLabels(plan, kind)),
    under: kind === 'sample' ? (probeConflicts.get(theirProbe) ?? null) : null,
  };
}

/** Labels that a record of theirs kept beside mine cannot have. */
export function takenLabels(plan: WholePlan, kind: 'probe' | 'instrument' | 'keep-out'): ReadonlySet<string> {
  const part = kind === 'probe' ? 'probes' : kind === 'instrument' ? 'instruments' : 'keepOuts';
  return new Set([...plan.mine[part], ...plan.theirs[part]].map((r) => plainLabel(r.label)));
}

export function newLabel(label: string, taken: ReadonlySet<string>): string {
  for (let n = 2; ; n += 1) {
    const wanted = `${label.trim()}-${n}`;
    if (!taken.has(plainLabel(wanted))) return wanted;
  }
}

function notesOf(store: ReadableStore, other: ReadableStore, plan: WholePlan): string[] {
  const notes: string[] = [];
  if (projectCrs(store).kind === 'local' && projectCrs(other).kind === 'local')
    notes.push(
      'Both projects are on a local grid: taken to be the same grid, with the same origin and direction. Check that probes both crews know lie at the same place.',
    );
  for (const probe of plan.probes.add) {
    const near = plan.mine.probes.find(
      (m) =>
        m.positionM !== null &&
        probe.positionM !== null &&
        Math.hypot(m.positionM[0] - probe.positionM[0], m.positionM[1] - probe.positionM[1]) <= LIKELY_SAME_M,
    );
    if (near !== undefined)
      notes.push(`Their new probe ${probe.label} lies where your ${near.label} is: is it the same hole?`);
  }
  if (plan.strays.length > 0)
    notes.push(
      `${plan.strays.length} of their samples belong to no probe of theirs and are not taken in: look at their project.`,
    );
  const has = (side: ReadableStore, table: 'lot' | 'footprint' | 'placement' | 'control_point') =>
    side.rows(table).length > 0;
  if (has(other, 'lot'))
    notes.push(
      has(store, 'lot')
        ? 'Their outline of the lot: not taken in, yours stays.'
        : 'Their outline of the lot comes in, as yours has none.',
    );
  if (has(other, 'footprint') && !has(store, 'footprint'))
    notes.push(
      `Their footprint comes in, as yours has none${has(other, 'placement') ? ', with its placements' : ''}.`,
    );
  const [own, theirs] = [projectCrs(store), projectCrs(other)];
  const isOneSystem = isSameSystem(store, other);
  if (has(other, 'placement') && !isOneSystem)
    notes.push('Their placements: not taken in, since they are told along the axes of another system.');
  if (has(other, 'control_point') && (own.kind !== 'local' || theirs.kind !== 'local' || !isOneSystem))
    notes.push('Their control points: not taken in, since they tie another grid than yours.');
  notes.push('Texts of the sheets, site plans and issued reports of theirs are not taken over.');
  return notes;
}
