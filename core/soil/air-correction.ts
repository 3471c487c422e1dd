import type { Measured } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import type { Uncertain } from './uncertainty.ts';
import { propagate } from './uncertainty.ts';

/** What is known of the other air in a sample. */
export type AirCorrection =
  | { readonly kind: 'dead-volume'; readonly soilGasShare: Uncertain }
  | { readonly kind: 'tracer'; readonly outsideAirShare: Uncertain };

/** Over this share of other air a corrected value rests on the correction: sample again (own assumption). */
export const LARGEST_CORRECTED_SHARE = 0.5;

/** Radon of open air, 2 to 10 Bq/m3 (Czech public guide); taken off with the air. */
export const OUTSIDE_RADON_KBQ_PER_M3: Uncertain = { value: 0.006, u: 0.003 };

/**
 * Soil-gas value of a sample that holds other air: C = (C_sample - a C_air) / (1 - a).
 * Takes one correction only: a tracer sees the air of the dead volume as well, and to take the same air off twice
 * would raise the value.
 * @throws AppError BAD_INPUT for more than one correction, or more than half of other air
 */
export function correctForAir(
  sampleKBqPerM3: Uncertain,
  corrections: readonly AirCorrection[],
  airKBqPerM3: Uncertain = OUTSIDE_RADON_KBQ_PER_M3,
): Uncertain {
  if (corrections.length > 1)
    throw new AppError(
      'BAD_INPUT',
      `Two corrections for the same air (${corrections.map((c) => c.kind).join(', ')}): choose one`,
      { field: 'corrections' },
    );
  const [correction] = corrections;
  if (correction === undefined) return sampleKBqPerM3;
  const air: Uncertain =
    correction.kind === 'tracer'
      ? correction.outsideAirShare
      : { value: 1 - correction.soilGasShare.value, u: correction.soilGasShare.u };
  if (!(air.value >= 0 && air.value <= LARGEST_CORRECTED_SHARE))
    throw new AppError(
      'BAD_INPUT',
      `${(100 * air.value).toFixed(0)} % of the sample is other air: too much to correct, sample again`,
      { field: 'corrections', share: air.value },
    );
  return propagate(
    ([sample = 0, share = 0, outside = 0]) => (sample - share * outside) / (1 - share),
    [sampleKBqPerM3, air, airKBqPerM3],
  );
}

/**
 * As {@link correctForAir}, for a reduced value. The calibration's common uncertainty stays what it is; a bound is
 * moved like a value, with the share of air taken to its safe side by 1.645 u.
 */
export function correctMeasuredForAir(
  measured: Measured,
  corrections: readonly AirCorrection[],
  airKBqPerM3: Uncertain = OUTSIDE_RADON_KBQ_PER_M3,
): Measured {
  switch (measured.kind) {
    case 'none':
      return measured;
    case 'value': {
      const { estimateKBqPerM3: value, randomUKBqPerM3: u, commonURel } = measured;
      const corrected = correctForAir({ value, u }, corrections, airKBqPerM3);
      return { kind: 'value', estimateKBqPerM3: corrected.value, randomUKBqPerM3: corrected.u, commonURel };
    }
    case 'atLeast':
    case 'atMost': {
      const side = measured.kind === 'atMost' ? 1 : -1;
      const bound = correctForAir({ value: measured.boundKBqPerM3, u: 0 }, corrections, airKBqPerM3);
      return { ...measured, boundKBqPerM3: Math.max(0, bound.value + side * 1.645 * bound.u) };
    }
  }
}
