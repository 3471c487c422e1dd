/** Plans of probes and placements of the building as they cross the border. */
import type { Pose, PositionM, RingM } from './model.ts';
import type { GridSpec } from './results.ts';

export type GridPatternName = 'square' | 'triangular' | 'offset' | 'adaptive' | 'along-footprint';

export interface PlanRequest {
  readonly pattern: GridPatternName;
  readonly size: { readonly spacingM: number } | { readonly count: number };
  readonly around: 'all' | { readonly footprintPlusM: number };
  readonly turnDeg?: number;
  readonly depthM: number;
  readonly labelPrefix: string;
  /** Where the walk starts and ends; where the project says, where absent. */
  readonly startM?: PositionM;
  readonly minutesPerTest: number;
  readonly instruments: number;
  readonly days: number;
}

export interface PlannedProbeView {
  readonly label: string;
  readonly positionM: PositionM;
  readonly native: readonly [x: number, y: number];
}

export interface PlanProposal {
  /** In walking order. */
  readonly probes: readonly PlannedProbeView[];
  readonly pattern: GridPatternName;
  readonly spacingM: number;
  readonly turnDeg: number;
  readonly worstGapM: number;
  readonly worstGapInFootprintM: number | null;
  readonly groundAreaM2: number;
  /** Against the project's scheme. */
  readonly findings: readonly {
    readonly subject: string;
    readonly outcome: 'met' | 'missing' | 'unknown';
    readonly message: string;
    readonly unconfirmed: boolean;
    readonly source: string;
  }[];
  readonly walk: {
    readonly lengthM: number;
    readonly lowerBoundM: number;
    readonly longestDayHours: number;
    readonly totalHours: number;
    readonly parts: readonly {
      readonly day: number;
      readonly instrument: number;
      readonly labels: readonly string[];
      readonly minutes: number;
      /** From the start through the probes and back, with the corners it turns at. */
      readonly lineM: readonly PositionM[];
    }[];
  };
  readonly notes: readonly string[];
  readonly cautions: readonly string[];
}

/** What added probes are to lower: the mean or the largest error of the surface, or the doubt about the class. */
export type NextCriterion = 'mean' | 'worst' | 'class';

export interface NextRequest {
  readonly count: number;
  readonly criterion: NextCriterion;
  readonly target: 'lot' | 'footprint';
}

export interface NextProposal {
  readonly added: readonly (PlannedProbeView & {
    /** Fall of the criterion by this probe, as a share of its value before any is added. */
    readonly gain: number;
  })[];
  readonly criterion: NextCriterion;
  /** Standard error that is lowered: of the surface, or of the statistic of the ground by 'class'. */
  readonly errorBefore: number;
  readonly errorAfter: number;
  readonly unit: string;
  /** By 'class' only. */
  readonly classDoubt: ClassDoubt | null;
  readonly cautions: readonly string[];
}

/** Doubt about the class of the ground, not about what the scheme says of the points. */
export interface ClassDoubt {
  readonly statisticName: string;
  /** Chance that the ground is of another class than the likeliest, now and expected after; null without limits. */
  readonly before: number | null;
  readonly after: number | null;
  readonly realisations: number;
}

export interface SiteRequest {
  readonly objective: 'lowest-estimate' | 'lowest-probability';
  /** For 'lowest-probability'; the scheme's highest limit where absent. */
  readonly limitKBqPerM3?: number;
  readonly setbackM: number;
  readonly mayTurn: boolean;
  readonly mayMirror: boolean;
  /** Price of moving, in the objective's unit for each metre. */
  readonly perMetreMoved: number;
  readonly wanted: number;
  readonly seed: number;
}

export interface SpreadView {
  readonly mean: number;
  readonly sd: number;
  readonly low: number;
  readonly high: number;
}

export interface UnderFootprintView {
  readonly areaM2: number;
  readonly offSurfaceShare: number;
  readonly estimateKBqPerM3: number | null;
  readonly blockMeanKBqPerM3: SpreadView | null;
  readonly upperQuartileKBqPerM3: SpreadView | null;
  readonly worstCell: {
    readonly positionM: PositionM;
    readonly estimateKBqPerM3: number;
    readonly sdKBqPerM3: number;
  } | null;
  readonly overLimits: readonly {
    readonly limitKBqPerM3: number;
    readonly blockMean: number;
    readonly upperQuartile: number;
    readonly area: number;
  }[];
  readonly realisations: number;
}

export interface PlacementView {
  readonly pose: Pose;
  readonly ring: RingM;
  readonly distanceMovedM: number;
  /** On realisations that were not searched on; null where it lies off the surface. */
  readonly judged: number | null;
  readonly statistics: UnderFootprintView;
  readonly probesNear: number;
  /** Why it is not ranked; null where it is. */
  readonly why: string | null;
}

export interface SiteResult {
  readonly ranked: readonly PlacementView[];
  readonly unranked: readonly PlacementView[];
  readonly asDrawn: PlacementView | null;
  readonly suitability: { readonly grid: GridSpec; readonly lowest: Float64Array } | null;
  readonly nothingFits: string | null;
  /** What the first few placements differ by, in words; 'no real difference' is an answer. */
  readonly differences: readonly string[];
  readonly choiceRule: string;
  readonly posesTried: number;
  readonly cautions: readonly string[];
}
