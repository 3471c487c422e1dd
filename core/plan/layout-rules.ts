/** What published schemes ask of the layout of probes, beside the number and depth that their scheme files hold. */
import type { SourcedNumber } from '../classify/scheme.ts';

export interface LayoutRules {
  /** Ground around the footprint that counts as its surroundings. */
  readonly surroundingsM: SourcedNumber;
  /** Spacing between neighbours up to which a layout is taken to be close enough; null where none is given. */
  readonly widestSpacingM: SourcedNumber | null;
  /** Over this footprint area the scheme asks for a grid instead of a number. */
  readonly gridOverM2: SourcedNumber | null;
  readonly gridSpacingM: SourcedNumber | null;
}

const SURROUNDINGS: SourcedNumber = {
  label: 'Surroundings of the footprint that count',
  value: 5,
  unit: 'm',
  source: 'common practice',
  mark: 'practice',
  note: 'The sources seen say "nearest surroundings" and give no figure.',
};

const CZECH: LayoutRules = {
  surroundingsM: SURROUNDINGS,
  widestSpacingM: {
    label: 'Widest spacing in layouts in use',
    value: 10,
    unit: 'm',
    source: 'Layouts in use of a Czech licensed firm: 5 m and 10 m spacing',
    mark: 'read',
  },
  gridOverM2: {
    label: 'Contact area over which a grid is asked for',
    value: 800,
    unit: 'm²',
    source: 'Decree 422/2016 Sb., annex 26, in the description of two Czech testing firms',
    mark: 'read',
  },
  gridSpacingM: {
    label: 'Spacing of that grid',
    value: 10,
    unit: 'm',
    source: 'Decree 422/2016 Sb., annex 26, in the description of two Czech testing firms',
    mark: 'read',
  },
};

const BY_SCHEME: Record<string, LayoutRules> = { 'czech-building-site-index': CZECH };

/** Rules of the scheme, or only the surroundings by common practice where nothing is known of it. */
export function layoutRulesOf(schemeId: string): LayoutRules {
  return (
    BY_SCHEME[schemeId] ?? {
      surroundingsM: SURROUNDINGS,
      widestSpacingM: null,
      gridOverM2: null,
      gridSpacingM: null,
    }
  );
}
