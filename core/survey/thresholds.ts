import type { LimitMark } from '../contract/quality.ts';
import type { FlagThresholds } from '../contract/settings.ts';

/**
 * Relative standard uncertainty put in place of one that a file does not give. An assumption of this program,
 * not a published figure: wide enough that a bare value never looks surer than a measured one.
 */
export const ASSUMED_RELATIVE_U = 0.15;

const NOTES = "the program's notes on flags";

export interface ThresholdInfo {
  readonly key: keyof FlagThresholds;
  readonly label: string;
  readonly unit: string;
  readonly standard: number;
  readonly source: string;
  /** 'confirmed' only where the source was seen; everything else is shown as unconfirmed. */
  readonly mark: LimitMark;
}

/** Limits of flags that a project holds, as it starts with them. */
export const THRESHOLDS: readonly ThresholdInfo[] = [
  {
    key: 'minimumValueKBqPerM3',
    label: 'Radon so low that the sample counts as failed',
    unit: 'kBq/m3',
    standard: 1,
    source: 'Exclusion rule of the Czech building-site method (Neznal et al. 2004), from memory',
    mark: 'from memory',
  },
  {
    key: 'outsideOxygenPct',
    label: 'Oxygen from here on is close to outside air (20.9 %)',
    unit: '%',
    standard: 20.5,
    source:
      'Common practice: drift toward 20.9 % shows ambient break-in; the distance from it is our assumption',
    mark: 'common practice',
  },
  {
    key: 'outsideCarbonDioxidePct',
    label: 'Carbon dioxide up to here is close to outside air (0.04 %)',
    unit: '%',
    standard: 0.1,
    source:
      'Common practice: drift toward 0.04 % shows ambient break-in; the distance from it is our assumption',
    mark: 'common practice',
  },
  {
    key: 'neighbourZ',
    label: 'Distance from what the neighbours predict, in robust standard deviations of the log value',
    unit: '',
    standard: 2.5,
    source: `Common practice for robust outlier tests; how many clean samples it marks: ${NOTES}`,
    mark: 'common practice',
  },
  {
    key: 'shallowDepthM',
    label: 'Shallow: less deep than the reference depth by more than',
    unit: 'm',
    standard: 0.1,
    source: 'Common practice; the Czech method samples at 0.8 m and reports every deviation',
    mark: 'common practice',
  },
  {
    key: 'lowSuctionPa',
    label: 'Suction too low for a soil described as fine or of low permeability, under',
    unit: 'Pa',
    standard: 200,
    source:
      'Own assumption: a fifth of what Darcy flow needs at k = 4e-13 m2, 200 mL/min and shape factor 0.149 m (about 1 kPa)',
    mark: 'own assumption',
  },
  {
    key: 'duplicateRpdPct',
    label: 'Relative per cent difference of duplicates over',
    unit: '%',
    standard: 35,
    source: 'Vapour-intrusion practice flags from 25 to 35 %, from memory',
    mark: 'from memory',
  },
  {
    key: 'suspectGasZ',
    label:
      'All signs together, oxygen or carbon dioxide among them: suspect where clean samples look like this only beyond so many standard deviations',
    unit: '',
    standard: 2,
    source: `Own rule, set on simulated campaigns so that about 2 % of clean samples are marked at most; see ${NOTES}`,
    mark: 'own assumption',
  },
  {
    key: 'suspectZ',
    label: 'The same where neither was read',
    unit: '',
    standard: 2.05,
    source: `Own rule, set on simulated campaigns so that about 2 % of clean samples are marked at most; see ${NOTES}`,
    mark: 'own assumption',
  },
  {
    key: 'dilutedZ',
    label: 'All signs together, radon not alone: diluted from so many standard deviations',
    unit: '',
    standard: 3.5,
    source: `Own rule, set on simulated campaigns so that about 1 clean sample in 1,000 is called diluted; see ${NOTES}`,
    mark: 'own assumption',
  },
  {
    key: 'repeatFallPct',
    label: 'Repeat of one hole lower by more than this and than its uncertainty explains',
    unit: '%',
    standard: 25,
    source: 'Common practice: a fall over 25 % and over twice the combined uncertainty',
    mark: 'common practice',
  },
  {
    key: 'pumpLimitSuctionPa',
    label: 'Suction from here on is the limit of the pump',
    unit: 'Pa',
    standard: 20_000,
    source:
      'Vacuum limit of 100 in. H2O (24.9 kPa), California DTSC active soil-gas advisory; 20 kPa leaves room for the gauge',
    mark: 'own assumption',
  },
  {
    key: 'tracerLeakPct',
    label: 'Tracer of the shroud found in the sample: accepted up to',
    unit: '%',
    standard: 5,
    source:
      'Ambient leak up to 5 % accepted (California DTSC 2015, section 4.2.2.2); vapour practice, not radon',
    mark: 'confirmed',
  },
  {
    key: 'tracerDilutedPct',
    label: 'Tracer of the shroud found in the sample: diluted from',
    unit: '%',
    standard: 20,
    source: 'One consultant procedure acts above 20 %; vapour practice, not radon',
    mark: 'common practice',
  },
  {
    key: 'leastSystemVolumes',
    label: 'Pumped volume in volumes of the system, at least',
    unit: '',
    standard: 3,
    source:
      'Default purge of three volumes (California DTSC 2015, section 4.2.3); vapour practice, not radon',
    mark: 'confirmed',
  },
  {
    key: 'reachShareOfDepth',
    label: 'Radius that the gas came from as a share of the depth, at most',
    unit: '',
    standard: 0.5,
    source:
      'Own assumption: half the depth, since ground is layered and gas comes from farther along open ways',
    mark: 'own assumption',
  },
  {
    key: 'duplicateRejectPct',
    label: 'Duplicates farther apart than this are to be explained or taken again',
    unit: '%',
    standard: 50,
    source: 'Vapour-intrusion practice rejects or explains over 50 %, from memory',
    mark: 'from memory',
  },
  {
    key: 'samplesPerDuplicate',
    label: 'One duplicate for so many holes',
    unit: '',
    standard: 20,
    source: 'At least 1 in 20 (California DTSC 2015, section 6.3.2); vapour practice, not radon',
    mark: 'confirmed',
  },
  {
    key: 'samplesPerBlank',
    label: 'One blank for so many samples, and one each day',
    unit: '',
    standard: 20,
    source:
      'Equipment blank 1 in 20 or each day (California DTSC 2015, section 6.3.1); vapour practice, not radon',
    mark: 'confirmed',
  },
  {
    key: 'mostFlowMlPerMin',
    label: 'Gas is drawn no faster than',
    unit: 'mL/min',
    standard: 200,
    source: '100 to 200 mL/min (California DTSC 2012, section 4.3); vapour practice, not radon',
    mark: 'confirmed',
  },
  {
    key: 'calibrationDays',
    label: 'A certificate of calibration holds for',
    unit: 'd',
    standard: 365,
    source: 'A year is common practice; local rules may ask for less',
    mark: 'common practice',
  },
  {
    key: 'controlGapHours',
    label: 'The control probe is drawn from again within',
    unit: 'h',
    standard: 5,
    source: 'Each half-day, taken as 5 hours: our assumption',
    mark: 'own assumption',
  },
  {
    key: 'rainMm',
    label: 'Rain from here on counts as heavy',
    unit: 'mm',
    standard: 13,
    source: '0.5 in. (Cal/EPA 2003 as cited)',
    mark: 'confirmed',
  },
  {
    key: 'rainHours',
    label: 'Wait after heavy rain',
    unit: 'h',
    standard: 24,
    source: 'Waits of 1, 3 and 5 days are in use; the shortest is taken',
    mark: 'common practice',
  },
  {
    key: 'carryOverPct',
    label: 'An earlier sample may leave up to this share of the next value',
    unit: '%',
    standard: 5,
    source: 'Own assumption: little beside the other doubts of a single draw',
    mark: 'own assumption',
  },
];

/** The limits as a project starts with them. */
export function defaultThresholds(): FlagThresholds {
  return Object.fromEntries(THRESHOLDS.map((t) => [t.key, t.standard])) as unknown as FlagThresholds;
}

/** Where a limit comes from. */
export function sourceOf(key: keyof FlagThresholds): string {
  return THRESHOLDS.find((t) => t.key === key)?.source ?? '';
}
