/** Whether enough was measured at a placed footprint for the scheme to be asked for a class there. */
import type { Scheme } from '../classify/scheme.ts';
import type { PositionM, RingM } from '../contract/model.ts';
import { distanceToRing, pointInPolygon } from '../geo/planar.ts';
import { type LayoutRules, layoutRulesOf } from '../plan/layout-rules.ts';

export interface ClassSupport {
  readonly enough: boolean;
  /** Valid measured points in the footprint, and in its surroundings beside. */
  readonly inside: number;
  readonly around: number;
  readonly needed: number;
  readonly surroundingsM: number;
  readonly message: string;
}

/**
 * Counts points only; what the class is, the scheme says.
 * @param measured places of valid values alone: no lower bounds, nothing left out
 */
export function classSupport(
  ring: RingM,
  measured: readonly PositionM[],
  scheme: Scheme,
  rules: LayoutRules = layoutRulesOf(scheme),
): ClassSupport {
  const surroundingsM = rules.surroundingsM.value;
  let [inside, around] = [0, 0];
  for (const place of measured) {
    if (pointInPolygon(place, [ring])) inside++;
    else if (distanceToRing(place, ring) <= surroundingsM) around++;
  }
  const needed = scheme.minimumCount.value;
  const enough = inside + around >= needed && inside > 0;
  const counts = `${inside} valid points lie in the footprint and ${around} within ${surroundingsM} m of it`;
  const message = enough
    ? `${counts}: enough for a class by ${scheme.name} (${needed}).`
    : `${counts}; ${scheme.name} asks for ${needed}${inside === 0 && inside + around >= needed ? ', some of them in the footprint' : ''}: no class for this place, only what the model says.`;
  return { enough, inside, around, needed, surroundingsM, message };
}
