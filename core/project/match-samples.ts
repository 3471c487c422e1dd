/** Which sample each group of rows of a table of counts belongs to. */
import type { SampleKind } from '../contract/model.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { SampleRow } from '../store/rows.ts';
import type { HandlingDraft, ReadingDraft, ReadingTable } from './draft-readings.ts';

/** A sample drawn so near in time is the one meant. */
const SAME_SAMPLE_MS = 30 * 60_000;
/** All rows of one sample. */
export interface Group {
  readonly label: string;
  readonly probeId: string;
  readonly kind: SampleKind | null;
  readonly ordinal: number | null;
  readonly rows: readonly ReadingDraft[];
  readonly handling: HandlingDraft;
}

export interface Target {
  readonly group: Group;
  /** null: a sample to be made, of `kind`. */
  readonly sample: SampleRow | null;
  readonly kind: SampleKind;
  readonly fillEndMs: number | null;
}

export function groupDrafts(
  store: ProjectStore,
  fields: ReadingTable,
  drafts: readonly ReadingDraft[],
): Group[] {
  const key = (label: string) => label.toLowerCase().replace(/\s+/g, '');
  const probes = new Map(store.rows('probe').map((p) => [key(p.label), p]));
  const byKey = new Map<string, ReadingDraft[]>();
  for (const draft of drafts) {
    if (!probes.has(key(draft.label))) {
      fields.error(
        draft.row,
        'probe',
        `there is no probe '${draft.label}' in the project: bring in the probes with their places first`,
      );
      continue;
    }
    const { fillEndMs } = draft.handling;
    const id = JSON.stringify([key(draft.label), draft.kind, draft.ordinal, fillEndMs]);
    const rows = byKey.get(id);
    if (rows === undefined) byKey.set(id, [draft]);
    else rows.push(draft);
  }
  return [...byKey.values()].flatMap((rows) => {
    const [first] = rows;
    const probe = first === undefined ? undefined : probes.get(key(first.label));
    if (first === undefined || probe === undefined) return [];
    const good = rows.filter((r) => {
      if (r.instrument === first.instrument) return true;
      fields.error(
        r.row,
        'instrument',
        `row ${first.row} counted the same sample with '${first.instrument?.label ?? 'no instrument named'}'`,
      );
      return false;
    });
    const handling = mergeHandling(fields, good);
    const { label, kind, ordinal } = first;
    return [{ label, probeId: probe.id, kind, ordinal, rows: good, handling }];
  });
}

/** What the rows of one sample say together: what is said first stands. */
function mergeHandling(fields: ReadingTable, rows: readonly ReadingDraft[]): HandlingDraft {
  const merged: Record<string, unknown> = {};
  for (const { row, handling } of rows) {
    for (const [name, value] of Object.entries(handling)) {
      const before = merged[name] ?? null;
      if (before === null) merged[name] = value;
      else if (value !== null && value !== before)
        fields.warn(
          row,
          null,
          `says ${name} '${value}' where an earlier row of the sample says '${before}'; the earlier one is kept`,
        );
    }
  }
  return merged as unknown as HandlingDraft;
}

export const timeOf = (s: SampleRow): number | null => {
  const text = s.fill_end_utc ?? s.taken_utc;
  return text === null ? null : Date.parse(text);
};

/** The sample each group belongs to. A group that could be of several is refused with what to say. */
export function findSamples(store: ProjectStore, fields: ReadingTable, groups: readonly Group[]): Target[] {
  const counted = new Set(
    [...store.rows('reading'), ...store.rows('interval_value')].map((r) => r.sample_id),
  );
  const claimed = new Set<string>();
  const begun = new Set<string>();
  return groups.flatMap((group): Target[] => {
    const all = store.rows('sample', { probe_id: group.probeId });
    const fits = all
      .filter((s) => (group.kind === null ? s.kind !== 'blank' : s.kind === group.kind))
      .toSorted((a, b) => (timeOf(a) ?? 0) - (timeOf(b) ?? 0));
    const free = fits.filter((s) => !claimed.has(s.id));
    const chosen = chooseSample(group, fits, free, counted);
    if (typeof chosen === 'string') {
      for (const r of group.rows) fields.error(r.row, 'probe', chosen);
      return [];
    }
    const kind =
      chosen?.kind ??
      group.kind ??
      (all.some((s) => s.kind !== 'blank') || begun.has(group.probeId) ? 'repeat' : 'grab');
    if (chosen !== null) claimed.add(chosen.id);
    if (kind !== 'blank') begun.add(group.probeId);
    if (chosen !== null && chosen.instrument_id !== null && counted.has(chosen.id)) {
      const [row] = group.rows;
      if (row !== undefined && row.instrument !== null && row.instrument.id !== chosen.instrument_id) {
        for (const r of group.rows)
          fields.error(
            r.row,
            'instrument',
            `the counts of '${group.label}' that are there came from another instrument`,
          );
        return [];
      }
    }
    const fillEndMs = group.handling.fillEndMs ?? (chosen === null ? null : timeOf(chosen));
    return [{ group, sample: chosen, kind, fillEndMs }];
  });
}

/** null: one to be made. Text: what is not clear. */
function chooseSample(
  group: Group,
  fits: readonly SampleRow[],
  free: readonly SampleRow[],
  counted: ReadonlySet<string>,
): SampleRow | null | string {
  if (group.ordinal !== null) {
    const found = fits[group.ordinal - 1];
    if (found !== undefined) return found;
    return group.ordinal === fits.length + 1
      ? null
      : `'${group.label}' has ${fits.length} samples of that kind; there is no number ${group.ordinal}`;
  }
  const { fillEndMs } = group.handling;
  if (fillEndMs !== null) {
    const same = free.find((s) => s.fill_end_utc !== null && Date.parse(s.fill_end_utc) === fillEndMs);
    if (same !== undefined) return same;
    const near = free.filter(
      (s) =>
        s.fill_end_utc === null &&
        s.taken_utc !== null &&
        Math.abs(Date.parse(s.taken_utc) - fillEndMs) <= SAME_SAMPLE_MS,
    );
    if (near.length > 0) {
      const away = (s: SampleRow) => Math.abs(Date.parse(s.taken_utc ?? '') - fillEndMs);
      return near.reduce((best, s) => (away(s) < away(best) ? s : best));
    }
  }
  const bare = free.filter((s) => !counted.has(s.id) && (fillEndMs === null || timeOf(s) === null));
  if (bare.length === 1) return bare[0] ?? null;
  const again = free.filter((s) => counted.has(s.id));
  if (fillEndMs === null && bare.length === 0 && again.length === 1) return again[0] ?? null;
  if (bare.length + (fillEndMs === null ? again.length : 0) > 1)
    return `'${group.label}' has several samples: say which, by 'Kind', by 'Sample' (1 for the first drawn) or by 'Fill end'`;
  return null;
}
