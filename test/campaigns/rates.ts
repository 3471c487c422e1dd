import type { DilutionFinding, SampleAssessment } from '../../core/contract/model.ts';
import type { FlagThresholds } from '../../core/contract/settings.ts';
import { assessSamples } from '../../core/survey/flags.ts';
import { defaultThresholds } from '../../core/survey/thresholds.ts';
import { type Campaign, drawCampaign, simulateCampaign } from './simulate.ts';
import type { OtherSimulated } from './simulate-other.ts';

export interface JudgedSample {
  readonly leak: number;
  readonly finding: DilutionFinding;
  readonly rules: readonly string[];
  readonly seed: number;
}

/** Every sample with gas of one campaign, with its truth and what the flags say. */
export function judgeSimulated(
  { probes, samples }: OtherSimulated,
  seed: number,
  thresholds: Partial<FlagThresholds> = {},
): JudgedSample[] {
  const found = assessSamples(
    samples.map((s) => s.sample),
    probes,
    [],
    { ...defaultThresholds(), ...thresholds },
    0.8,
  );
  const byId = new Map<string, SampleAssessment>(found.map((a) => [a.sampleId, a]));
  return samples.flatMap((s) => {
    const a = byId.get(s.sample.id);
    if (a === undefined || s.isWet) return [];
    const rules = a.flags.filter((f) => f.kind === 'dilution').map((f) => f.rule);
    return [{ leak: s.leak, finding: a.dilution, rules, seed }];
  });
}

export function judgeCampaign(campaign: Campaign, thresholds: Partial<FlagThresholds> = {}): JudgedSample[] {
  return judgeSimulated(simulateCampaign(campaign), campaign.seed, thresholds);
}

export function judgeMany(
  seeds: { readonly from: number; readonly count: number },
  fixed: Partial<Campaign>,
  thresholds: Partial<FlagThresholds> = {},
): JudgedSample[] {
  return Array.from({ length: seeds.count }, (_, i) => drawCampaign(seeds.from + i, fixed)).flatMap((c) =>
    judgeCampaign(c, thresholds),
  );
}

export interface Rates {
  readonly leaks: number;
  /** Share found as suspect or diluted, and as diluted alone. */
  readonly found: number;
  readonly diluted: number;
  readonly clean: number;
  readonly falseAlarms: number;
  readonly falseDiluted: number;
}

/** @param least leaks of at least this share of outside air count as leaks; smaller ones count nowhere */
export function ratesOf(judged: readonly JudgedSample[], least: number): Rates {
  const leaks = judged.filter((j) => j.leak >= least);
  const clean = judged.filter((j) => j.leak === 0);
  const share = (of: readonly JudgedSample[], is: (j: JudgedSample) => boolean) =>
    of.length === 0 ? Number.NaN : of.filter(is).length / of.length;
  return {
    leaks: leaks.length,
    found: share(leaks, (j) => j.finding !== 'none'),
    diluted: share(leaks, (j) => j.finding === 'diluted'),
    clean: clean.length,
    falseAlarms: share(clean, (j) => j.finding !== 'none'),
    falseDiluted: share(clean, (j) => j.finding === 'diluted'),
  };
}
