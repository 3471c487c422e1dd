import type {
  DilutionFinding,
  FlagThresholds,
  Probe,
  Ruling,
  SampleAssessment,
  Treatment,
  WaterFinding,
} from '../contract/model.ts';
import type { FieldSample } from './field-sample.ts';
import { assessSamples } from './flags.ts';

export interface ThresholdOutcome {
  readonly dilution: DilutionFinding;
  readonly water: WaterFinding;
  readonly treatment: Treatment;
  /** Rules that fired, in the order of the flags. */
  readonly rules: readonly string[];
}

export interface ThresholdChange {
  readonly sampleId: string;
  readonly probeId: string;
  readonly before: ThresholdOutcome;
  readonly after: ThresholdOutcome;
  /** False where a ruling holds the treatment as it is, or only the findings change. */
  readonly changesTreatment: boolean;
}

/**
 * Samples whose findings or treatment would be others under new limits, in the order of `samples`. Nothing is changed:
 * the caller shows this before the limits are set. Samples with the same findings by other numbers are not listed.
 */
export function previewThresholds(
  samples: readonly FieldSample[],
  probes: readonly Probe[],
  rulings: readonly Ruling[],
  oldThresholds: FlagThresholds,
  newThresholds: FlagThresholds,
  referenceDepthM: number,
): ThresholdChange[] {
  const before = assessSamples(samples, probes, rulings, oldThresholds, referenceDepthM);
  const after = assessSamples(samples, probes, rulings, newThresholds, referenceDepthM);
  return before.flatMap((assessment, i) => {
    const other = after[i];
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
