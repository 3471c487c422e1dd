import { AppError } from '../errors.ts';
import type { Uncertain } from './uncertainty.ts';
import { propagate } from './uncertainty.ts';

/** Outside air, per cent by volume: oxygen 20.95, carbon dioxide 0.042 (dry air, from memory). */
export const OUTSIDE_AIR = { oxygenPct: 20.95, carbonDioxidePct: 0.042 } as const;

/** Limits in use for outside air in a sample, as shares. */
export const LEAK_LIMITS = [
  { share: 0.05, source: 'California DTSC advisory 2015, section 4.2.2.2 (gas shroud)' },
  { share: 0.1, source: 'Several US states and ITRC 2007, from memory' },
] as const;

/** Which of the limits a leak passes; unrounded, a leak on a limit passes it ('up to'). */
export function judgeLeak(leak: Uncertain): { limit: number; source: string; passes: boolean }[] {
  return LEAK_LIMITS.map(({ share, source }) => ({ limit: share, source, passes: leak.value <= share }));
}

/** Share of a sample that came from under the shroud: tracer in the sample over tracer in the shroud. */
export function leakFromTracer(samplePct: Uncertain, shroudPct: Uncertain): Uncertain {
  if (!(shroudPct.value > 0 && samplePct.value >= 0 && samplePct.value <= shroudPct.value))
    throw new AppError(
      'BAD_INPUT',
      `Tracer in the sample (${samplePct.value} %) must lie between 0 and what is under the shroud (${shroudPct.value} %)`,
      { field: 'tracer' },
    );
  return propagate(([sample = 0, shroud = 1]) => sample / shroud, [samplePct, shroudPct]);
}

/**
 * Share of outside air from oxygen or carbon dioxide, where the value of the ground itself is known.
 * @param sample of the diluted sample, ground of a sound one nearby, outside of the open air (same unit)
 * @returns clipped to 0..1; u unclipped
 * @throws AppError SINGULAR where ground and outside air cannot be told apart
 */
export function outsideAirShare(sample: Uncertain, ground: Uncertain, outside: Uncertain): Uncertain {
  const contrast = Math.abs(outside.value - ground.value);
  if (!(contrast > 2 * Math.hypot(outside.u, ground.u)))
    throw new AppError(
      'SINGULAR',
      `The ground (${ground.value}) is not clearly different from outside air (${outside.value}): this gas tells nothing of dilution here`,
      { field: 'ground' },
    );
  const share = propagate(([s = 0, g = 0, o = 1]) => (s - g) / (o - g), [sample, ground, outside]);
  return { value: Math.min(1, Math.max(0, share.value)), u: share.u };
}
