import type { Evidence } from '../contract/model.ts';
import type { FlagThresholds } from '../contract/settings.ts';
import { OUTSIDE_AIR } from '../soil/mixing.ts';
import type { SampleOdds } from './dilution-odds.ts';
import type { FieldSample } from './field-sample.ts';
import { dilution, evidence, type Finding, other, round } from './finding.ts';
import type { ChannelKind } from './sign-density.ts';
import { sourceOf } from './thresholds.ts';

const SIGN_NAMES: Record<ChannelKind, string> = {
  radon: 'radon against the other holes',
  gas: 'oxygen and carbon dioxide against the other holes',
  suction: 'suction against holes in the same soil',
  repeat: 'the other draw of this hole',
};

/**
 * Findings from what the other holes say (`weighDilution`). The signs are judged together: one that stands out is held
 * against a sample only where the others do not speak against it. Radon far below its neighbours is 1 point and the
 * same sign as radon under the exclusion limit; each other sign 1 or 2; all together 1, or 3 where they are strong and
 * not radon alone.
 */
export function findFromOdds(
  sample: FieldSample,
  odds: SampleOdds | undefined,
  thresholds: FlagThresholds,
): Finding[] {
  if (odds === undefined) return [];
  const limit = suspectLimit(sample, thresholds);
  const isSuspect = odds.z >= limit.z;
  const found = [
    isSuspect ? gasAgainstLot(sample, odds, thresholds) : null,
    radonAgainstLot(sample, odds, thresholds),
    isSuspect ? suctionAgainstLot(sample, odds, thresholds) : null,
    isSuspect ? repeatAgainstOther(odds, thresholds) : null,
  ].filter((f) => f !== null);
  const together = signsTogether(
    sample,
    odds,
    thresholds,
    found.some((f) => f.group !== null),
  );
  return together === null ? found : [...found, together];
}

/** Radon and suction scatter more widely than gases, in more ways, and ask for a little more. */
function suspectLimit(
  { oxygenPct, carbonDioxidePct }: FieldSample,
  thresholds: FlagThresholds,
): { key: 'suspectGasZ' | 'suspectZ'; z: number } {
  const key = oxygenPct !== null || carbonDioxidePct !== null ? 'suspectGasZ' : 'suspectZ';
  return { key, z: thresholds[key] };
}

function gasAgainstLot(sample: FieldSample, odds: SampleOdds, thresholds: FlagThresholds): Finding | null {
  const alone = odds.alone.gas;
  const limit = suspectLimit(sample, thresholds);
  if (alone === undefined || odds.gasAirShare === null || alone.z < limit.z) return null;
  const { median, low, high } = odds.gasAirShare;
  const shown: Evidence[] = [
    evidence('z of the sign', round(alone.z), limit.z, ''),
    evidence('share of outside air', `${percent(median)} (${percent(low)} to ${percent(high)})`, null, ''),
  ];
  if (sample.oxygenPct !== null) shown.push(evidence('oxygen', sample.oxygenPct, null, '%'));
  if (sample.carbonDioxidePct !== null)
    shown.push(evidence('carbon dioxide', sample.carbonDioxidePct, null, '%'));
  return dilution(
    'nearer-outside-air-than-lot',
    'gas',
    2,
    `${gasWords(sample)} nearer outside air (${OUTSIDE_AIR.oxygenPct} % and ${OUTSIDE_AIR.carbonDioxidePct} %) than the other holes let expect: about ${percent(median)} outside air (${percent(low)} to ${percent(high)}).`,
    shown,
    sourceOf(limit.key),
  );
}

function gasWords({ oxygenPct, carbonDioxidePct }: FieldSample): string {
  if (carbonDioxidePct === null) return `Oxygen (${oxygenPct} %) is`;
  return oxygenPct === null
    ? `Carbon dioxide (${carbonDioxidePct} %) is`
    : `Oxygen (${oxygenPct} %) and carbon dioxide (${carbonDioxidePct} %) are`;
}

function percent(share: number): string {
  return `${Math.round(100 * share)} %`;
}

function radonAgainstLot(sample: FieldSample, odds: SampleOdds, thresholds: FlagThresholds): Finding | null {
  if (odds.radon === null) return null;
  const { z, logPredicted, neighbourCount } = odds.radon;
  const value = sample.radonKBqPerM3;
  if (value === null || Math.abs(z) <= thresholds.neighbourZ) return null;
  const predicted = round(Math.exp(logPredicted));
  const shown = (limit: number) => [
    evidence('z of log value', round(z), limit, ''),
    evidence('neighbours predict', predicted, null, 'kBq/m3'),
  ];
  const others = (Object.keys(odds.alone) as ChannelKind[]).filter((k) => k !== 'radon');
  // A leak lowers all signs: where one that was read does not say so, all of them together must come to the limit.
  const silent = others.filter((k) => (odds.alone[k]?.ratio ?? 1) < 1);
  if (z < 0 && silent.length > 0 && odds.z < suspectLimit(sample, thresholds).z) {
    return other(
      'low-but-undiluted',
      'outlier',
      'note',
      `${round(value)} kBq/m3 is far below the ${predicted} kBq/m3 that ${neighbourCount} neighbours predict (z = ${z.toFixed(1)}), but this does not show in ${silent.map((k) => SIGN_NAMES[k]).join(', ')}, and all signs together are not unusual: the ground seems to be low here.`,
      shown(-thresholds.neighbourZ),
      sourceOf('neighbourZ'),
    );
  }
  if (z < 0) {
    return dilution(
      'far-below-neighbours',
      'level',
      1,
      `${round(value)} kBq/m3 is far below the ${predicted} kBq/m3 that ${neighbourCount} neighbours predict (z = ${z.toFixed(1)}). Alone this shows only that it stands out.`,
      shown(-thresholds.neighbourZ),
      sourceOf('neighbourZ'),
    );
  }
  return other(
    'far-above-neighbours',
    'outlier',
    'note',
    `${round(value)} kBq/m3 is far above the ${predicted} kBq/m3 that ${neighbourCount} neighbours predict (z = ${z.toFixed(1)}). Ground does this; leave it out only on hard evidence (carry-over, thoron, swapped label).`,
    shown(thresholds.neighbourZ),
    sourceOf('neighbourZ'),
  );
}

function suctionAgainstLot(
  sample: FieldSample,
  odds: SampleOdds,
  thresholds: FlagThresholds,
): Finding | null {
  const alone = odds.alone.suction;
  if (alone === undefined || odds.suction === null || alone.z < thresholds.suspectZ) return null;
  const predicted = round(Math.exp(odds.suction.logPredicted));
  const flow = sample.flowMlPerMin === undefined ? '' : ` at ${round(sample.flowMlPerMin)} mL/min`;
  return dilution(
    'suction-below-same-soil',
    'suction',
    1,
    `Suction (${sample.suctionPa} Pa${flow}) is far below the ${predicted} Pa of holes in the same soil: air may have come down along the rod, or a looser lens was met.`,
    [
      evidence('z of the sign', round(alone.z), thresholds.suspectZ, ''),
      evidence('suction', sample.suctionPa, null, 'Pa'),
      evidence('same soil lets expect', predicted, null, 'Pa'),
    ],
    sourceOf('suspectZ'),
  );
}

function repeatAgainstOther(odds: SampleOdds, thresholds: FlagThresholds): Finding | null {
  const alone = odds.alone.repeat;
  if (alone === undefined || alone.z < thresholds.suspectZ) return null;
  return dilution(
    'lower-than-other-draw',
    'repeat',
    1,
    'Lower than the other draw of this hole by more than both uncertainties explain: one of them holds other air.',
    [evidence('z of the sign', round(alone.z), thresholds.suspectZ, '')],
    sourceOf('suspectZ'),
  );
}

/** Single rules that read one number against a fixed limit, and that ground alone can break. */
const GROUND_BREAKS = new Set(['close-to-outside-air', 'suction-too-low-for-soil']);

/**
 * Airy ground holds nearly outside oxygen, a gravel lens draws easily: where all signs of the lot together speak
 * against outside air, such a number alone stays a note. Not where most of the lot reads like outside air: then a leak
 * that all samples share would clear itself.
 */
export function easeByOdds(
  findings: readonly Finding[],
  odds: SampleOdds | undefined,
  isLotLikeAir: boolean,
): readonly Finding[] {
  if (odds === undefined || odds.ratio >= 1 || isLotLikeAir) return findings;
  if (Object.keys(odds.alone).length < 2) return findings;
  return findings.map((f) =>
    f.points === 2 && GROUND_BREAKS.has(f.flag.rule)
      ? other(
          f.flag.rule,
          'outlier',
          'note',
          `${f.flag.message} All signs together speak against outside air: the ground seems to be so here.`,
          [...f.flag.evidence, evidence('likelihood ratio of all signs', round(odds.ratio), 1, '')],
          f.flag.source,
        )
      : f,
  );
}

/** A sign whose ratio is under this speaks against outside air two to one. */
const SPEAKS_AGAINST = 0.5;
/** A sign that speaks for outside air by itself, if only weakly. */
const SUPPORTS = 2;

/** A leak lowers all signs alike: where one speaks against it, the rest must be so much clearer for 'diluted'. */
const MORE_WHERE_OPPOSED = 1;

function signsTogether(
  sample: FieldSample,
  odds: SampleOdds,
  thresholds: FlagThresholds,
  isSaid: boolean,
): Finding | null {
  const limit = suspectLimit(sample, thresholds);
  const signs = (Object.keys(odds.alone) as ChannelKind[]).filter((k) => (odds.alone[k]?.ratio ?? 0) > 1);
  const others = signs.filter((k) => k !== 'radon' && (odds.alone[k]?.ratio ?? 0) >= SUPPORTS);
  const isOpposed = Object.values(odds.alone).some((a) => a.ratio < SPEAKS_AGAINST);
  const dilutedZ = thresholds.dilutedZ + (isOpposed ? MORE_WHERE_OPPOSED : 0);
  const isStrong = others.length > 0 && odds.z >= dilutedZ;
  // Radon alone is judged by its z, the limit that the user sees and sets.
  const isRadonAlone = Object.keys(odds.alone).every((k) => k === 'radon');
  if (!isStrong && (isSaid || isRadonAlone || odds.z < limit.z)) return null;
  const { median, low, high } = odds.airShare;
  return dilution(
    'signs-together',
    'together',
    isStrong ? 3 : 1,
    `Taken together, ${signs.map((k) => SIGN_NAMES[k]).join(', ')} are ${timesLikelier(odds.ratio)} likelier with outside air in the sample than without: about ${percent(median)} of it (${percent(low)} to ${percent(high)}).`,
    [
      evidence('z of all signs', round(odds.z), isStrong ? dilutedZ : limit.z, ''),
      evidence('share of outside air', `${percent(median)} (${percent(low)} to ${percent(high)})`, null, ''),
    ],
    sourceOf(isStrong ? 'dilutedZ' : limit.key),
  );
}

function timesLikelier(ratio: number): string {
  return ratio > 1000 ? 'over 1000 times' : `${Number(ratio.toPrecision(2))} times`;
}
