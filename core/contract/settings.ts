/** What a project sets: limits of its findings, its surface, its scheme and its words. */
import type { DrawTest } from './draw-test.ts';

/** Limits that flags and the summary of quality use. Editable per project; each carries its source in `core/survey/thresholds.ts`. */
export interface FlagThresholds {
  readonly minimumValueKBqPerM3: number;
  readonly outsideOxygenPct: number;
  readonly outsideCarbonDioxidePct: number;
  readonly neighbourZ: number;
  readonly shallowDepthM: number;
  readonly lowSuctionPa: number;
  readonly duplicateRpdPct: number;
  /** How many standard deviations off, by all signs together, makes a sample suspect, and diluted. */
  readonly suspectGasZ: number;
  readonly suspectZ: number;
  readonly dilutedZ: number;
  readonly repeatFallPct: number;
  readonly pumpLimitSuctionPa: number;
  readonly tracerLeakPct: number;
  readonly tracerDilutedPct: number;
  readonly leastSystemVolumes: number;
  readonly reachShareOfDepth: number;
  readonly duplicateRejectPct: number;
  readonly samplesPerDuplicate: number;
  readonly samplesPerBlank: number;
  readonly mostFlowMlPerMin: number;
  readonly calibrationDays: number;
  readonly controlGapHours: number;
  readonly rainMm: number;
  readonly rainHours: number;
  /** What an earlier sample leaves, as a share of the next value. */
  readonly carryOverPct: number;
}

export interface ProjectSettings {
  readonly schemeId: string;
  /** Limits of one's own, for the scheme that compares with them; rising. */
  readonly enteredLimitsKBqPerM3: readonly number[];
  /** A limit of the scheme's `raised` that a person chose for ground as it describes; absent: the ordinary ones. */
  readonly raisedLimitId?: string;
  /** Hashes of the kept scheme files of the project; only importing or removing one changes them. */
  readonly schemeFiles?: readonly string[];
  readonly referenceDepthM: number;
  /** How permeability follows from flow and suction; absent: it does not. */
  readonly drawTest?: DrawTest;
  readonly thresholds: FlagThresholds;
  readonly surface: SurfaceSettings;
  readonly radonUnit: 'kBq/m3' | 'pCi/L';
  /** Site plans that are shown on the window's map lie pale under the map of figure and report too; absent: they do not. */
  readonly sitePlanInFigure?: boolean;
}

export interface SurfaceSettings {
  readonly method: 'kriging' | 'idw';
  /** 'auto' lets the program choose and say why; otherwise the model below is used as it is. */
  readonly model: 'auto' | VariogramParameters;
  readonly transform: 'auto' | 'none' | 'log';
  /** 'linear': a plane in x and y is estimated with the kriging. */
  readonly drift: 'constant' | 'linear';
  readonly idwPower: number;
  /** null: chosen from the size of the lot. */
  readonly cellM: number | null;
  /** Samples less deep than the reference read low: how the surface takes them. The class never takes a correction. */
  readonly shallow: 'lower-bound' | 'depth-corrected' | 'as-measured';
  /** Of the pore gas, for the depth correction; null: by the soil described. */
  readonly diffusionLengthM: number | null;
}

export interface VariogramParameters {
  readonly kind: 'spherical' | 'exponential' | 'gaussian' | 'matern';
  readonly nugget: number;
  readonly partialSill: number;
  /** Scale `a` of the formula: spherical reaches its sill at a; exponential 1 - exp(-h/a). */
  readonly rangeM: number;
  /** Matern only. */
  readonly smoothness?: number;
  /** Where it is there, `rangeM` is the range along `azimuthDeg`, clockwise from north, and `ratio` the short range over it. */
  readonly anisotropy?: { readonly azimuthDeg: number; readonly ratio: number };
}
