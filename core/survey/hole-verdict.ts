import type { SampleAssessment } from '../contract/model.ts';
import type { HoleAdvice } from '../contract/quality.ts';
import type { FieldSample } from './field-sample.ts';
import { hasRadon } from './sample-facts.ts';

export interface HoleVerdict {
  readonly advice: HoleAdvice;
  readonly words: string;
  /** What was not looked at: its silence is no good sign. */
  readonly notSeen: readonly string[];
}

/**
 * What to do at the hole just drawn. With few holes the lot says nothing yet; the single rules do.
 * @param sample the sample at hand; its radon may be the value predicted from its first intervals (`predictFinal`)
 * @param assessment of it among the lot's samples up to now
 */
export function judgeHole(sample: FieldSample, assessment: SampleAssessment): HoleVerdict {
  const notSeen = listNotSeen(sample);
  const say = (advice: HoleAdvice, words: string) => ({ advice, words, notSeen });
  const messages = (kind: 'dilution' | 'quality') =>
    assessment.flags
      .filter((f) => f.kind === kind && f.weight !== 'note')
      .map((f) => f.message)
      .join(' ');
  if (assessment.water === 'water-or-tight')
    return say('say water or tight', 'No gas came. Say whether the hole is wet or the ground tight.');
  if (assessment.water !== 'none')
    return say(
      'drive again 1.5 m off',
      'No gas from this hole. If the number of valid points runs short, drive again at least 1.5 m off.',
    );
  if (assessment.dilution === 'diluted')
    return say(
      'drive again 1.5 m off',
      `Outside air in the sample: a seal does not help a broken gap; drive again at least 1.5 m off. ${messages('dilution')}`,
    );
  const faults = messages('quality');
  if (assessment.dilution === 'suspect')
    return say(
      'draw again here',
      `May hold outside air: tamp the ground round the rod, check joints, and draw a repeat. ${messages('dilution')} ${faults}`.trim(),
    );
  if (faults !== '') return say('draw again here', `Put right what is at fault, and draw again. ${faults}`);
  if (!hasRadon(sample))
    return say(
      'no value yet',
      'Nothing that was looked at speaks against this hole, but it has no radon value yet.',
    );
  if (sample.kind === 'blank') return say('keep', 'The blank is clean.');
  return say(
    'keep',
    notSeen.length === 0
      ? 'Nothing speaks against this sample. Small leaks are not found by any of these signs.'
      : `Nothing that was looked at speaks against this sample. Not looked at: ${notSeen.join(', ')}.`,
  );
}

function listNotSeen(sample: FieldSample): string[] {
  if (sample.kind === 'blank') return [];
  const hasTracer = sample.tracerPct !== undefined && sample.tracerShroudPct !== undefined;
  return [
    ...(sample.oxygenPct === null && sample.carbonDioxidePct === null ? ['oxygen or carbon dioxide'] : []),
    ...(sample.leakTestPassed === undefined && !hasTracer ? ['leak check'] : []),
    ...(sample.suctionPa === null ? ['suction'] : []),
    ...(sample.pumpedMl === undefined || sample.systemMl === undefined ? ['purge volumes'] : []),
  ];
}
