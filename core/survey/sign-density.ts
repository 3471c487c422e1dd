// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import type { FieldPoint } from './scatter-field.ts';

export type ChannelKind = 'radon' | 'gas' | 'suction' | 'repeat';

/** One number of a sample on the log scale, and how outside air would move it. */
export interface ChannelReading {
  readonly sampleId: string;
  /** Index into the channel's points. */
  readonly point: number;
  readonly logValue: number;
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

const ODD_BY_NATURE = { share: 0.05, spread: 2.5 } as const;
const LENS = { share: 0.1, shift: -1.5, sd: 1 } as const;

/**
 * Density of a reading where the others predict `at`, with share number `k` of outside air (-1: none).
 * @param nature log shift of the ground itself at this hole, and the variance that it takes from the scatter
 */
export function readingDensity(
  kind: Channel['kind'],
  reading: ChannelReading,
  at: { readonly mean: number; readonly variance: number },
  k: number,
  nature: { readonly shift: number; readonly variance: number } = UNMOVED,
): number {
  const shift = k < 0 ? 0 : reading.shift[k]!;
  const error = k < 0 ? reading.cleanErrorVariance : reading.errorVariance[k]!;
  const left = k < 0 ? 1 : reading.scatterLeft[k]!;
  const variance = Math.max(at.variance - nature.variance, 0.25 * at.variance) * left * left;
  const d = reading.logValue - at.mean - shift - nature.shift;
  if (kind === 'suction') {
    return (
      (1 - LENS.share) * normalDensity(d, variance + error) +
      LENS.share * normalDensity(d - LENS.shift, variance + error + LENS.sd ** 2)
    );
  }
  return (
    (1 - ODD_BY_NATURE.share) * normalDensity(d, variance + error) +
    ODD_BY_NATURE.share * normalDensity(d, variance * ODD_BY_NATURE.spread ** 2 + error)
  );
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
