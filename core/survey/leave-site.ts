import type { Probe, SampleAssessment } from '../contract/model.ts';
import type { FieldSample } from './field-sample.ts';
import { type ControlReading, checkControlProbe } from './instrument-checks.ts';

export interface ChecklistItem {
  readonly id: string;
  readonly what: string;
  readonly isDone: boolean;
  /** What is there, and what is missing. */
  readonly words: string;
}

export interface SiteState {
  readonly probes: readonly Probe[];
  readonly samples: readonly FieldSample[];
  readonly assessments: readonly SampleAssessment[];
  /** The scheme's least number of valid points. */
  readonly minimumCount: number;
  /** Samples under this count as failed, kBq/m3; null where the scheme has no such rule. */
  readonly excludeBelowKBqPerM3: number | null;
  readonly openingBackground?: boolean;
  readonly closingBackground?: boolean;
  readonly controlReadings?: readonly ControlReading[];
}

/** What has to be there before the crew drives home, as done or missing; nothing recorded is missing. */
export function leaveSiteChecklist(state: SiteState): ChecklistItem[] {
  const { probes, samples } = state;
  const drawn = samples.filter((s) => s.kind !== 'blank');
  const days = new Set(drawn.flatMap((s) => (s.takenUtc === null ? [] : [s.takenUtc.slice(0, 10)]))).size;
  const valid = countValid(state);
  const duplicates = samples.filter((s) => s.kind === 'duplicate').length;
  const duplicatesAsked = Math.max(1, Math.ceil(new Set(drawn.map((s) => s.probeId)).size / 20));
  const blanks = samples.filter((s) => s.kind === 'blank' && hasReading(s)).length;
  const blanksAsked = Math.max(1, days, Math.ceil(drawn.length / 20));
  const planned = probes.filter((p) => p.state === 'planned').map((p) => p.label);
  const silent = probes
    .filter((p) => p.state === 'driven' && !drawn.some((s) => s.probeId === p.id))
    .map((p) => p.label);
  const open = state.assessments
    .filter((a) => a.ruling === null && a.water === 'water-or-tight')
    .map((a) => probes.find((p) => p.id === a.probeId)?.label ?? a.probeId);
  const untimed = drawn.filter((s) => s.takenUtc === null).length;
  const control = checkControlProbe(state.controlReadings ?? []);
  const item = (id: string, what: string, isDone: boolean, words: string) => ({ id, what, isDone, words });
  return [
    item(
      'valid-points',
      'Enough valid points for the scheme',
      valid >= state.minimumCount,
      `${valid} of ${state.minimumCount}; suspect ones count, diluted, wet and left-out ones do not. Draw failed ones again at least 1.5 m off.`,
    ),
    item('planned', 'Every planned probe driven or given up', planned.length === 0, listed(planned)),
    item('sampled', 'Every driven probe sampled', silent.length === 0, listed(silent)),
    item(
      'water-or-tight',
      'Every probe without gas said to be wet or tight',
      open.length === 0,
      listed(open),
    ),
    item('duplicates', 'Duplicates', duplicates >= duplicatesAsked, `${duplicates} of ${duplicatesAsked}`),
    item('blanks', 'Blanks with a value', blanks >= blanksAsked, `${blanks} of ${blanksAsked}`),
    item(
      'backgrounds',
      'Opening and closing background',
      state.openingBackground === true && state.closingBackground === true,
      `opening ${state.openingBackground === true ? 'there' : 'missing'}, closing ${state.closingBackground === true ? 'there' : 'missing'}`,
    ),
    item('control', 'Control probe at each half-day', control.isComplete, control.words),
    item(
      'times',
      'A time with every sample',
      drawn.length > 0 && untimed === 0,
      untimed === 0 ? 'all there' : `${untimed} without`,
    ),
  ];
}

function hasReading(s: FieldSample): boolean {
  return s.radonKBqPerM3 !== null || s.radonBelowKBqPerM3 !== null;
}

function countValid({ assessments, excludeBelowKBqPerM3 }: SiteState): number {
  const least = excludeBelowKBqPerM3 ?? 0;
  const probes = new Set<string>();
  for (const a of assessments) {
    if (a.treatment !== 'use') continue;
    const { measured } = a;
    if (measured.kind === 'value' && measured.estimateKBqPerM3 >= least) probes.add(a.probeId);
    if (measured.kind === 'atMost' && measured.boundKBqPerM3 > least) probes.add(a.probeId);
  }
  return probes.size;
}

function listed(labels: readonly string[]): string {
  if (labels.length === 0) return 'all';
  const more = labels.length > 8 ? ` and ${labels.length - 8} more` : '';
  return `missing: ${labels.slice(0, 8).join(', ')}${more}`;
}
