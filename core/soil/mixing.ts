import { AppError } from '../errors.ts';
import type { Uncertain } from './uncertainty.ts';
import { propagate } from './uncertainty.ts';

/** Outside air, per cent by volume: oxygen 20.95, carbon dioxide 0.042 (dry air, from memory). */
export const OUTSIDE_AIR = { oxygenPct: 20.95, carbonDioxidePct: 0.042 } as const;

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
