import type { Evidence, Flag, FlagThresholds, Probe, Sample } from '../contract/model.ts';
import { type NeighbourView, neighbourZ } from './neighbours.ts';
import { ASSUMED_RELATIVE_U, PUMP_LIMIT, THRESHOLDS } from './thresholds.ts';

/** Evidence for dilution comes in groups; within a group only the strongest counts, since it is one and the same sign. */
export type EvidenceGroup = 'crew' | 'gas' | 'level' | 'suction' | 'repeat';

export interface Finding {
  readonly flag: Flag;
  /** null for findings that say nothing about dilution. */
  readonly group: EvidenceGroup | null;
  /** Points towards dilution: 3 alone is 'diluted', 1 or 2 is 'suspect' (see `scoreDilution`). */
  readonly points: number;
}

export interface RuleInput {
  readonly sample: Sample;
  readonly probe: Probe;
  /** Other samples of the probe, in order of time. */
  readonly siblings: readonly Sample[];
  readonly thresholds: FlagThresholds;
  readonly referenceDepthM: number;
}

const sourceOf = (key: keyof FlagThresholds) => THRESHOLDS.find((t) => t.key === key)?.source ?? '';

export function round(value: number): number {
  return Number(value.toPrecision(4));
}

/** Standard uncertainty used for a sample: the file's, else the stated assumption. */
export function uncertaintyOf(sample: Sample): number {
  return sample.radonUKBqPerM3 ?? ASSUMED_RELATIVE_U * (sample.radonKBqPerM3 ?? 0);
}

export function sampleDepthM(sample: Sample, probe: Probe): number | null {
  return sample.depthM ?? probe.depthM;
}

/** Rules that look at one sample and its probe, in the order in which they are shown. */
export function findOwn(input: RuleInput): Finding[] {
  const rules = [
    crewSaid,
    outsideGases,
    tooLittleRadon,
    tooLittleSuction,
    fallingRepeat,
    water,
    noFlow,
    shallow,
    duplicates,
    blank,
    bareValue,
  ];
  return rules.flatMap((rule) => {
    const finding = rule(input);
    return finding === null ? [] : [finding];
  });
}

function crewSaid({ sample }: RuleInput): Finding | null {
  if (!sample.saidFreshAir) return null;
  return dilution(
    'crew-said-fresh-air',
    'crew',
    3,
    'The crew wrote down that fresh air was drawn.',
    [evidence('fresh air noted', 'yes', null, '')],
    'Field sheet of this project',
  );
}

function outsideGases({ sample, thresholds }: RuleInput): Finding | null {
  const { oxygenPct, carbonDioxidePct } = sample;
  const oxygen = oxygenPct !== null && oxygenPct >= thresholds.outsideOxygenPct;
  const carbonDioxide = carbonDioxidePct !== null && carbonDioxidePct <= thresholds.outsideCarbonDioxidePct;
  if (!oxygen && !carbonDioxide) return null;
  const found: Evidence[] = [];
  if (oxygen) found.push(evidence('oxygen', oxygenPct, thresholds.outsideOxygenPct, '%'));
  if (carbonDioxide)
    found.push(evidence('carbon dioxide', carbonDioxidePct, thresholds.outsideCarbonDioxidePct, '%'));
  // Airy sand can hold nearly outside oxygen; with carbon dioxide gone too, the gas is outside air.
  const contradicted = (oxygen && carbonDioxidePct !== null) !== (carbonDioxide && oxygenPct !== null);
  const points = oxygen && carbonDioxide ? 3 : 2;
  const words =
    oxygen && carbonDioxide
      ? `Oxygen (${oxygenPct} %) and carbon dioxide (${carbonDioxidePct} %) are both close to outside air.`
      : oxygen
        ? `Oxygen (${oxygenPct} %) is close to outside air (20.9 %).`
        : `Carbon dioxide (${carbonDioxidePct} %) is close to outside air (0.04 %).`;
  const doubt = contradicted && points === 2 ? ' The other gas does not say so.' : '';
  const key = oxygen ? 'outsideOxygenPct' : 'outsideCarbonDioxidePct';
  return dilution('close-to-outside-air', 'gas', points, words + doubt, found, sourceOf(key));
}

function tooLittleRadon({ sample, thresholds }: RuleInput): Finding | null {
  const radon = sample.radonKBqPerM3 ?? sample.radonBelowKBqPerM3;
  if (sample.kind === 'blank' || radon === null) return null;
  const limit = thresholds.minimumValueKBqPerM3;
  const under = sample.radonKBqPerM3 === null ? radon <= limit : radon < limit;
  if (!under) return null;
  return dilution(
    'radon-under-exclusion-limit',
    'level',
    3,
    `Radon (${round(radon)} kBq/m3) is under ${limit} kBq/m3: ground gas hardly ever is; a leak or a blocked tip is likely.`,
    [evidence('radon', round(radon), limit, 'kBq/m3')],
    sourceOf('minimumValueKBqPerM3'),
  );
}

const FINE_WORDS = /clay|silt|loam|mud|marl|\bton\b|schluff|lehm|mergel|jil|hlina|spras|argile|limon|lera/i;
const COARSE_WORDS =
  /gravel|sand|cobble|scree|esker|rubble|kies|geroll|schotter|sterk|pisek|gravier|sable|grus/i;

/** Only what was described as tight: a gravel lens draws easily and must not be held against a sample. */
export function isDescribedTight(probe: Probe): string | null {
  const coarse =
    probe.soil !== null && COARSE_WORDS.test(probe.soil.normalize('NFD').replace(/[\u0300-\u036f]/g, ''));
  if (coarse || probe.permeabilityClass === 'medium' || probe.permeabilityClass === 'high') return null;
  if (probe.permeabilityClass === 'low') return 'permeability class low';
  if (probe.fineFractionPct !== null)
    return probe.fineFractionPct > 65 ? `${probe.fineFractionPct} % fines` : null;
  return probe.soil !== null && FINE_WORDS.test(probe.soil) ? `soil '${probe.soil}'` : null;
}

function tooLittleSuction({ sample, probe, thresholds }: RuleInput): Finding | null {
  if (sample.suctionPa === null || sample.suctionPa >= thresholds.lowSuctionPa) return null;
  const described = isDescribedTight(probe);
  if (described === null || sample.kind === 'blank') return null;
  return dilution(
    'suction-too-low-for-soil',
    'suction',
    2,
    `Suction (${sample.suctionPa} Pa) is far too low for ground described as tight (${described}): air may have come down along the rod.`,
    [
      evidence('suction', sample.suctionPa, thresholds.lowSuctionPa, 'Pa'),
      evidence('described as', described, null, ''),
    ],
    sourceOf('lowSuctionPa'),
  );
}

/** The later, lower of two draws: a fall by a quarter and more than both uncertainties explain. */
function fallingRepeat({ sample, siblings }: RuleInput): Finding | null {
  if (sample.kind !== 'repeat' || sample.radonKBqPerM3 === null) return null;
  const at = siblings.findIndex((s) => s.id === sample.id);
  const earlier = siblings
    .slice(0, Math.max(at, 0))
    .filter((s) => s.kind !== 'blank' && s.radonKBqPerM3 !== null);
  const highest = earlier.reduce<Sample | null>(
    (best, s) => ((s.radonKBqPerM3 ?? 0) > (best?.radonKBqPerM3 ?? -1) ? s : best),
    null,
  );
  if (highest?.radonKBqPerM3 == null) return null;
  const before = highest.radonKBqPerM3;
  const fall = before - sample.radonKBqPerM3;
  const explained = 2 * Math.hypot(uncertaintyOf(highest), uncertaintyOf(sample));
  const limit = Math.max(0.25 * before, explained);
  if (fall <= limit) return null;
  return dilution(
    'falling-repeat',
    'repeat',
    2,
    `Repeat fell from ${round(before)} to ${round(sample.radonKBqPerM3)} kBq/m3: surface air may have been drawn as more gas was taken.`,
    [evidence('fall', round(fall), round(limit), 'kBq/m3')],
    'Common practice: a fall over 25 % and over twice the combined uncertainty',
  );
}

function water({ sample }: RuleInput): Finding | null {
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

function noFlow({ sample }: RuleInput): Finding | null {
  if (sample.saidWater || sample.radonKBqPerM3 !== null || sample.radonBelowKBqPerM3 !== null) return null;
  if (sample.suctionPa === null || sample.suctionPa < PUMP_LIMIT.suctionPa) return null;
  return other(
    'suction-at-pump-limit',
    'water',
    'suspect',
    `Suction stood at the pump's limit (${sample.suctionPa} Pa) and no gas came: water or tight ground. Say which in the remark.`,
    [evidence('suction', sample.suctionPa, PUMP_LIMIT.suctionPa, 'Pa')],
    PUMP_LIMIT.source,
  );
}

function shallow({ sample, probe, thresholds, referenceDepthM }: RuleInput): Finding | null {
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

function duplicates({ sample, siblings, thresholds }: RuleInput): Finding | null {
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

function blank({ sample, thresholds }: RuleInput): Finding | null {
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

function bareValue({ sample }: RuleInput): Finding | null {
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

/** Far below the neighbours: 1 point, so alone never more than suspect. Far above: a note, never a reason to leave out. */
export function findAgainstNeighbours(
  sample: Sample,
  view: NeighbourView | undefined,
  thresholds: FlagThresholds,
): Finding | null {
  if (view === undefined || sample.radonKBqPerM3 === null) return null;
  const z = neighbourZ(sample.radonKBqPerM3, view);
  if (Math.abs(z) <= thresholds.neighbourZ) return null;
  const predicted = round(view.predictedKBqPerM3);
  const shown = [
    evidence('z of log value', round(z), -thresholds.neighbourZ, ''),
    evidence('neighbours predict', predicted, null, 'kBq/m3'),
  ];
  if (z < 0) {
    return dilution(
      'far-below-neighbours',
      'level',
      1,
      `${round(sample.radonKBqPerM3)} kBq/m3 is far below the ${predicted} kBq/m3 that ${view.neighbourCount} neighbours predict (z = ${z.toFixed(1)}). Alone this shows only that it stands out.`,
      shown,
      sourceOf('neighbourZ'),
    );
  }
  return other(
    'far-above-neighbours',
    'outlier',
    'note',
    `${round(sample.radonKBqPerM3)} kBq/m3 is far above the ${predicted} kBq/m3 that ${view.neighbourCount} neighbours predict (z = ${z.toFixed(1)}). Ground does this; leave it out only on hard evidence (carry-over, thoron, swapped label).`,
    [
      evidence('z of log value', round(z), thresholds.neighbourZ, ''),
      evidence('neighbours predict', predicted, null, 'kBq/m3'),
    ],
    sourceOf('neighbourZ'),
  );
}

function evidence(
  what: string,
  value: number | string | null,
  limit: number | string | null,
  unit: string,
): Evidence {
  return { what, value: value ?? '', limit, unit };
}

function dilution(
  rule: string,
  group: EvidenceGroup,
  points: number,
  message: string,
  shown: readonly Evidence[],
  source: string,
): Finding {
  const weight = points >= 3 ? 'strong' : 'suspect';
  return { flag: { rule, kind: 'dilution', weight, message, evidence: shown, source }, group, points };
}

function other(
  rule: string,
  kind: Flag['kind'],
  weight: Flag['weight'],
  message: string,
  shown: readonly Evidence[],
  source: string,
): Finding {
  return { flag: { rule, kind, weight, message, evidence: shown, source }, group: null, points: 0 };
}
