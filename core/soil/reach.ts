import { AppError } from '../errors.ts';
import type { Uncertain } from './uncertainty.ts';
import { propagate } from './uncertainty.ts';

/** Air-filled porosity put in place of one not given (own assumption: moist loam to sand, 0.1 to 0.4). */
export const USUAL_AIR_POROSITY: Uncertain = { value: 0.25, u: 0.09 };

export interface Reach {
  readonly radiusM: Uncertain;
  /** Radius over half the depth: air from the surface may have been drawn. */
  readonly surfaceAirPossible: boolean;
}

/**
 * Radius of the sphere that the gas came from, (3 V / 4 pi eps)^(1/3). Real ground is layered and fissured: gas comes
 * from farther along the open ways.
 * @param drawnM3 all gas drawn at the place so far: purge and repeats included
 */
export function reachOf(drawnM3: Uncertain, airPorosity: Uncertain, depthM: number): Reach {
  if (!(drawnM3.value > 0 && airPorosity.value > 0 && airPorosity.value < 1 && depthM > 0))
    throw new AppError(
      'BAD_INPUT',
      `Reach needs a drawn volume (${drawnM3.value} m3), an air-filled porosity between 0 and 1 (${airPorosity.value}) and a depth (${depthM} m)`,
      { field: 'reach' },
    );
  const radiusM = propagate(
    ([v = 0, eps = 1]) => Math.cbrt((3 * Math.max(v, 0)) / (4 * Math.PI * Math.max(eps, 0.01))),
    [drawnM3, airPorosity],
  );
  return { radiusM, surfaceAirPossible: radiusM.value > depthM / 2 };
}
