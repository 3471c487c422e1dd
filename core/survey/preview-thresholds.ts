import type { SampleAssessment } from '../contract/model.ts';
import type { ThresholdChange, ThresholdOutcome } from '../contract/rules.ts';

/**
 * Samples whose findings or treatment are others in `after` than in `before`, in the order of `before`. Samples with
 * the same findings by other numbers are not listed.
 */
export function compareOutcomes(
  before: readonly SampleAssessment[],
  after: readonly SampleAssessment[],
): ThresholdChange[] {
  const others = new Map(after.map((a) => [a.sampleId, a]));
  return before.flatMap((assessment) => {
    const other = others.get(assessment.sampleId);
    if (other === undefined) return [];
    const change = { before: outcomeOf(assessment), after: outcomeOf(other) };
    if (JSON.stringify(change.before) === JSON.stringify(change.after)) return [];
    const { sampleId, probeId } = assessment;
    return [{ sampleId, probeId, ...change, changesTreatment: assessment.treatment !== other.treatment }];
  });
}

function outcomeOf(a: SampleAssessment): ThresholdOutcome {
  return {
    dilution: a.dilution,
    water: a.water,
    treatment: a.treatment,
    rules: a.flags.map((f) => f.rule),
  };
}
