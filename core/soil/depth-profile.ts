import { AppError } from '../errors.ts';
import type { Uncertain } from './uncertainty.ts';
import { propagate } from './uncertainty.ts';

/** Share of the value at great depth that diffusion alone leaves at depth z in uniform ground. */
export function profileShare(depthM: number, lengthM: number): number {
  return -Math.expm1(-depthM / lengthM);
}

/**
 * Lengths by soil, order of magnitude only (pore-gas D of Nazaroff and Nero 1988 and UNSCEAR, from memory); the wide
 * uncertainty of 40 % is an own assumption.
 */
export const LENGTH_BY_SOIL = {
  'dry sand or gravel': { value: 1.54, u: 0.6 },
  'moist loam or till': { value: 0.98, u: 0.4 },
  'damp fine soil': { value: 0.49, u: 0.2 },
} as const satisfies Readonly<Record<string, Uncertain>>;

/** Why a sample is shallower than the reference. */
export type ShallowReason = 'stopped-in-soil' | 'water-below' | 'chosen' | 'refused-at-rock';

/**
 * A value brought to the reference depth by a model. Not a `Measured` and not assignable to one: it may be shown and
 * mapped, and must never enter a class.
 */
export interface DepthCorrected {
  readonly kind: 'depth-corrected';
  readonly notForClass: true;
  readonly atReferenceKBqPerM3: Uncertain;
  readonly factor: Uncertain;
  readonly fromDepthM: number;
  readonly toDepthM: number;
  readonly caution: string;
}

export interface NotCorrected {
  readonly kind: 'not-corrected';
  readonly reason: string;
}

/** Limits of the correction (own assumptions, shown with it). */
export const DEPTH_CORRECTION_LIMITS = { leastDepthM: 0.3, largestFactor: 2 } as const;

/**
 * @param cavityCentreM depth of the centre of the cavity, not of the tip
 * @param lengthM diffusion length from the soil or entered
 */
export function correctDepth(
  valueKBqPerM3: Uncertain,
  cavityCentreM: number,
  referenceM: number,
  lengthM: Uncertain,
  reason: ShallowReason,
): DepthCorrected | NotCorrected {
  if (!(cavityCentreM > 0 && referenceM > 0 && lengthM.value > 0))
    throw new AppError(
      'BAD_INPUT',
      `Depths (${cavityCentreM} m, ${referenceM} m) and diffusion length (${lengthM.value} m) must be over 0`,
      { field: 'depthM' },
    );
  const no = (why: string): NotCorrected => ({ kind: 'not-corrected', reason: why });
  if (reason === 'refused-at-rock')
    return no('Refused at rock: the profile of deep soil does not hold above rock, and rock may give more.');
  if (cavityCentreM < DEPTH_CORRECTION_LIMITS.leastDepthM)
    return no(`${cavityCentreM} m is too shallow: weather, not diffusion, makes the value there.`);
  const factorAt = ([length = 1]: readonly number[]) => {
    const safe = Math.max(length, 0.05);
    return profileShare(referenceM, safe) / profileShare(cavityCentreM, safe);
  };
  const factor = propagate(factorAt, [lengthM]);
  if (factor.value > DEPTH_CORRECTION_LIMITS.largestFactor)
    return no(`The factor of ${factor.value.toFixed(2)} is over ${DEPTH_CORRECTION_LIMITS.largestFactor}.`);
  return {
    kind: 'depth-corrected',
    notForClass: true,
    atReferenceKBqPerM3: propagate(([value = 0, f = 1]) => value * f, [valueKBqPerM3, factor]),
    factor,
    fromDepthM: cavityCentreM,
    toDepthM: referenceM,
    caution:
      'Diffusion in uniform ground only. Measured profiles have been seen flat from 0.8 to 1.3 m and rising at a layer border (Antonopoulos-Domis et al.).',
  };
}
