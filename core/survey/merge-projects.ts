import type { Probe, Sample } from '../contract/model.ts';

/** What of a project two crews can both have written. */
export interface MergeSide {
  readonly probes: readonly Probe[];
  readonly samples: readonly Sample[];
}

export interface FieldConflict {
  readonly field: string;
  readonly mine: unknown;
  readonly theirs: unknown;
}

export interface MergeConflict {
  readonly kind: 'probe' | 'sample';
  readonly label: string;
  readonly mineId: string;
  readonly theirsId: string;
  /** Fields where both hold something and not the same. */
  readonly fields: readonly FieldConflict[];
  /** What to look at, in words. */
  readonly words: string;
}

/** Values that mine lacks and theirs has: nothing is overwritten by filling them. */
export interface MergeFill {
  readonly kind: 'probe' | 'sample';
  readonly mineId: string;
  readonly fields: Readonly<Record<string, unknown>>;
}

export interface MergePlan {
  readonly add: {
    readonly probes: readonly Probe[];
    /** With the id of the probe of mine that each belongs to, or of the probe to be added. */
    readonly samples: readonly {
      readonly sample: Sample;
      readonly probeId: string;
      readonly label: string;
    }[];
  };
  readonly fill: readonly MergeFill[];
  readonly same: { readonly probeLabels: readonly string[]; readonly sampleIds: readonly string[] };
  readonly conflicts: readonly MergeConflict[];
}

const SAME_PLACE_M = 0.05;
const PROBE_FIELDS = [
  'state',
  'depthM',
  'soil',
  'fineFractionPct',
  'permeabilityM2',
  'permeabilityClass',
  'note',
] as const;
const SAMPLE_FIELDS = [
  'kind',
  'takenUtc',
  'depthM',
  'radonKBqPerM3',
  'radonUKBqPerM3',
  'radonBelowKBqPerM3',
  'oxygenPct',
  'carbonDioxidePct',
  'suctionPa',
  'pumpedMl',
  'flowMlPerMin',
  'airPorosity',
  'tracerPct',
  'tracerShroudPct',
  'leakTestPassed',
  'saidDryerSpent',
  'saidTight',
  'saidFreshAir',
  'saidWater',
  'remark',
] as const;

/**
 * How a colleague's project goes into mine, by probe label (spaces and case apart) and, for samples, by probe, kind
 * and time, or place in the probe's list where times are missing. Every record of theirs comes out exactly once: added,
 * the same, filling gaps of mine, or in conflict. A record with both gaps and differences is in `fill` and `conflicts`.
 * Positions must be in one frame. Where two labels of one side are alike, none of theirs is matched: all are conflicts.
 */
export function planMerge(mine: MergeSide, theirs: MergeSide): MergePlan {
  const plan = {
    add: { probes: [] as Probe[], samples: [] as { sample: Sample; probeId: string; label: string }[] },
    fill: [] as MergeFill[],
    same: { probeLabels: [] as string[], sampleIds: [] as string[] },
    conflicts: [] as MergeConflict[],
  };
  const mineByLabel = groupBy(mine.probes, (p) => plainLabel(p.label));
  const theirsByLabel = groupBy(theirs.probes, (p) => plainLabel(p.label));
  const target = new Map<string, { probeId: string; label: string }>();
  for (const probe of theirs.probes) {
    const key = plainLabel(probe.label);
    const candidates = mineByLabel.get(key) ?? [];
    const [match] = candidates;
    if (match === undefined) {
      target.set(probe.id, { probeId: probe.id, label: probe.label });
      plan.add.probes.push(probe);
      continue;
    }
    target.set(probe.id, { probeId: match.id, label: probe.label });
    if (candidates.length > 1 || (theirsByLabel.get(key) ?? []).length > 1) {
      plan.conflicts.push({
        kind: 'probe',
        label: probe.label,
        mineId: match.id,
        theirsId: probe.id,
        fields: [],
        words: `The label ${probe.label} stands more than once: give each probe its own before merging.`,
      });
      continue;
    }
    compare(plan, 'probe', probe.label, match, probe, PROBE_FIELDS, placeConflict(match, probe));
  }
  planSamples(plan, mine, theirs, target);
  return plan;
}

type OpenPlan = {
  readonly add: { readonly samples: { sample: Sample; probeId: string; label: string }[] };
  readonly fill: MergeFill[];
  readonly same: { readonly probeLabels: string[]; readonly sampleIds: string[] };
  readonly conflicts: MergeConflict[];
};

function planSamples(
  plan: OpenPlan,
  mine: MergeSide,
  theirs: MergeSide,
  target: ReadonlyMap<string, { probeId: string; label: string }>,
): void {
  const mineByProbe = groupBy(mine.samples, (s) => s.probeId);
  const taken = new Set<string>();
  for (const sample of theirs.samples) {
    const at = target.get(sample.probeId);
    if (at === undefined) {
      plan.conflicts.push({
        kind: 'sample',
        label: '',
        mineId: '',
        theirsId: sample.id,
        fields: [],
        words: 'A sample of theirs belongs to no probe of theirs: look at their project first.',
      });
      continue;
    }
    const free = (mineByProbe.get(at.probeId) ?? []).filter(
      (s) => !taken.has(s.id) && s.kind === sample.kind,
    );
    const match = free.find((s) => isSameDraw(s, sample));
    if (match === undefined) {
      plan.add.samples.push({ sample, probeId: at.probeId, label: at.label });
      continue;
    }
    taken.add(match.id);
    compare(plan, 'sample', at.label, match, sample, SAMPLE_FIELDS, null);
  }
}

/** The same clock minute; without a time on one side, the same value or the same row of the same file. */
function isSameDraw(a: Sample, b: Sample): boolean {
  if (a.takenUtc !== null && b.takenUtc !== null)
    return Math.abs(Date.parse(a.takenUtc) - Date.parse(b.takenUtc)) < 60_000;
  if (a.source !== null && b.source !== null && a.source.file === b.source.file)
    return a.source.row === b.source.row;
  return a.radonKBqPerM3 === b.radonKBqPerM3 && a.radonBelowKBqPerM3 === b.radonBelowKBqPerM3;
}

function compare<T extends { readonly id: string }>(
  plan: OpenPlan,
  kind: 'probe' | 'sample',
  label: string,
  mine: T,
  theirs: T,
  fields: readonly (keyof T & string)[],
  place: FieldConflict | null,
): void {
  const differing: FieldConflict[] = place === null ? [] : [place];
  const missing: Record<string, unknown> = {};
  for (const field of fields) {
    const [a, b] = [mine[field], theirs[field]];
    if (a === b || b === null || b === '') continue;
    if (a === null || a === '' || isWeaker(field, a, b)) missing[field] = b;
    else if (!isWeaker(field, b, a)) differing.push({ field, mine: a, theirs: b });
  }
  if (Object.keys(missing).length > 0) plan.fill.push({ kind, mineId: mine.id, fields: missing });
  if (differing.length > 0) {
    const list = differing.map((d) => `${d.field}: ${show(d.mine)} or ${show(d.theirs)}`).join('; ');
    plan.conflicts.push({
      kind,
      label,
      mineId: mine.id,
      theirsId: theirs.id,
      fields: differing,
      words: `${kind === 'probe' ? 'Probe' : 'A sample of probe'} ${label} differs: ${list}.`,
    });
  } else if (Object.keys(missing).length === 0) {
    if (kind === 'probe') plan.same.probeLabels.push(label);
    else plan.same.sampleIds.push(theirs.id);
  }
}

/** A planned probe was driven by the other crew since: no conflict. */
function isWeaker(field: string, a: unknown, b: unknown): boolean {
  return field === 'state' && a === 'planned' && b !== 'planned';
}

function placeConflict(mine: Probe, theirs: Probe): FieldConflict | null {
  const dx = mine.positionM[0] - theirs.positionM[0];
  const dy = mine.positionM[1] - theirs.positionM[1];
  if (Math.hypot(dx, dy) <= SAME_PLACE_M) return null;
  return { field: 'positionM', mine: mine.positionM, theirs: theirs.positionM };
}

function show(value: unknown): string {
  if (Array.isArray(value)) return `(${value.map((v) => Number(v).toFixed(2)).join(', ')})`;
  return String(value);
}

function plainLabel(label: string): string {
  return label.trim().replace(/\s+/g, ' ').toLowerCase();
}

function groupBy<T>(items: readonly T[], key: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const k = key(item);
    const group = groups.get(k);
    if (group === undefined) groups.set(k, [item]);
    else group.push(item);
  }
  return groups;
}
