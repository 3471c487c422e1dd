import type { FlagThresholds } from '../contract/model.ts';

/**
 * Relative standard uncertainty put in place of one that a file does not give. An assumption of this program,
 * not a published figure: wide enough that a bare value never looks surer than a measured one.
 */
export const ASSUMED_RELATIVE_U = 0.15;

export interface ThresholdInfo {
  readonly key: keyof FlagThresholds;
  readonly label: string;
  readonly unit: string;
  readonly standard: number;
  readonly source: string;
  /** 'confirmed' only where the source was seen; everything else is shown as unconfirmed. */
  readonly mark: 'confirmed' | 'from memory' | 'common practice' | 'own assumption';
}

/** Every limit a flag uses, as a project starts with it. */
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
    source:
      'Common practice for robust outlier tests; in our own simulation of 15-probe lots it marks 1.3 % of clean samples as low',
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
];

/** Suction at which common sampling pumps stop drawing; 100 inches of water is the limit of the vapour guidance. */
export const PUMP_LIMIT = {
  suctionPa: 20_000,
  source:
    'Vacuum limit of 100 in. H2O (24.9 kPa), California DTSC active soil-gas advisory; 20 kPa leaves room for the gauge',
} as const;

export function defaultThresholds(): FlagThresholds {
  const entries = THRESHOLDS.map((t) => [t.key, t.standard] as const);
  return Object.fromEntries(entries) as unknown as FlagThresholds;
}
