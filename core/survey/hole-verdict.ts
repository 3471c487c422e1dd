import type { FlagThresholds, Probe, SampleAssessment } from '../contract/model.ts';
import type { FieldSample } from './field-sample.ts';
import { assessSamples } from './flags.ts';

export interface HoleVerdict {
  readonly assessment: SampleAssessment;
  readonly advice: 'keep' | 'draw again here' | 'drive again 1.5 m off' | 'say water or tight';
  readonly words: string;
}

/**
 * What to do at the hole just drawn, judged with what the lot has so far. With few holes the others say nothing yet;
 * the single rules do.
 * @param latest the sample at hand; its radon may be the value predicted from its first intervals (`predictFinal`)
 * @param earlier the lot's samples up to now, without it
 */
export function judgeHole(
  latest: FieldSample,
  earlier: readonly FieldSample[],
  probes: readonly Probe[],
  thresholds: FlagThresholds,
  referenceDepthM: number,
): HoleVerdict | null {
  const found = assessSamples([...earlier, latest], probes, [], thresholds, referenceDepthM);
  const assessment = found.find((a) => a.sampleId === latest.id);
  if (assessment === undefined) return null;
  const reasons = assessment.flags.filter((f) => f.kind === 'dilution').map((f) => f.message);
  if (assessment.water !== 'none') {
    const isOpen = assessment.water === 'water-or-tight';
    return {
      assessment,
      advice: isOpen ? 'say water or tight' : 'drive again 1.5 m off',
      words: isOpen
        ? 'No gas came. Say whether the hole is wet or the ground tight.'
        : 'No gas from this hole. If the number of valid points runs short, drive again at least 1.5 m off.',
    };
  }
  if (assessment.dilution === 'diluted') {
    return {
      assessment,
      advice: 'drive again 1.5 m off',
      words: `Outside air in the sample: seal does not help a broken gap; drive again at least 1.5 m off. ${reasons.join(' ')}`,
    };
  }
  if (assessment.dilution === 'suspect') {
    return {
      assessment,
      advice: 'draw again here',
      words: `May hold outside air: tamp the ground round the rod, check joints, and draw a repeat. ${reasons.join(' ')}`,
    };
  }
  return { assessment, advice: 'keep', words: 'Nothing speaks against this sample.' };
}
