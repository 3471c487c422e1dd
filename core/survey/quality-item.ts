import type { Probe, SampleAssessment } from '../contract/model.ts';
import type { DayLogEntry, LimitMark, QualityItem, QualityVerdict } from '../contract/quality.ts';
import type { FlagThresholds } from '../contract/settings.ts';
import type { UsedInstrument } from './day-backgrounds.ts';
import type { FieldSample } from './field-sample.ts';
import { THRESHOLDS } from './thresholds.ts';
import type { WorkingDay } from './working-days.ts';

/** What the summary reads; what is not there is said to be missing. */
export interface QualityInput {
  readonly probes: readonly Probe[];
  readonly samples: readonly FieldSample[];
  readonly assessments: readonly SampleAssessment[];
  readonly thresholds: FlagThresholds;
  readonly instruments: readonly UsedInstrument[];
  readonly logs: readonly DayLogEntry[];
}

/** The same with what all subjects look at. */
export interface QualityState extends QualityInput {
  /** Without blanks. */
  readonly drawn: readonly FieldSample[];
  readonly days: readonly WorkingDay[];
}

export interface Limit {
  readonly source: string;
  readonly mark: LimitMark;
}

const WEAKEST_FIRST: readonly LimitMark[] = ['from memory', 'own assumption', 'common practice', 'confirmed'];

/** Source of a subject's limits together, with the mark of the weakest. */
export function limitFrom(...parts: readonly (keyof FlagThresholds | Limit)[]): Limit {
  const limits = parts.map((part) =>
    typeof part === 'string' ? THRESHOLDS.find((t) => t.key === part) : part,
  );
  const known = limits.filter((l) => l !== undefined);
  return {
    source: known.map((l) => l.source).join('; '),
    mark: WEAKEST_FIRST.find((mark) => known.some((l) => l.mark === mark)) ?? 'own assumption',
  };
}

/** A subject about which nothing but its place in the list is known yet. */
export interface Subject {
  readonly id: string;
  readonly what: string;
  readonly limit: string;
  readonly from: Limit;
}

export function judged(
  { id, what, limit, from }: Subject,
  verdict: QualityVerdict,
  value: string,
  words: string,
): QualityItem {
  return { id, what, value, limit, source: from.source, mark: from.mark, verdict, words };
}

/** 'P1, P2 and 3 more'. */
export function named(labels: readonly string[], most = 6): string {
  const unique = [...new Set(labels)];
  const rest = unique.length - most;
  return rest > 0 ? `${unique.slice(0, most).join(', ')} and ${rest} more` : unique.join(', ');
}

export function labelsOf(state: QualityState, samples: readonly FieldSample[]): string[] {
  const labels = new Map(state.probes.map((p) => [p.id, p.label]));
  return samples.map((s) => labels.get(s.probeId) ?? s.probeId);
}

/** Of what was looked at on each day: nothing anywhere is 'not recorded', a day without is 'look' at best. */
export function overDays(verdicts: readonly QualityVerdict[]): QualityVerdict {
  if (verdicts.length === 0 || verdicts.every((v) => v === 'not recorded')) return 'not recorded';
  if (verdicts.includes('unfit')) return 'unfit';
  return verdicts.every((v) => v === 'fit') ? 'fit' : 'look';
}
