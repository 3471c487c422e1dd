import type { QualityItem, QualitySummary, QualityVerdict } from '../contract/quality.ts';
import {
  backgrounds,
  calibration,
  control,
  crew,
  dryer,
  instrumentsAgree,
  rain,
  surface,
  threadTape,
} from './quality-day.ts';
import type { QualityInput, QualityState } from './quality-item.ts';
import {
  blanks,
  detection,
  duplicateCount,
  duplicateDifference,
  findings,
  flow,
  leakChecks,
  outsideGases,
  purge,
  repeats,
  uncertainties,
} from './quality-samples.ts';
import { workingDays } from './working-days.ts';

const SUBJECTS: readonly ((state: QualityState) => QualityItem)[] = [
  duplicateCount,
  duplicateDifference,
  blanks,
  repeats,
  control,
  backgrounds,
  calibration,
  instrumentsAgree,
  purge,
  flow,
  leakChecks,
  threadTape,
  dryer,
  outsideGases,
  rain,
  surface,
  crew,
  uncertainties,
  detection,
  findings,
];

export const VERDICT_ORDER: readonly QualityVerdict[] = ['unfit', 'look', 'not recorded', 'fit'];

/** Quality of the campaign in words, one item a subject, in the order of a report. Nothing recorded is never 'fit'. */
export function summariseQuality(input: QualityInput): QualitySummary {
  const state: QualityState = {
    ...input,
    drawn: input.samples.filter((s) => s.kind !== 'blank'),
    days: workingDays(input.samples, input.logs),
  };
  const items = SUBJECTS.map((subject) => subject(state));
  return { words: headline(items), items };
}

const VERDICT_WORDS: Record<QualityVerdict, string> = {
  unfit: 'not fit for use as it is',
  look: 'to look at',
  'not recorded': 'not recorded',
  fit: 'fit for use',
};

function headline(items: readonly QualityItem[]): string {
  const parts = VERDICT_ORDER.flatMap((verdict) => {
    const count = items.filter((i) => i.verdict === verdict).length;
    return count === 0 ? [] : [`${count} ${VERDICT_WORDS[verdict]}`];
  });
  return `Of ${items.length} subjects: ${parts.join(', ')}. What was not recorded is never taken for good.`;
}
