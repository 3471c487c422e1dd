/** A sample as it stands in the fields of its form, and back. */

import type { SampleEntry } from '../../core/contract/hand-entry.ts';
import type { ProjectView, SampleKind } from '../../core/contract/model.ts';
import { fromKBqPerM3, fromMetres, toKBqPerM3, toMetres } from '../../core/units.ts';
import { type ShownRadonUnit, trimNumber } from '../format.ts';
import { parseCoordinate } from './corners.ts';
import { type IntervalTexts, intervalRows, readIngrowthS, readIntervals } from './interval-texts.ts';
import type { LeakTestText } from './LeakTestField.tsx';

export const ENTRY_FIELDS = [
  'x',
  'y',
  'taken',
  'depth',
  'radon',
  'uncertainty',
  'below',
  'above',
  'oxygen',
  'carbonDioxide',
  'suction',
] as const;
export type EntryField = (typeof ENTRY_FIELDS)[number];

export interface EntryTexts {
  readonly label: string;
  readonly kind: SampleKind;
  readonly fields: Readonly<Record<EntryField, string>>;
  readonly k: '1' | '2';
  readonly soil: string;
  readonly permeabilityClass: '' | 'low' | 'medium' | 'high';
  readonly saidFreshAir: boolean;
  readonly saidWater: boolean;
  readonly saidTight: boolean;
  readonly saidRefused: boolean;
  readonly leakTest: LeakTestText;
  readonly remark: string;
  readonly instrumentId: string;
  readonly intervals: readonly IntervalTexts[];
  /** Minutes until values count towards the mean; empty: what is usual for the instrument. */
  readonly ingrowthMin: string;
}

export interface EntryUnits {
  readonly radon: ShownRadonUnit;
  readonly feet: boolean;
}

export function textsOf(entry: SampleEntry | null, units: EntryUnits, depthM: number): EntryTexts {
  const number = (value: number | null) => (value === null ? '' : trimNumber(value, 9));
  const radon = (value: number | null) => number(value === null ? null : fromKBqPerM3(value, units.radon));
  const depth = entry === null ? depthM : entry.depthM;
  return {
    label: entry?.probeLabel ?? '',
    kind: entry?.kind ?? 'grab',
    fields: {
      x: '',
      y: '',
      taken: entry?.takenUtc?.slice(0, 16).replace('T', ' ') ?? '',
      depth: number(depth === null ? null : units.feet ? fromMetres(depth, 'ft') : depth),
      radon: radon(entry?.radonKBqPerM3 ?? null),
      uncertainty: radon(entry?.radonUKBqPerM3 == null ? null : 2 * entry.radonUKBqPerM3),
      below: radon(entry?.radonBelowKBqPerM3 ?? null),
      above: radon(entry?.radonAboveKBqPerM3 ?? null),
      oxygen: number(entry?.oxygenPct ?? null),
      carbonDioxide: number(entry?.carbonDioxidePct ?? null),
      suction: number(entry?.suctionPa ?? null),
    },
    k: '2',
    soil: entry?.soil ?? '',
    permeabilityClass: entry?.permeabilityClass ?? '',
    saidFreshAir: entry?.saidFreshAir ?? false,
    saidWater: entry?.saidWater ?? false,
    saidTight: entry?.saidTight ?? false,
    saidRefused: entry?.saidRefused ?? false,
    leakTest: entry?.leakTestPassed == null ? '' : entry.leakTestPassed ? 'passed' : 'failed',
    remark: entry?.remark ?? '',
    instrumentId: entry?.instrumentId ?? '',
    intervals: intervalRows(entry, units.radon),
    ingrowthMin: number(entry?.ingrowthS == null ? null : entry.ingrowthS / 60),
  };
}

/** Null where the text is no day and time, such as 2026-05-12 09:30. */
function utcOf(text: string): string | null {
  const [, day, time] = /^(\d{4}-\d{2}-\d{2})[ T](\d{2}:\d{2})$/.exec(text) ?? [];
  const ms = Date.parse(`${day}T${time}:00Z`);
  // A day that the month does not have would roll over into the next.
  const isReal = !Number.isNaN(ms) && new Date(ms).toISOString().startsWith(`${day}T${time}`);
  return isReal ? new Date(ms).toISOString() : null;
}

/**
 * @param isNewProbe - its place is then needed
 * @returns the entry, or the fields that hold no number or no time
 */
export function entryOf(
  texts: EntryTexts,
  units: EntryUnits,
  isNewProbe: boolean,
): { readonly entry: SampleEntry | null; readonly bad: ReadonlySet<string> } {
  const bad = new Set<string>();
  const number = (field: EntryField): number | null => {
    const text = texts.fields[field].trim();
    if (text === '') return null;
    const value = parseCoordinate(text);
    if (value === null) bad.add(field);
    return value;
  };
  const radon = (field: EntryField) => {
    const value = number(field);
    return value === null ? null : toKBqPerM3(value, units.radon);
  };
  const [x, y, depth] = [number('x'), number('y'), number('depth')];
  if (isNewProbe) for (const [field, value] of Object.entries({ x, y })) if (value === null) bad.add(field);
  if (texts.label.trim() === '') bad.add('label');
  const taken = utcOf(texts.fields.taken.trim());
  if (taken === null && texts.fields.taken.trim() !== '') bad.add('taken');
  const expanded = radon('uncertainty');
  const above = radon('above');
  const { readings, values } = readIntervals(texts.intervals, units.radon, Number(texts.k), bad);
  const ingrowthS = readIngrowthS(texts.ingrowthMin, bad);
  const entry: SampleEntry = {
    probeLabel: texts.label.trim(),
    place: isNewProbe ? [x ?? 0, y ?? 0] : null,
    soil: isNewProbe && texts.soil.trim() !== '' ? texts.soil.trim() : null,
    permeabilityClass: isNewProbe && texts.permeabilityClass !== '' ? texts.permeabilityClass : null,
    kind: texts.kind,
    takenUtc: taken,
    depthM: depth === null ? null : units.feet ? toMetres(depth, 'ft') : depth,
    radonKBqPerM3: radon('radon'),
    radonUKBqPerM3: expanded === null ? null : expanded / Number(texts.k),
    radonBelowKBqPerM3: radon('below'),
    ...(above === null ? {} : { radonAboveKBqPerM3: above }),
    oxygenPct: number('oxygen'),
    carbonDioxidePct: number('carbonDioxide'),
    suctionPa: number('suction'),
    saidFreshAir: texts.saidFreshAir,
    saidWater: texts.saidWater,
    saidTight: texts.saidTight,
    saidRefused: texts.saidRefused,
    leakTestPassed: texts.leakTest === '' ? null : texts.leakTest === 'passed',
    remark: texts.remark.trim() === '' ? null : texts.remark.trim(),
    instrumentId: texts.instrumentId === '' ? null : texts.instrumentId,
    readings,
    values,
    ingrowthS,
  };
  return { entry: bad.size === 0 ? entry : null, bad };
}

type Known = Pick<ProjectView, 'probes' | 'samples'>;

/**
 * The form for the sample after one that was entered: day, instrument and the times of its intervals go on, what was
 * read does not. A blank is followed by its own hole, a planned probe by the next one without a sample.
 */
export function nextTexts(entered: EntryTexts, depthText: string, view: Known): EntryTexts {
  const [day = ''] = entered.fields.taken.trim().split(/[ T]/);
  const empty = Object.fromEntries(ENTRY_FIELDS.map((name) => [name, ''])) as EntryTexts['fields'];
  return {
    ...entered,
    label: entered.kind === 'blank' ? entered.label.trim() : nextLabel(entered.label.trim(), view),
    kind: 'grab',
    fields: { ...empty, depth: depthText, taken: day === '' ? '' : `${day} ` },
    soil: '',
    permeabilityClass: '',
    saidFreshAir: false,
    saidWater: false,
    saidTight: false,
    saidRefused: false,
    leakTest: '',
    remark: '',
    intervals: entered.intervals.map((row) => ({ ...row, counts: '', value: '', u: '' })),
  };
}

/** The next planned probe that nobody sampled, else the label with the next free number; empty where it has none. */
function nextLabel(label: string, { probes, samples }: Known): string {
  const sampled = new Set(samples.map((s) => s.probeId));
  const at = probes.findIndex((p) => p.label.toLowerCase() === label.toLowerCase());
  const inOrder = [...probes.slice(at + 1), ...probes.slice(0, at + 1)];
  const waiting = inOrder.find((p) => p.state === 'planned' && !sampled.has(p.id));
  if (waiting !== undefined) return waiting.label;
  const [, stem = '', digits = ''] = /^(.*?)(\d{1,9})$/.exec(label) ?? [];
  if (digits === '') return '';
  const taken = new Set(probes.map((p) => p.label.toLowerCase()));
  for (let n = Number(digits) + 1; ; n += 1) {
    const next = `${stem}${String(n).padStart(digits.length, '0')}`;
    if (!taken.has(next.toLowerCase())) return next;
  }
}
