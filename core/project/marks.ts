import { whyNotValid } from '../classify/points.ts';
import type { Scheme } from '../classify/scheme.ts';
import type { Probe, ProbeMark, Sample, SampleAssessment } from '../contract/model.ts';
import type { SymbolKind } from '../contract/symbols.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { reduceToProbes } from '../survey/reduce-probes.ts';

/**
 * One mark for each probe: the symbol tells what its value is worth, the value is that of all its samples together.
 * @param scheme - whose rules say which values count; null where it is not known
 */
export function markProbes(
  probes: readonly Probe[],
  samples: readonly Sample[],
  assessments: readonly SampleAssessment[],
  referenceDepthM: number,
  scheme: Scheme | null,
): ProbeMark[] {
  const values = new Map(
    reduceToProbes(assessments, samples, probes, 'ruled', referenceDepthM).map((v) => [v.probeId, v]),
  );
  const bySample = new Map(assessments.map((a) => [a.sampleId, a]));
  return probes.map((probe) => {
    const value = values.get(probe.id);
    if (value === undefined) {
      return {
        probeId: probe.id,
        symbol: probe.state === 'planned' ? 'planned' : 'no-value',
        measured: null,
        leftOut: null,
        treatment: null,
        treatmentReason: probe.state === 'planned' ? 'Not sampled yet' : 'No sample was got here',
        sampleIds: [],
      };
    }
    const parts = value.sampleIds.flatMap((id) => bySample.get(id) ?? []);
    const whyUncounted = scheme === null || !isRead(value) ? null : whyNotValid(value, scheme);
    return {
      probeId: probe.id,
      symbol: whyUncounted === null ? symbolFor(value, parts) : 'uncounted',
      measured: value.measured,
      leftOut: value.treatment === 'leave-out' ? (parts[0]?.measured ?? null) : null,
      treatment: value.treatment,
      treatmentReason: whyUncounted ?? value.treatmentReason,
      sampleIds: value.sampleIds,
    };
  });
}

/** A value, or a non-detect, that stands as it was read. */
function isRead({ treatment, measured }: ProbeValue): boolean {
  return treatment === 'use' && (measured.kind === 'value' || measured.kind === 'atMost');
}

/** What was decided comes before what was found. */
function symbolFor(value: ProbeValue, parts: readonly SampleAssessment[]): SymbolKind {
  if (value.treatment === 'leave-out') return 'left-out';
  if (value.treatment === 'lower-bound') return 'diluted';
  if (value.treatment === 'no-value' || value.measured.kind === 'none') {
    const { measured } = value;
    const isWater =
      measured.kind === 'none' && ['water', 'water-or-tight', 'tight'].includes(measured.reason);
    return isWater ? 'water' : 'no-value';
  }
  return parts.some((a) => a.ruling === null && a.dilution === 'suspect') ? 'suspect' : 'valid';
}
