// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { normalCdf } from '../geostat/normal.ts';
import type { FieldPoint } from './scatter-field.ts';

export type ChannelKind = 'radon' | 'gas' | 'suction' | 'repeat';

/** One number of a sample on the log scale, and how outside air would move it. */
export interface ChannelReading {
  readonly sampleId: string;
  /** Index into the channel's points. */
  readonly point: number;
  readonly logValue: number;
  /** What the log value holds beside the reading, to be compared with others at one depth and one flow. */
  readonly offset: number;
  /** For each share of `AIR_SHARES`: shift of the log value, variance of the reading, share of the scatter left. */
  readonly shift: Float64Array;
  readonly errorVariance: Float64Array;
  readonly scatterLeft: Float64Array;
  /** The same three without a leak are 0, `cleanErrorVariance` and 1. */
  readonly cleanErrorVariance: number;
}

export interface Channel {
  readonly kind: 'radon' | 'gas' | 'suction';
  readonly points: readonly FieldPoint[];
  /** Sample that stands for each point. */
  readonly pointSampleIds: readonly string[];
  readonly readings: readonly ChannelReading[];
}

/** Shares of outside air and their prior weight: even from 0 to 1, finer at the end where the logs run away. */
export const AIR_SHARES = Float64Array.from([
  ...Array.from({ length: 19 }, (_, i) => 0.025 + 0.05 * i),
  0.96,
  0.985,
  0.998,
]);
export const SHARE_WEIGHTS = Float64Array.from([
  ...Array.from({ length: 19 }, () => 0.05),
  0.03,
  0.015,
  0.005,
]);
export const SHARES = AIR_SHARES.length;

const ODD_BY_NATURE = { share: 0.04, spread: 2.5 } as const;
const LENS = { share: 0.1, shift: -1.5, sd: 1 } as const;

/** What the other holes predict of a log value. */
export interface Prediction {
  readonly mean: number;
  readonly variance: number;
  /** Ground scatters evenly about its mean, so that low values are commoner than on the log scale. */
  readonly isEven: boolean;
}

/**
 * Density of a reading where the others predict `at`, with share number `k` of outside air (-1: none).
 * @param nature log shift of the ground itself at this hole, and the variance that it takes from the scatter
 */
export function readingDensity(
  kind: Channel['kind'],
  reading: ChannelReading,
  at: Prediction,
  k: number,
  nature: Nature = UNMOVED,
): number {
  const rare = rareShare(kind);
  return (1 - rare) * usualDensity(reading, at, k, nature) + rare * rareDensity(kind, reading, at, k, nature);
}

export interface Nature {
  readonly shift: number;
  readonly variance: number;
}

/** Of a hole like the others. */
export function usualDensity(reading: ChannelReading, at: Prediction, k: number, nature: Nature): number {
  const { d, variance, error } = awayFrom(reading, at, k, nature);
  return at.isEven ? evenDensity(d, variance, error) : normalDensity(d, variance + error);
}

/** Of a hole odd by nature, or in a looser lens. */
export function rareDensity(
  kind: Channel['kind'],
  reading: ChannelReading,
  at: Prediction,
  k: number,
  nature: Nature,
): number {
  const { d, variance, error } = awayFrom(reading, at, k, nature);
  return kind === 'suction'
    ? normalDensity(d - LENS.shift, variance + error + LENS.sd ** 2)
    : normalDensity(d, variance * ODD_BY_NATURE.spread ** 2 + error);
}

export function rareShare(kind: Channel['kind']): number {
  return kind === 'suction' ? LENS.share : ODD_BY_NATURE.share;
}

function awayFrom(reading: ChannelReading, at: Prediction, k: number, nature: Nature) {
  const left = k < 0 ? 1 : reading.scatterLeft[k]!;
  return {
    d: reading.logValue - at.mean - (k < 0 ? 0 : reading.shift[k]!) - nature.shift,
    variance: Math.max(at.variance - nature.variance, LEAST_OWN * at.variance) * left * left,
    error: k < 0 ? reading.cleanErrorVariance : reading.errorVariance[k]!,
  };
}

/** What holes share cannot be all of their scatter. */
const LEAST_OWN = 0.08;

/** Density of the log of a value that is normal about its mean and never under 0; d from the mean of the log. */
function evenDensity(d: number, variance: number, error: number): number {
  const total = variance + error;
  const onMean = Math.exp(d - 0.5 * Math.min(total, 0.5));
  // The logistic curve stands for the normal one: within 0.01.
  const overZero = 1 / (1 + Math.exp(-1.702 / Math.sqrt(total)));
  return (onMean * normalDensity(onMean - 1, total)) / overZero;
}

/** Chance of a log value as low as this or lower, normal about its mean, without tails for odd holes. */
export function lowTail(reading: ChannelReading, mean: number, variance: number): number {
  return normalCdf((reading.logValue - mean) / Math.sqrt(variance + reading.cleanErrorVariance));
}

const UNMOVED = { shift: 0, variance: 0 } as const;

export function normalDensity(d: number, variance: number): number {
  return Math.exp((-0.5 * d * d) / variance) / Math.sqrt(2 * Math.PI * variance);
}

/** Likelihood ratio averaged over the shares. */
export function ratioOf(curve: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < SHARES; k++) sum += SHARE_WEIGHTS[k]! * curve[k]!;
  return sum;
}
