/** Requests for outlines: from geometry files, by directions and lengths, by distances from lines already there. */
import type { PositionM, ProjectCrs, ProjectView } from './model.ts';

/** How courses are read and closed. */
export interface TraverseOptions {
  /** Where the first course begins, in the project's own coordinates. */
  readonly start: readonly [x: number, y: number];
  /** What a plain number without marks counts in. */
  readonly angleUnit: 'deg' | 'gon';
  /** Of lengths that name none. */
  readonly lengthUnit: 'm' | 'ft' | 'ft-us';
  readonly rule: 'compass' | 'transit' | 'none';
  /** Whether the last course comes back to the start; else the courses are all sides but the last. */
  readonly returns: boolean;
  /** Added to every direction, degrees clockwise: from the north that the deed counts from to grid north. */
  readonly turnDeg: number;
  /** Lengths are of the ground, as a tape measures: they are brought to the grid of the project. */
  readonly onGround: boolean;
}

export interface TraverseRow {
  readonly row: number;
  readonly text: string;
  /** In words; null for a course that was read. */
  readonly problem: string | null;
  /** As read and turned to grid north, such as `N 12°30'00" E`; null with a problem. */
  readonly bearing: string | null;
  /** Along the grid; of a curve its chord. */
  readonly lengthM: number | null;
  /** Of a curve; null for a straight course. */
  readonly radiusM: number | null;
  /** What the rule added; null before all rows are read. */
  readonly eastCorrectionM: number | null;
  readonly northCorrectionM: number | null;
}

export interface TraverseResult {
  readonly rows: readonly TraverseRow[];
  /** The way as far as rows could be read, from the start on, project metres. */
  readonly pathM: readonly PositionM[];
  /** Null until every row is read and there are enough of them. */
  readonly outline: TraverseOutline | null;
}

export interface TraverseOutline {
  readonly ring: readonly (readonly [x: number, y: number])[];
  readonly areaM2: number;
  readonly perimeterM: number;
  /** Where the last course ends less the start; null where the last side is not given. */
  readonly misclosure: {
    readonly eastM: number;
    readonly northM: number;
    readonly distanceM: number;
    readonly bearing: string | null;
    /** n of 1:n; null where it closes to a micrometre. */
    readonly ratio: number | null;
  } | null;
  /** How it was entered and how well it closes, in one sentence: goes with the lot into the report. */
  readonly source: string;
  /** For people. */
  readonly notes: readonly string[];
  /** Why it cannot be used as it is; null where it can. */
  readonly refusal: string | null;
}

export type GeometryKind = 'lot' | 'footprint' | 'keep-out' | 'probes';

export interface GeometryImportOptions {
  /** Only this layer of the file. */
  readonly layer?: string;
  /** The one feature that is meant, by its name. */
  readonly feature?: string;
  /** System of the file's coordinates; holds against what the file says. */
  readonly crs?: ProjectCrs;
  /** Unit of a drawing's numbers where it differs from the project's. */
  readonly unit?: 'm' | 'ft' | 'ft-us' | 'cm' | 'in';
  /** Around keep-outs that say nothing of it themselves. */
  readonly bufferM?: number;
  /** Whether walks go round keep-outs that say nothing of it themselves; absent: see `KeepOut`. */
  readonly blocksWalk?: boolean;
  /** Keep-outs: points count too, as small squares with their buffer. */
  readonly points?: boolean;
  /** Of planned probes; the reference depth where absent. */
  readonly depthM?: number;
  /** Planned probes that nobody has driven make room for those of the file. */
  readonly replace?: boolean;
  /** Of a table of directions and lengths. */
  readonly traverse?: TraverseOptions;
}

/** One thing in a geometry file, as far as is needed to say which one is meant. */
export interface FeatureLook {
  readonly layer: string;
  /** As `GeometryImportOptions.feature` takes it. */
  readonly feature: string;
  /** Its own name; null where it has none. */
  readonly label: string | null;
  readonly shape: 'point' | 'line' | 'polygon';
  readonly corners: number;
  /** Of a polygon, holes taken off. */
  readonly areaM2: number | null;
  /** Of a line, and round a polygon. */
  readonly lengthM: number | null;
  readonly widthM: number;
  readonly heightM: number;
  /** For drawing it small: up to 60 points, project metres from its own south-west corner. */
  readonly sketchM: readonly PositionM[];
}

export interface OutlineRequests {
  /** Nothing is written: the outline is set by `lot.set`, `footprint.set` or `keepout.set`. */
  'traverse.compute': { input: { text: string; options: TraverseOptions }; output: TraverseResult };
  /**
   * Sides of an outline moved parallel by a distance, positive inward, corners where they meet: all of them a new
   * outline, some a line. Sides are counted from 0 at the first corner. Native coordinates.
   */
  'outline.parallel': {
    input: { of: 'lot' | 'footprint'; sides: readonly number[] | 'all'; distanceM: number };
    output: { shape: 'polygon' | 'line'; points: readonly (readonly [number, number])[] };
  };
  /**
   * A rectangle in the lot with one side parallel to `side` at `distanceM`, and no nearer than `otherDistanceM` to
   * `otherSide`, which it reaches.
   */
  'outline.rectangle': {
    input: {
      side: number;
      distanceM: number;
      otherSide: number;
      otherDistanceM: number;
      /** Along `side`, and away from it. */
      widthM: number;
      depthM: number;
    };
    output: { ring: readonly (readonly [number, number])[]; notes: readonly string[] };
  };
  /** `notes` say what was assumed, passed over, or looks odd. */
  'geometry.import': {
    input: { path: string; what: GeometryKind; options: GeometryImportOptions };
    output: { view: ProjectView; added: number; notes: readonly string[]; traverse?: TraverseOutline };
  };
  /** What a geometry file holds, for a person to choose from. */
  'geometry.look': {
    input: { path: string; what: GeometryKind; options: GeometryImportOptions };
    output: { file: string; features: readonly FeatureLook[]; total: number; notes: readonly string[] };
  };
}
