/** Whether enough was measured at a placed footprint for the scheme to be asked for a class there. */
import type { Scheme } from '../classify/scheme.ts';
import type { PositionM, RingM } from '../contract/model.ts';
import type { ClassSupportView } from '../contract/siting.ts';
import { pointInPolygon, ringArea } from '../geo/planar.ts';
import { isNearFootprint, type LayoutRules, layoutRulesOf } from '../plan/layout-rules.ts';
import { prepareInterest, worstGap } from '../plan/worst-gap.ts';

/** As for a plan of probes: a grid of a spacing leaves half its diagonal. */
const GAP_TOLERANCE = 1.005;
const GAP_SAMPLES = 400;

/**
 * Counts points, and their spacing under a large footprint; what the class is, the scheme says.
 * @param measured places of valid values alone: no lower bounds, nothing left out
 */
export function classSupport(
  ring: RingM,
  measured: readonly PositionM[],
  scheme: Scheme,
  rules: LayoutRules = layoutRulesOf(scheme),
): ClassSupportView {
  const { surroundingsM } = rules;
  const inside = measured.filter((place) => pointInPolygon(place, [ring]));
  const near = measured.filter((place) => isNearFootprint(place, ring, rules));
  const around = near.length - inside.length;
  const needed = scheme.minimumCount.value;
  const missing: string[] = [];
  if (near.length < needed)
    missing.push(
      `${needed - near.length} more valid ${needed - near.length === 1 ? 'point' : 'points'} in the footprint or within ${surroundingsM.value} m of it`,
    );
  if (inside.length === 0) missing.push('at least one of them in the footprint itself');
  const gap = near.length < needed ? null : missingGrid(ring, near, rules);
  if (gap !== null) missing.push(gap);
  const enough = missing.length === 0;
  const lie = (n: number) => (n === 1 ? 'lies' : 'lie');
  const counts = `${inside.length} valid ${inside.length === 1 ? 'point' : 'points'} ${lie(inside.length)} in the footprint and ${around} within ${surroundingsM.value} m of it`;
  const message = enough
    ? `${counts}: enough for a class by ${scheme.name}, which asks for ${needed}.`
    : `${counts}; ${scheme.name} asks for ${needed}. No class for this place, only what the model says. Missing: ${missing.join('; ')}.`;
  return {
    enough,
    inside: inside.length,
    around,
    needed,
    surroundingsM: surroundingsM.value,
    surroundingsUnconfirmed: surroundingsM.mark !== 'read' && surroundingsM.mark !== 'calc',
    missing,
    message,
  };
}

function missingGrid(ring: RingM, near: readonly PositionM[], rules: LayoutRules): string | null {
  const { gridOverM2, gridSpacingM } = rules;
  const areaM2 = Math.abs(ringArea(ring));
  if (gridOverM2 === null || gridSpacingM === null || areaM2 <= gridOverM2.value) return null;
  const { gapM, atM } = worstGap(near, prepareInterest([[ring]], GAP_SAMPLES));
  if (gapM <= gridSpacingM.value * Math.SQRT1_2 * GAP_TOLERANCE) return null;
  return `a ${gridSpacingM.value} m grid, as the footprint covers ${areaM2.toFixed(0)} m², over ${gridOverM2.value} m²: around (${atM.map((v) => v.toFixed(1)).join(', ')}) the nearest point is ${gapM.toFixed(1)} m off`;
}
