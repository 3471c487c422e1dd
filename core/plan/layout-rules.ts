/** What a scheme asks of the layout of probes, beside number and depth. */
import type { Scheme, SourcedNumber } from '../classify/scheme.ts';
import type { PositionM, RingM } from '../contract/model.ts';
import { distanceToRing, pointInPolygon } from '../geo/planar.ts';

export type LayoutRules = NonNullable<Scheme['layout']>;

const SURROUNDINGS: SourcedNumber = {
  label: 'Surroundings of the footprint that count',
  value: 5,
  unit: 'm',
  source: 'common practice',
  mark: 'practice',
  note: 'The scheme gives no figure.',
};

/** The scheme's own rules, or only the surroundings by common practice where it has none. */
export function layoutRulesOf(scheme: Scheme): LayoutRules {
  return (
    scheme.layout ?? {
      surroundingsM: SURROUNDINGS,
      widestSpacingM: null,
      gridOverM2: null,
      gridSpacingM: null,
    }
  );
}

/** In the footprint, or no farther from it than what counts as its surroundings. */
export function isNearFootprint(place: PositionM, footprint: RingM, rules: LayoutRules): boolean {
  return (
    pointInPolygon(place, [footprint]) ||
    distanceToRing(place, footprint) <= rules.surroundingsM.value + TOUCH_M
  );
}

const TOUCH_M = 1e-6;
