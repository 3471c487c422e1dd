/** Places of the building: kept ones, what the model says under one while it is dragged, and the class there. */
import type { Pose, PositionM, ProjectView, RingM } from './model.ts';
import type { UnderFootprintView } from './planning.ts';
import type { ClassResult } from './results.ts';

/** The bounding rectangle, and what is cut out of it: a corner of an L, the middle of one long side of a U. */
export type FootprintShape =
  | { readonly kind: 'rectangle'; readonly lengthM: number; readonly widthM: number }
  | {
      readonly kind: 'L' | 'U';
      readonly lengthM: number;
      readonly widthM: number;
      readonly cutLengthM: number;
      readonly cutWidthM: number;
    };

/** A place asked about: the project's footprint so put down, or any outline in project metres. */
export type PlaceAsked = { readonly pose: Pose } | { readonly ring: RingM };

/** Whether enough was measured at a place for the scheme to be asked for a class there. */
export interface ClassSupportView {
  readonly enough: boolean;
  /** Valid measured points in the footprint, and in its surroundings beside. */
  readonly inside: number;
  readonly around: number;
  readonly needed: number;
  readonly surroundingsM: number;
  /** The reach of the surroundings was not read in the scheme's source. */
  readonly surroundingsUnconfirmed: boolean;
  /** What to do about it; empty where there is enough. */
  readonly missing: readonly string[];
  readonly message: string;
}

/** The scheme's word on one placed footprint, from the points in it and its surroundings alone. */
export interface FootprintClass {
  readonly label: string;
  readonly areaM2: number;
  readonly support: ClassSupportView;
  /** Null where there is not enough: then only the model speaks. */
  readonly result: ClassResult | null;
  /** What the scheme says of the lot as a whole, to be read beside it: a class, classes left open, or none. */
  readonly lotClass: string;
}

/** Realisations that are drawn and held by the engine; they never come to a window. */
export interface PreparedGround {
  readonly realisations: number;
  readonly cells: number;
  readonly seed: number;
  readonly seconds: number;
}

export interface UnderPlace {
  /** False until the realisations of the project as it stands are drawn: ask for 'site.prepare'. */
  readonly ready: boolean;
  /** A model, not a class. Null while it is not ready. */
  readonly statistics: UnderFootprintView | null;
  readonly support: ClassSupportView;
}

export interface ComparedPlacement {
  /** Null: as drawn. */
  readonly id: string | null;
  readonly label: string;
  readonly pose: Pose;
  readonly distanceMovedM: number;
  readonly chosen: boolean;
  /** Whether its mean differs from that of the chosen place beyond chance; null for the chosen one. */
  readonly againstChosen: 'lower' | 'higher' | 'no real difference' | 'not compared' | null;
  readonly statistics: UnderFootprintView;
  readonly support: ClassSupportView;
}

export interface KeptComparison {
  /** As drawn first, then the kept ones, oldest first. */
  readonly placements: readonly ComparedPlacement[];
  /** Each pair in words; 'no real difference' is an answer. */
  readonly differences: readonly string[];
  readonly realisations: number;
  readonly seed: number;
  readonly cautions: readonly string[];
}

export interface SitingRequests {
  /** Centred on a place in the project's own coordinates; in the widest part of the lot where null. */
  'footprint.shape': {
    input: { label: string; shape: FootprintShape; centre: PositionM | null };
    output: ProjectView;
  };
  'placement.keep': { input: { label: string | null; pose: Pose; choose: boolean }; output: ProjectView };
  /** Null puts the footprint back as drawn. */
  'placement.choose': { input: { id: string | null }; output: ProjectView };
  'placement.remove': { input: { id: string }; output: ProjectView };
  /** Draws the realisations behind 'site.under' once; at once where they are drawn already. */
  'site.prepare': { input: Record<string, never>; output: PreparedGround };
  'site.under': { input: { place: PlaceAsked }; output: UnderPlace };
  'site.compare': { input: Record<string, never>; output: KeptComparison };
  /** Of the footprint as it stands. */
  'class.footprint': { input: Record<string, never>; output: FootprintClass };
}
