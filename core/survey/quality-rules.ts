import { evidence, type Finding, other, type RuleInput, round } from './finding.ts';
import { hasRadon, sampleDepthM, uncertaintyOf } from './sample-facts.ts';
import { ASSUMED_RELATIVE_U, sourceOf } from './thresholds.ts';

export function water({ sample }: RuleInput): Finding | null {
  if (!sample.saidWater) return null;
  const value =
    sample.radonKBqPerM3 === null
      ? ''
      : ` The value noted (${round(sample.radonKBqPerM3)} kBq/m3) reads low and is not used.`;
  return other(
    'water-seen',
    'water',
    'strong',
    `Water was seen in the probe or line.${value}`,
    [evidence('water noted', 'yes', null, '')],
    'Water in the line: stop, result biased low (California DTSC 2015, 5.2.3)',
  );
}

export function noFlow({ sample, thresholds }: RuleInput): Finding | null {
  if (sample.saidWater || hasRadon(sample)) return null;
  if (sample.suctionPa === null || sample.suctionPa < thresholds.pumpLimitSuctionPa) return null;
  return other(
    'suction-at-pump-limit',
    'water',
    'suspect',
    sample.saidTight === true
      ? `Suction stood at the pump's limit (${sample.suctionPa} Pa) and no gas came; the crew says tight ground, no water.`
      : `Suction stood at the pump's limit (${sample.suctionPa} Pa) and no gas came: water or tight ground. Say which.`,
    [evidence('suction', sample.suctionPa, thresholds.pumpLimitSuctionPa, 'Pa')],
    sourceOf('pumpLimitSuctionPa'),
  );
}

export function shallow({ sample, probe, thresholds, referenceDepthM }: RuleInput): Finding | null {
  const depthM = sampleDepthM(sample, probe);
  if (
    sample.kind === 'blank' ||
    depthM === null ||
    depthM >= referenceDepthM - thresholds.shallowDepthM - 1e-9
  )
    return null;
  return other(
    'shallow',
    'shallow',
    'note',
    `Drawn at ${round(depthM)} m, ${round(referenceDepthM - depthM)} m less deep than the reference ${referenceDepthM} m: it reads lower than ground at that depth.`,
    [evidence('depth', round(depthM), round(referenceDepthM - thresholds.shallowDepthM), 'm')],
    sourceOf('shallowDepthM'),
  );
}

export function duplicates({ sample, siblings, thresholds }: RuleInput): Finding | null {
  if (sample.radonKBqPerM3 === null) return null;
  const others = siblings.filter(
    (s) =>
      s.id !== sample.id &&
      s.radonKBqPerM3 !== null &&
      ((sample.kind === 'duplicate' && s.kind === 'grab') ||
        (sample.kind === 'grab' && s.kind === 'duplicate')),
  );
  let worst: { rpd: number; against: number } | null = null;
  for (const s of others) {
    const rpd = relativePercentDifference(sample.radonKBqPerM3, s.radonKBqPerM3 ?? 0);
    if (worst === null || rpd > worst.rpd) worst = { rpd, against: s.radonKBqPerM3 ?? 0 };
  }
  if (worst === null || worst.rpd <= thresholds.duplicateRpdPct) return null;
  return other(
    'duplicates-differ',
    'quality',
    'note',
    `Duplicates ${round(sample.radonKBqPerM3)} and ${round(worst.against)} kBq/m3 differ by ${round(worst.rpd)} % of their mean.`,
    [evidence('relative per cent difference', round(worst.rpd), thresholds.duplicateRpdPct, '%')],
    sourceOf('duplicateRpdPct'),
  );
}

/** 100 |a - b| / ((a + b) / 2), per cent; 0 where both are 0. */
export function relativePercentDifference(a: number, b: number): number {
  return a + b === 0 ? 0 : (100 * Math.abs(a - b)) / ((a + b) / 2);
}

export function blank({ sample, thresholds }: RuleInput): Finding | null {
  if (sample.kind !== 'blank' || sample.radonKBqPerM3 === null) return null;
  if (sample.radonKBqPerM3 < thresholds.minimumValueKBqPerM3) return null;
  return other(
    'blank-not-clean',
    'quality',
    'suspect',
    `The blank reads ${round(sample.radonKBqPerM3)} kBq/m3: gas of an earlier sample or a leak; samples near it in time read high by as much.`,
    [evidence('blank', round(sample.radonKBqPerM3), thresholds.minimumValueKBqPerM3, 'kBq/m3')],
    'Common practice; limit as for failed samples',
  );
}

export function bareValue({ sample }: RuleInput): Finding | null {
  if (sample.radonKBqPerM3 === null || sample.radonUKBqPerM3 !== null) return null;
  return other(
    'no-uncertainty',
    'quality',
    'note',
    `No uncertainty was given; ${ASSUMED_RELATIVE_U * 100} % of the value (k = 1) is assumed.`,
    [evidence('assumed uncertainty', round(uncertaintyOf(sample)), null, 'kBq/m3')],
    'Assumption of this program',
  );
}

export function dryer({ sample }: RuleInput): Finding | null {
  if (sample.saidDryerSpent !== true) return null;
  return other(
    'dryer-spent',
    'quality',
    'suspect',
    'The dryer was spent: moist gas lowers what a charged detector collects, so the instrument reads low. That is no dilution.',
    [evidence('dryer spent', 'yes', null, '')],
    'Collection of charged Po-218 falls with humidity (1999 conference abstract); the drying is common practice',
  );
}

export function shutInTest({ sample }: RuleInput): Finding | null {
  if (sample.leakTestPassed !== false) return null;
  return other(
    'shut-in-test-failed',
    'quality',
    'suspect',
    'The line did not hold its vacuum with the valve shut: it draws air of the surroundings.',
    [evidence('shut-in test', 'failed', 'no visible loss in 1 min', '')],
    'Shut-in test at about 100 in. H2O (California DTSC 2015, section 4.2.1)',
  );
}

/** Fewer system volumes than asked for: what was in the system is still in the sample. */
export function shortPurge({ sample, thresholds }: RuleInput): Finding | null {
  const { pumpedMl, systemMl } = sample;
  if (pumpedMl == null || systemMl == null || !(systemMl > 0) || sample.kind === 'blank') return null;
  const volumes = pumpedMl / systemMl;
  if (volumes >= thresholds.leastSystemVolumes * (1 - 1e-9)) return null;
  const left = 100 * Math.exp(-volumes);
  return other(
    'purge-too-short',
    'quality',
    'suspect',
    `Only ${round(volumes)} system volumes were pumped: up to ${round(left)} % of the sample can be air that was in the system.`,
    [evidence('system volumes', round(volumes), thresholds.leastSystemVolumes, '')],
    sourceOf('leastSystemVolumes'),
  );
}
