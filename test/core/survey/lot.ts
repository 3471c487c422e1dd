import type { Probe, Ruling, RulingVerdict, Sample, SampleAssessment } from '../../../core/contract/model.ts';
import { assessSamples } from '../../../core/survey/flags.ts';
import { defaultThresholds } from '../../../core/survey/thresholds.ts';

/** Invented probes and samples, quiet unless told otherwise. */
export function probe(n: number, change: Partial<Probe> = {}): Probe {
  const x = 5 * (n % 5);
  const y = 5 * Math.floor(n / 5);
  return {
    id: `p${n}`,
    label: `P${n}`,
    state: 'driven',
    positionM: [x, y],
    native: [x, y],
    depthM: 0.8,
    soil: null,
    fineFractionPct: null,
    permeabilityM2: null,
    permeabilityClass: null,
    note: null,
    added: false,
    ...change,
  };
}

export function sample(n: number, change: Partial<Sample> = {}): Sample {
  return {
    id: `s${n}`,
    probeId: `p${n}`,
    kind: 'grab',
    takenUtc: null,
    depthM: 0.8,
    radonKBqPerM3: 30 + (n % 7),
    radonUKBqPerM3: 2,
    radonBelowKBqPerM3: null,
    oxygenPct: null,
    carbonDioxidePct: null,
    suctionPa: null,
    saidFreshAir: false,
    saidWater: false,
    remark: null,
    source: { file: 'lot.csv', row: n + 2 },
    ...change,
  };
}

export function ruling(sampleId: string, verdict: RulingVerdict, atUtc = '2025-03-12T12:00:00Z'): Ruling {
  return {
    id: `r-${sampleId}-${atUtc}`,
    sampleId,
    verdict,
    reason: 'swapped label',
    actor: 'the geologist',
    atUtc,
  };
}

export function assessAll(
  samples: readonly Sample[],
  probes: readonly Probe[],
  rulings: readonly Ruling[] = [],
): SampleAssessment[] {
  return assessSamples(samples, probes, rulings, defaultThresholds(), 0.8);
}

/** One sample on one probe of its own. */
export function assessOne(
  change: Partial<Sample>,
  ground: Partial<Probe> = {},
  rulings: readonly Ruling[] = [],
): SampleAssessment {
  const [found] = assessAll([sample(0, change)], [probe(0, ground)], rulings);
  if (found === undefined) throw new Error('no assessment');
  return found;
}
