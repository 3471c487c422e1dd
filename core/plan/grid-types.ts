/** What is asked of a probe layout and what comes back. */
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import type { LatticePattern } from './layouts.ts';

export type GridPattern = LatticePattern | 'along-footprint';

export interface GridRequest {
  readonly pattern: GridPattern;
  readonly size: { readonly spacingM: number } | { readonly count: number };
  /** Where probes may be driven; must not be empty. */
  readonly ground: readonly PolygonM[];
  /** Where the probes stand, part of `ground`; all of it where absent. Gaps are those of `ground`. */
  readonly stand?: readonly PolygonM[];
  readonly footprint: RingM | null;
  /** 'all': probes on all the ground. A number: only in the footprint and this many metres around it. */
  readonly around: 'all' | { readonly footprintPlusM: number };
  /** Layouts by spacing with fewer probes than this come last. */
  readonly minimumCount?: number;
  /** Left out: chosen. Degrees anticlockwise from east. */
  readonly turnDeg?: number;
  /** 'adaptive': how far from the footprint the close spacing reaches; default one spacing. */
  readonly denseWithinM?: number;
  /** 'along-footprint': how far outside the outline the outer row runs; default 0. */
  readonly alongOffsetM?: number;
  readonly labels?: { readonly prefix: string; readonly taken: readonly string[] };
}

export interface PlannedProbe {
  readonly label: string;
  readonly positionM: PositionM;
}

export interface GridDesign {
  readonly pattern: GridPattern;
  readonly probes: readonly PlannedProbe[];
  readonly spacingM: number;
  readonly turnDeg: number;
  /** Largest distance from the ground of interest (allowed ground asked for, and all of the footprint) to a probe. */
  readonly worstGapM: number;
  readonly worstGapAtM: PositionM;
  /** The same over the footprint alone. */
  readonly worstGapInFootprintM: number | null;
  readonly layoutsTried: number;
  readonly notes: readonly string[];
}
