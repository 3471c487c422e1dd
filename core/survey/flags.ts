import type {
  DilutionFinding,
  Measured,
  NoValueReason,
  Probe,
  Ruling,
  Sample,
  SampleAssessment,
  Treatment,
  WaterFinding,
} from '../contract/model.ts';
import type { FlagThresholds } from '../contract/settings.ts';
import type { FieldSample } from './field-sample.ts';
import { type Finding, round } from './finding.ts';
import { findOwn } from './flag-rules.ts';
import { lotOdds } from './lot-odds.ts';
import { lowerBoundOf } from './lower-bound.ts';
import { easeByOdds, findFromOdds } from './odds-rules.ts';
import { hasRadon, uncertaintyOf } from './sample-facts.ts';

export interface AssessOptions {
  /** Relative standard uncertainty common to all samples (calibration), where the files' own u leaves it out; 0 where absent. */
  readonly commonURel?: number;
}

/**
 * Flags, findings and treatment of every sample, in the order of `samples`. A flag removes nothing: treatment comes
 * from the findings, unless a ruling says otherwise; the outcome without the ruling stands beside it.
 * Of several rulings on a sample the latest counts.
 */
export function assessSamples(
  samples: readonly FieldSample[],
  probes: readonly Probe[],
  rulings: readonly Ruling[],
  thresholds: FlagThresholds,
  referenceDepthM: number,
  options: AssessOptions = {},
): SampleAssessment[] {
  const probeById = new Map(probes.map((p) => [p.id, p]));
  const byProbe = groupInOrder(samples);
  const own = new Map<string, Finding[]>();
  for (const sample of samples) {
    const probe = probeById.get(sample.probeId);
    if (probe === undefined) continue;
    const siblings = byProbe.get(sample.probeId) ?? [];
    own.set(sample.id, findOwn({ sample, probe, siblings, thresholds, referenceDepthM }));
  }
  const usable = samples.filter((s) => own.has(s.id) && s.kind !== 'blank' && !s.saidWater);
  const certain = new Set(
    usable.filter((s) => scoreDilution(own.get(s.id) ?? []).finding === 'diluted').map((s) => s.id),
  );
  const odds = lotOdds(usable, probeById, certain, referenceDepthM);
  const latest = latestRulings(rulings);
  const isLotLikeAir = readsLikeAir(usable, thresholds);
  return samples.map((sample) => {
    const probe = probeById.get(sample.probeId);
    const findings = [
      ...easeByOdds(own.get(sample.id) ?? [], odds.get(sample.id), isLotLikeAir),
      ...findFromOdds(sample, odds.get(sample.id), thresholds),
    ];
    return assess(sample, probe, findings, latest.get(sample.id) ?? null, options.commonURel ?? 0);
  });
}

/**
 * Points are summed over independent groups of evidence, the strongest of each group: the crew's word 3; tracer 2 or
 * 3; oxygen and carbon dioxide both like outside air 3, one of them 2, nearer to it than the lot 2; radon under the
 * exclusion limit 3, far below the neighbours 1 (one group: both judge the same number); suction too low for the soil
 * 2, far below other holes in it 1; falling repeat 2, lower of two draws 1; reach over depth 1; all signs together 1
 * or 3. 0 none, 1 or 2 suspect, 3 and more diluted. The neighbours' radon alone can never make a sample diluted.
 */
export function scoreDilution(findings: readonly Finding[]): { points: number; finding: DilutionFinding } {
  const strongest = new Map<string, number>();
  for (const { group, points } of findings) {
    if (group !== null) strongest.set(group, Math.max(points, strongest.get(group) ?? 0));
  }
  const points = [...strongest.values()].reduce((sum, p) => sum + p, 0);
  return { points, finding: points >= 3 ? 'diluted' : points > 0 ? 'suspect' : 'none' };
}

/** Whether half of the lot or more has a gas like outside air. */
function readsLikeAir(usable: readonly FieldSample[], thresholds: FlagThresholds): boolean {
  const half = (values: readonly number[], is: (v: number) => boolean) =>
    values.length > 0 && 2 * values.filter(is).length >= values.length;
  return (
    half(
      usable.flatMap((s) => s.oxygenPct ?? []),
      (v) => v >= thresholds.outsideOxygenPct,
    ) ||
    half(
      usable.flatMap((s) => s.carbonDioxidePct ?? []),
      (v) => v <= thresholds.outsideCarbonDioxidePct,
    )
  );
}

function groupInOrder(samples: readonly FieldSample[]): Map<string, FieldSample[]> {
  const groups = new Map<string, FieldSample[]>();
  for (const s of samples) {
    const group = groups.get(s.probeId);
    if (group === undefined) groups.set(s.probeId, [s]);
    else group.push(s);
  }
  for (const group of groups.values()) {
    const timed = group.every((s) => s.takenUtc !== null) && new Set(group.map((s) => s.takenUtc)).size > 1;
    if (timed) group.sort((a, b) => Date.parse(a.takenUtc ?? '') - Date.parse(b.takenUtc ?? ''));
    else group.sort((a, b) => (a.source?.row ?? 0) - (b.source?.row ?? 0));
  }
  return groups;
}

function latestRulings(rulings: readonly Ruling[]): Map<string, Ruling> {
  const latest = new Map<string, Ruling>();
  for (const ruling of rulings) {
    const before = latest.get(ruling.sampleId);
    if (before === undefined || Date.parse(before.atUtc) <= Date.parse(ruling.atUtc))
      latest.set(ruling.sampleId, ruling);
  }
  return latest;
}

function assess(
  sample: FieldSample,
  probe: Probe | undefined,
  findings: readonly Finding[],
  ruling: Ruling | null,
  commonURel: number,
): SampleAssessment {
  const dilution = scoreDilution(findings);
  const waterFinding = waterOf(sample, findings);
  const asRead = readMeasured(sample, probe, waterFinding, commonURel);
  const unruled = treatUnruled(sample, dilution, waterFinding, asRead);
  const ruled = ruling === null ? unruled : treatRuled(ruling, asRead, unruled, sample);
  return {
    sampleId: sample.id,
    probeId: sample.probeId,
    dilution: dilution.finding,
    water: waterFinding,
    flags: findings.map((f) => f.flag),
    ruling,
    treatment: ruled.treatment,
    treatmentReason: ruled.reason,
    measured: ruled.measured,
    unruledTreatment: unruled.treatment,
    unruledMeasured: unruled.measured,
  };
}

function waterOf(sample: FieldSample, findings: readonly Finding[]): WaterFinding {
  if (findings.some((f) => f.flag.rule === 'water-seen')) return 'water';
  if (sample.saidTight === true && !hasRadon(sample)) return 'tight';
  return findings.some((f) => f.flag.rule === 'suction-at-pump-limit') ? 'water-or-tight' : 'none';
}

/** What the sample says before anyone judges it: a value where one was noted, else why there is none. */
function readMeasured(
  sample: Sample,
  probe: Probe | undefined,
  waterFinding: WaterFinding,
  commonURel: number,
): Measured {
  if (sample.radonKBqPerM3 !== null) {
    return {
      kind: 'value',
      estimateKBqPerM3: sample.radonKBqPerM3,
      randomUKBqPerM3: uncertaintyOf(sample),
      commonURel,
    };
  }
  if (sample.radonBelowKBqPerM3 !== null) return { kind: 'atMost', boundKBqPerM3: sample.radonBelowKBqPerM3 };
  if (sample.radonAboveKBqPerM3 !== undefined)
    return { kind: 'atLeast', boundKBqPerM3: sample.radonAboveKBqPerM3 };
  let reason: NoValueReason = 'no-reading';
  if (waterFinding !== 'none') reason = waterFinding;
  else if (probe?.state === 'refused') reason = 'refused';
  return { kind: 'none', reason };
}

interface Treated {
  readonly treatment: Treatment;
  readonly measured: Measured;
  readonly reason: string;
}

function treatUnruled(
  sample: Sample,
  dilution: { readonly points: number; readonly finding: DilutionFinding },
  waterFinding: WaterFinding,
  asRead: Measured,
): Treated {
  if (sample.kind === 'blank') {
    return {
      treatment: 'no-value',
      measured: { kind: 'none', reason: 'blank' },
      reason: 'a blank is no soil gas',
    };
  }
  if (waterFinding === 'water') {
    return {
      treatment: 'no-value',
      measured: { kind: 'none', reason: 'water' },
      reason: 'a probe in water gives no gas value',
    };
  }
  if (asRead.kind === 'none') {
    return { treatment: 'no-value', measured: asRead, reason: NO_VALUE_WORDS[asRead.reason] };
  }
  if (asRead.kind === 'atLeast') {
    return {
      treatment: 'lower-bound',
      measured: asRead,
      reason: `over the instrument's range: the truth is at least ${round(asRead.boundKBqPerM3)} kBq/m3`,
    };
  }
  if (dilution.finding === 'diluted') {
    return {
      ...asLowerBound(asRead),
      reason: `diluted (${dilution.points} points of evidence, 3 make it so): the truth is at least this`,
    };
  }
  if (dilution.finding === 'suspect') {
    return {
      treatment: 'use',
      measured: asRead,
      reason: `dilution is suspected (${dilution.points} of 3 points): look at its flags`,
    };
  }
  return {
    treatment: 'use',
    measured: asRead,
    reason:
      asRead.kind === 'atMost' ? 'not detected: used as at most its limit' : 'nothing speaks against it',
  };
}

const NO_VALUE_WORDS: Record<NoValueReason, string> = {
  water: 'a probe in water gives no gas value',
  'water-or-tight': 'no gas came: water or tight ground',
  tight: 'no gas came: tight ground',
  refused: 'the probe could not be driven',
  'no-reading': 'no value was noted',
  'left-out': 'its value was left out',
  blank: 'a blank is no soil gas',
};

/** A diluted sample in which nothing was found bounds nothing. */
function asLowerBound(asRead: Measured): { treatment: Treatment; measured: Measured } {
  if (asRead.kind === 'value') {
    return {
      treatment: 'lower-bound',
      measured: { kind: 'atLeast', boundKBqPerM3: lowerBoundOf(asRead) },
    };
  }
  if (asRead.kind === 'atMost')
    return { treatment: 'lower-bound', measured: { kind: 'atLeast', boundKBqPerM3: 0 } };
  return { treatment: asRead.kind === 'atLeast' ? 'lower-bound' : 'no-value', measured: asRead };
}

function treatRuled(ruling: Ruling, asRead: Measured, unruled: Treated, sample: Sample): Treated {
  const by = `ruled by ${ruling.actor} on ${ruling.atUtc.slice(0, 10)}: ${ruling.reason}`;
  if (ruling.verdict === 'leave-out')
    return { treatment: 'leave-out', measured: unruled.measured, reason: `left out, ${by}` };
  if (sample.kind === 'blank' || asRead.kind === 'none') {
    return { ...unruled, reason: `${unruled.reason}; a ruling cannot give it one (${by})` };
  }
  if (asRead.kind === 'atLeast') {
    return { ...unruled, reason: `${unruled.reason}; a ruling cannot make a value of it (${by})` };
  }
  if (ruling.verdict === 'lower-bound') return { ...asLowerBound(asRead), reason: `lower bound, ${by}` };
  const value = asRead.kind === 'value' ? ` (${round(asRead.estimateKBqPerM3)} kBq/m3)` : '';
  return { treatment: 'use', measured: asRead, reason: `used as it is${value}, ${by}` };
}
