/** What a scheme asks of the layout of probes, beside number and depth. */
import type { Scheme, SourcedNumber } from '../classify/scheme.ts';

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
