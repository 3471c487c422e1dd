import type { Measured } from '../contract/model.ts';
import type { BestEstimate } from './iso-11929.ts';
import type { Misfit } from './poisson-fit.ts';

/** What a sample comes to, from counts or from values an instrument has reduced: both paths end here. */
export interface ReducedSample {
  readonly path: 'counts' | 'values';
  /** 'value', or 'atMost' (the detection limit) where the estimate is under the decision threshold. */
  readonly measured: Measured;
  /** Kept whatever `measured` says; may be negative. Refers to the time the gas left the ground. */
  readonly estimateKBqPerM3: number;
  /** Standard uncertainty without the common one of the calibration. */
  readonly randomUKBqPerM3: number;
  readonly uBasis: 'information' | 'profile' | 'blank' | 'stated' | 'scatter' | 'assumed';
  /** 95 % of the random part alone, cut at 0. */
  readonly interval95KBqPerM3: readonly [low: number, high: number];
  readonly intervalBasis: 'profile likelihood' | 'normal';
  /** Random and common uncertainty together, positive by ISO 11929. */
  readonly best: BestEstimate;
  readonly commonURel: number;
  readonly decisionThresholdKBqPerM3: number | null;
  readonly detectionLimitKBqPerM3: number | null;
  readonly fit: FitQuality | null;
  readonly thoron: ThoronEstimate | null;
  /** Plain words on what was done or is doubtful. */
  readonly notes: readonly string[];
}

export interface FitQuality extends Misfit {
  /** Chance of a worse Pearson chi-square; null where no degree of freedom is left. */
  readonly pPearson: number | null;
  readonly pDeviance: number | null;
}

export interface ThoronEstimate {
  readonly estimateKBqPerM3: number;
  readonly uKBqPerM3: number;
  /** Correlation of radon and thoron in the fit. */
  readonly correlation: number;
}

/**
 * `measured` by the rule of ISO 11929: a result under the decision threshold is 'not detected' with its detection
 * limit, never a zero.
 * @param boundIfNoLimit upper end of the coverage interval, for a calibration so uncertain that no limit exists
 */
export function toMeasured(
  estimateKBqPerM3: number,
  randomUKBqPerM3: number,
  commonURel: number,
  decisionThresholdKBqPerM3: number | null,
  detectionLimitKBqPerM3: number | null,
  boundIfNoLimit: number,
): Measured {
  if (decisionThresholdKBqPerM3 !== null && estimateKBqPerM3 < decisionThresholdKBqPerM3)
    return { kind: 'atMost', boundKBqPerM3: detectionLimitKBqPerM3 ?? boundIfNoLimit };
  return { kind: 'value', estimateKBqPerM3, randomUKBqPerM3, commonURel };
}
