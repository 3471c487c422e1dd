/** Computed results as they cross the border. Arrays are row by row from the south-west cell, NaN outside the lot. */
import type { Measured, PolygonM, PositionM, SampleReductionSummary } from './model.ts';
import type { VariogramParameters } from './settings.ts';

export interface GridSpec {
  /** Centre of the south-west cell. */
  readonly x0M: number;
  readonly y0M: number;
  readonly cellM: number;
  readonly columns: number;
  readonly rows: number;
}

export interface ContourLine {
  readonly level: number;
  readonly points: readonly PositionM[];
  readonly closed: boolean;
}

/** Ground between two levels; `above` null means open to the top. */
export interface ContourBand {
  readonly from: number;
  readonly to: number | null;
  readonly polygons: readonly PolygonM[];
}

export interface CrossValidation {
  readonly n: number;
  readonly meanError: number;
  readonly rmse: number;
  /** Mean squared deviation ratio; null for methods without an error (IDW). */
  readonly msdr: number | null;
  readonly correlation: number;
  readonly verdict: string;
  readonly points: readonly {
    readonly probeId: string;
    readonly observed: number;
    readonly predicted: number;
    readonly z: number | null;
  }[];
}

export interface VariogramBin {
  readonly lagM: number;
  readonly semivariance: number;
  readonly pairs: number;
}

export interface VariogramResult {
  /** Over all directions. */
  readonly bins: readonly VariogramBin[];
  /** Sectors of 45 degrees about azimuths clockwise from north; none for very many points. */
  readonly directions: readonly { readonly azimuthDeg: number; readonly bins: readonly VariogramBin[] }[];
  readonly model: VariogramParameters;
  /** Weighted-least-squares fit to the bins, shown beside the model used where they differ. */
  readonly fitted: VariogramParameters | null;
  readonly transform: 'none' | 'log';
  readonly drift: 'constant' | 'linear';
  /** Unit of the semivariance: (kBq/m3)^2 or none for logs. */
  readonly unit: string;
  readonly reasons: readonly string[];
}

/** A value brought to the reference depth by diffusion in uniform ground: for the surface, never for a class. */
export interface DepthCorrection {
  readonly sampleIds: readonly string[];
  readonly fromDepthM: number;
  readonly toDepthM: number;
  readonly factor: number;
  readonly factorU: number;
  readonly estimateKBqPerM3: number;
  readonly caution: string;
}

export interface SurfaceResult {
  readonly revision: number;
  readonly method: 'kriging' | 'idw';
  readonly grid: GridSpec;
  readonly estimateKBqPerM3: Float64Array;
  /** NaN everywhere for IDW, which has no error of its own. */
  readonly standardErrorKBqPerM3: Float64Array;
  readonly exceedance: { readonly limitKBqPerM3: number; readonly probability: Float64Array } | null;
  readonly levelsKBqPerM3: readonly number[];
  readonly lines: readonly ContourLine[];
  readonly bands: readonly ContourBand[];
  readonly variogram: VariogramResult | null;
  readonly crossValidation: CrossValidation;
  /** Samples that carried a value, and those left out of the surface with the reason. */
  readonly usedSampleIds: readonly string[];
  /** Diluted and shallow samples the surface knows only from below. */
  readonly boundedSampleIds: readonly string[];
  readonly depthCorrected: readonly DepthCorrection[];
  readonly notUsed: readonly { readonly sampleId: string; readonly reason: string }[];
  readonly warnings: readonly string[];
  readonly seconds: number;
}

/** Ground on which a surface says little, and the rule in words. */
export interface WeakGround {
  readonly polygons: readonly PolygonM[];
  readonly statement: string;
}

/** A limit of the scheme in force on a lot, drawn heavier than the other contours. */
export interface ClassLimit {
  readonly valueKBqPerM3: number;
  /** What begins at the limit, such as 'medium'. */
  readonly name: string;
}

/** A surface with what a map says of it: the same on the figure and in the window. */
export interface ShownSurface extends SurfaceResult {
  readonly weakGround: WeakGround | null;
  readonly limits: readonly ClassLimit[];
}

export interface ClassAlternative {
  readonly what: string;
  readonly statisticKBqPerM3: number | null;
  readonly classId: string | null;
  readonly className: string | null;
  /** The same scheme and rule as if no ruling had been made. */
  readonly isWithoutRulings: boolean;
  /** As if no probe had been added after the first results. */
  readonly isWithoutAdded: boolean;
}

/** Probes placed by the results so far. */
export interface AddedProbes {
  readonly labels: readonly string[];
  /** Those still to be driven: their number was fixed, so the class is not final before they are. */
  readonly waiting: readonly string[];
  /** How many count as valid points. */
  readonly validCount: number;
}

/** What a scheme says of the lot. `classId` null means refused: `refusal` says why and what to do. */
export interface ClassResult {
  readonly schemeId: string;
  readonly schemeName: string;
  /** Which text of the scheme, such as year and decree. */
  readonly edition: string;
  readonly source: string;
  readonly classId: string | null;
  readonly className: string | null;
  /** Where the outcome hangs on a bound: both classes, lowest first. */
  readonly range: readonly string[] | null;
  readonly refusal: string | null;
  readonly statisticName: string;
  readonly statisticKBqPerM3: number | null;
  /** Non-detects alone leave the statistic open: it lies at `statisticKBqPerM3` or below. */
  readonly statisticIsAtMost: boolean;
  readonly quantileRule: string;
  readonly permeabilityClass: 'low' | 'medium' | 'high' | null;
  readonly permeabilityBasis: string;
  readonly validCount: number;
  readonly minimumCount: number;
  /** Null where none was added. */
  readonly added: AddedProbes | null;
  /** The rule that decided, in words, with its numbers. */
  readonly decidedBy: string;
  readonly wouldChange: readonly string[];
  /** Chance of each class from doubt of measurement (same points) and of sampling (other points). */
  readonly doubts: readonly {
    readonly kind: 'measurement' | 'sampling';
    readonly probabilities: readonly { readonly classId: string; readonly probability: number }[];
    readonly method: string;
  }[];
  /** Other quartile rules, the other route, without rulings: each as it would come out. */
  readonly alternatives: readonly ClassAlternative[];
  /** What this outcome rests on that is known only from memory or common practice. */
  readonly unconfirmed: readonly string[];
  readonly advice: string;
  readonly cautions: readonly string[];
  readonly excluded: readonly { readonly sampleId: string; readonly reason: string }[];
}

/** All of one sample's way from counts to its value. */
export interface SampleReduction {
  readonly sampleId: string;
  readonly probe: string;
  readonly measured: Measured;
  readonly summary: SampleReductionSummary;
  /** In the chamber, before any correction for other air; null where nothing was counted or the fit was refused. */
  readonly chamber: {
    readonly estimateKBqPerM3: number;
    readonly randomUKBqPerM3: number;
    readonly uBasis: string;
    readonly interval95KBqPerM3: readonly [low: number, high: number];
    readonly decisionThresholdKBqPerM3: number | null;
    readonly detectionLimitKBqPerM3: number | null;
    /** Positive by ISO 11929, with the calibration in it. */
    readonly best: {
      readonly estimate: number;
      readonly u: number;
      readonly low: number;
      readonly high: number;
    };
  } | null;
  readonly fit: {
    readonly pearson: number;
    readonly deviance: number;
    readonly dof: number;
    readonly pPearson: number | null;
    readonly pDeviance: number | null;
    readonly leastExpected: number;
  } | null;
  readonly thoron: {
    readonly estimateKBqPerM3: number;
    readonly uKBqPerM3: number;
    readonly correlation: number;
  } | null;
  /** Residual: counts less expected over the root of expected. */
  readonly intervals: readonly {
    readonly window: string;
    readonly startS: number;
    readonly endS: number;
    readonly liveS: number;
    readonly counts: number;
    readonly expected: number | null;
    readonly residual: number | null;
    readonly source: { readonly file: string; readonly row: number } | null;
  }[];
  /** Intervals that an instrument gave as values; `used` is false before ingrowth is over. */
  readonly values: readonly {
    readonly startS: number;
    readonly endS: number;
    readonly liveS: number;
    readonly radonKBqPerM3: number;
    readonly uKBqPerM3: number | null;
    readonly used: boolean;
    readonly source: { readonly file: string; readonly row: number } | null;
  }[];
  readonly backgrounds: readonly {
    readonly window: string;
    readonly counts: number;
    readonly liveS: number;
    readonly takenUtc: string | null;
  }[];
  /** Earlier samples of the same instrument that were taken off, nearest first; `counts` is what they brought. */
  readonly carriedFrom: readonly {
    readonly sampleId: string;
    readonly probe: string;
    readonly radonKBqPerM3: number;
    readonly uKBqPerM3: number;
    readonly gasLeft: number;
    readonly counts: number;
  }[];
  readonly correction: {
    readonly kind: string;
    readonly airShare: number;
    readonly airShareU: number;
    readonly text: string;
  } | null;
  /** A value that came with the sample though its counts are used. */
  readonly entered: { readonly radonKBqPerM3: number; readonly uKBqPerM3: number | null } | null;
}
