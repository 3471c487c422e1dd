import type { Evidence, Flag, Probe } from '../contract/model.ts';
import type { FlagThresholds } from '../contract/settings.ts';
import type { FieldSample } from './field-sample.ts';

/** Evidence for dilution comes in groups; within a group only the strongest counts, since it is one and the same sign. */
export type EvidenceGroup =
  | 'crew'
  | 'tracer'
  | 'gas'
  | 'level'
  | 'suction'
  | 'repeat'
  | 'volume'
  | 'together';

export interface Finding {
  readonly flag: Flag;
  /** null for findings that say nothing about dilution. */
  readonly group: EvidenceGroup | null;
  /** Points towards dilution: 3 alone is 'diluted', 1 or 2 is 'suspect' (see `scoreDilution`). */
  readonly points: number;
}

export interface RuleInput {
  readonly sample: FieldSample;
  readonly probe: Probe;
  /** All samples of the probe, in order of time. */
  readonly siblings: readonly FieldSample[];
  readonly thresholds: FlagThresholds;
  readonly referenceDepthM: number;
}

export function round(value: number): number {
  return Number(value.toPrecision(4));
}

export function evidence(
  what: string,
  value: number | string | null,
  limit: number | string | null,
  unit: string,
): Evidence {
  return { what, value: value ?? '', limit, unit };
}

export function dilution(
  rule: string,
  group: EvidenceGroup,
  points: number,
  message: string,
  shown: readonly Evidence[],
  source: string,
): Finding {
  const weight = points >= 3 ? 'strong' : 'suspect';
  return { flag: { rule, kind: 'dilution', weight, message, evidence: shown, source }, group, points };
}

export function other(
  rule: string,
  kind: Flag['kind'],
  weight: Flag['weight'],
  message: string,
  shown: readonly Evidence[],
  source: string,
): Finding {
  return { flag: { rule, kind, weight, message, evidence: shown, source }, group: null, points: 0 };
}
