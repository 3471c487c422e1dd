/**
 * The nouns that cross every border of the program. Types only.
 * Positions are [x, y] in project metres (see `ProjectFrame`) unless a name says `native`.
 */

import type { SampleDraw } from './draw-test.ts';
import type { ProjectSettings } from './settings.ts';
import type { SheetTexts } from './sheet.ts';
import type { SymbolKind } from './symbols.ts';

export type PositionM = readonly [xM: number, yM: number];
/** Closed by meaning: the last point is not repeated. Anticlockwise outside, at least three points. */
export type RingM = readonly PositionM[];
/** Outer ring first, then holes. */
export type PolygonM = readonly RingM[];

/** The system the project's own coordinates are written in. */
export type ProjectCrs =
  | { readonly kind: 'epsg'; readonly code: number }
  | { readonly kind: 'local'; readonly unit: 'm' | 'ft' | 'ft-us'; readonly label: string };

/**
 * Project metres: (native - origin) x metresPerUnit, x east and y north of the grid. All computing is done here.
 * A tape measures ground distance: ground = grid / `gridScaleFactor` (1 where unknown, as on a local grid).
 */
export interface ProjectFrame {
  readonly crs: ProjectCrs;
  readonly crsName: string;
  readonly originNative: readonly [x: number, y: number];
  readonly metresPerUnit: number;
  readonly unitLabel: string;
  readonly gridScaleFactor: number;
  /** Grid north minus true north, degrees, positive where grid north lies east of true north; null on a local grid. */
  readonly convergenceDeg: number | null;
}

export type ProbeState = 'planned' | 'driven' | 'refused' | 'abandoned';
export type PermeabilityClass = 'low' | 'medium' | 'high';
export type SampleKind = 'grab' | 'duplicate' | 'repeat' | 'blank';

export interface Probe {
  readonly id: string;
  readonly label: string;
  readonly state: ProbeState;
  /** As driven where known, else as planned. */
  readonly positionM: PositionM;
  readonly native: readonly [x: number, y: number];
  readonly depthM: number | null;
  readonly soil: string | null;
  readonly fineFractionPct: number | null;
  readonly permeabilityM2: number | null;
  readonly permeabilityClass: PermeabilityClass | null;
  readonly note: string | null;
  /** Placed by the results so far, after the number of probes was fixed: marked, and the class is shown without it too. */
  readonly added: boolean;
}

/** 'alpha': all alphas alike; 'spectrum': windows of collected progeny; 'windows': each window as stated. */
export type DetectorKind = 'alpha' | 'spectrum' | 'windows';
/** How gas came into the chamber: all at once, at a steady rate, pumped through, or round a closed loop. */
export type FillWayName = 'at-once' | 'steady' | 'flow-through' | 'closed-loop';
/** Other air taken off a value: by the dead volume in one of three models, or by a tracer. Never two. */
export type AirCorrectionChoice = 'plug-flow' | 'well-mixed' | 'middle' | 'tracer';

/** What a sample says, however it came in; null: not known. */
export interface SampleValues {
  readonly kind: SampleKind;
  /** ISO 8601, UTC. */
  readonly takenUtc: string | null;
  readonly depthM: number | null;
  /** Already reduced value; null where no gas was got. */
  readonly radonKBqPerM3: number | null;
  /** Standard uncertainty (k = 1); null where none is given, which is not zero. */
  readonly radonUKBqPerM3: number | null;
  /** Reported as not detected: the value is below this; null where a value was got. */
  readonly radonBelowKBqPerM3: number | null;
  /** Over the instrument's range: the truth is at least this. Present in place of a value only. */
  readonly radonAboveKBqPerM3?: number;
  readonly oxygenPct: number | null;
  readonly carbonDioxidePct: number | null;
  readonly suctionPa: number | null;
  /** What the crew wrote down, as yes/no. */
  readonly saidFreshAir: boolean;
  readonly saidWater: boolean;
  readonly remark: string | null;
}

export interface Sample extends SampleValues {
  readonly id: string;
  readonly probeId: string;
  /** Where the value was read: name of the kept file and its 1-based line. */
  readonly source: { readonly file: string; readonly row: number } | null;
  /** How the radon above came about; absent where nothing but a value was ever entered. */
  readonly reduction?: SampleReductionSummary;
  readonly pumpedMl?: number;
  /** All that starts filled with other air; the chamber only where gas is pumped through it. */
  readonly systemMl?: number;
  /** Absent where the value is corrected by the tracer already. */
  readonly tracerPct?: number;
  readonly tracerShroudPct?: number;
  /** Share of the ground's volume that is filled with gas, 0..1. */
  readonly airPorosity?: number;
  readonly flowMlPerMin?: number;
  /** What flow and suction say of the ground; absent without a set-up, or where one of them was not noted. */
  readonly draw?: SampleDraw;
  /** The crew's word that the ground is tight and holds no water. */
  readonly saidTight?: boolean;
  /** True: found spent. False: found fresh. Absent: nobody looked. */
  readonly saidDryerSpent?: boolean;
  /** The line held its vacuum with the valve shut. */
  readonly leakTestPassed?: boolean;
}

/** What a sample's value rests on, for lists; `sample.reduction` tells all of it. kBq/m3, after any correction. */
export interface SampleReductionSummary {
  /** 'readings': reduced from counts. 'values': mean of an instrument's. 'entered': came as a value. 'none': none. */
  readonly basis: 'readings' | 'values' | 'entered' | 'none';
  readonly instrument: string | null;
  /** Intervals counted; where none was, those that came as values. */
  readonly readingCount: number;
  /** Relative standard uncertainty of the calibration, common to all samples of the instrument. */
  readonly commonURel: number;
  /** 95 % of the random part alone. */
  readonly interval95KBqPerM3: readonly [low: number, high: number] | null;
  readonly decisionThresholdKBqPerM3: number | null;
  readonly detectionLimitKBqPerM3: number | null;
  /** Chance of a worse Pearson chi-square; null where nothing is left to test. */
  readonly fitP: number | null;
  readonly correction: AirCorrectionChoice | null;
  readonly notes: readonly string[];
}

/** A reduced value (decision 4). Every statistic and surface takes this union, never a bare number. */
export type Measured =
  | {
      readonly kind: 'value';
      readonly estimateKBqPerM3: number;
      /** Standard uncertainty that differs from sample to sample (counting). */
      readonly randomUKBqPerM3: number;
      /** Relative standard uncertainty shared by all samples of an instrument (calibration): never averages out. */
      readonly commonURel: number;
    }
  | { readonly kind: 'atLeast'; readonly boundKBqPerM3: number }
  | { readonly kind: 'atMost'; readonly boundKBqPerM3: number }
  | { readonly kind: 'none'; readonly reason: NoValueReason };

export type NoValueReason =
  | 'water'
  | 'water-or-tight'
  | 'tight'
  | 'refused'
  | 'no-reading'
  | 'blank'
  /** Of a probe: its value was read, and a ruling or a rule takes it off. */
  | 'left-out';

export type DilutionFinding = 'none' | 'suspect' | 'diluted';
export type WaterFinding = 'none' | 'water-or-tight' | 'tight' | 'water';

/** One number that crossed one limit. */
export interface Evidence {
  readonly what: string;
  readonly value: number | string;
  readonly limit: number | string | null;
  readonly unit: string;
}

export type FlagKind = 'dilution' | 'water' | 'shallow' | 'outlier' | 'quality';

/** A finding on a sample. It never removes data: treatment follows from findings and rulings together. */
export interface Flag {
  readonly rule: string;
  readonly kind: FlagKind;
  readonly weight: 'note' | 'suspect' | 'strong';
  readonly message: string;
  readonly evidence: readonly Evidence[];
  /** Published source, or 'common practice', or 'from memory'. */
  readonly source: string;
}

export type RulingVerdict = 'use' | 'leave-out' | 'lower-bound';

export interface Ruling {
  readonly id: string;
  readonly sampleId: string;
  readonly verdict: RulingVerdict;
  readonly reason: string;
  readonly actor: string;
  readonly atUtc: string;
}

/** How a sample enters statistics and surface, after flags and ruling. */
export type Treatment = 'use' | 'lower-bound' | 'leave-out' | 'no-value';

export interface SampleAssessment {
  readonly sampleId: string;
  readonly probeId: string;
  readonly dilution: DilutionFinding;
  readonly water: WaterFinding;
  readonly flags: readonly Flag[];
  readonly ruling: Ruling | null;
  readonly treatment: Treatment;
  readonly treatmentReason: string;
  readonly measured: Measured;
  /** What the treatment would be without the ruling: the class is always shown both ways. */
  readonly unruledTreatment: Treatment;
  readonly unruledMeasured: Measured;
}

/** Counts for each alpha decay of a nuclide in the chamber (0..1), by nuclide such as 'Po-218'. */
export interface InstrumentWindow {
  readonly id: string;
  readonly countsPerAlpha: { readonly [nuclide: string]: number };
}

/** Counts with no sample in the chamber. */
export interface InstrumentBackground {
  readonly window: string;
  readonly counts: number;
  readonly liveS: number;
  /** UTC; the one nearest in time to a sample is used for it. */
  readonly takenUtc: string | null;
}

/** An entry of the register of instruments as a person gives it. null: not known, which is never zero. */
export interface InstrumentEntry {
  readonly label: string;
  readonly detector: DetectorKind;
  /** For 'alpha' and 'spectrum'; null for 'windows'. */
  readonly countsPerAlpha: number | null;
  /** For 'windows'; null otherwise. */
  readonly windows: readonly InstrumentWindow[] | null;
  readonly chamberMl: number;
  /** Cavity, rod, tube and dryer. */
  readonly lineMl: number | null;
  readonly commonURel: number | null;
  /** YYYY-MM-DD. */
  readonly calibratedOn: string | null;
  readonly certificate: string | null;
  /** Share of a sample's gas that is still there when the next one is in, and its standard uncertainty. */
  readonly gasLeft: number | null;
  readonly gasLeftU: number | null;
  /** Share of its progeny that stays; 1 where null. */
  readonly progenyLeft: number | null;
  /** What its clock shows less UTC, s. */
  readonly clockOffsetS: number;
  readonly note: string | null;
  readonly backgrounds: readonly InstrumentBackground[];
}

export interface Instrument extends InstrumentEntry {
  readonly id: string;
  /** Names of the windows its readings and backgrounds may use. */
  readonly windowIds: readonly string[];
  readonly sampleCount: number;
  /** What is missing before its results can be defended, in words. */
  readonly missing: readonly string[];
}

export interface KeepOut {
  readonly id: string;
  readonly label: string;
  readonly shape: 'polygon' | 'line';
  readonly points: readonly PositionM[];
  readonly bufferM: number;
  /** Whether walks go round it; absent: an area is walked round, a line over. */
  readonly blocksWalk?: boolean;
}

/** Where the car stands. */
export interface WalkStart {
  readonly positionM: PositionM;
  readonly native: readonly [x: number, y: number];
}

/** How a footprint is put down: mirrored, then turned, about its centroid, then moved. */
export interface Pose {
  /** Of the centroid, from where it is in the footprint as drawn. */
  readonly dxM: number;
  readonly dyM: number;
  /** Anticlockwise, after mirroring. */
  readonly turnDeg: number;
  /** Left and right swapped: about the north-south line through the centroid. */
  readonly mirrored: boolean;
}

/** A place for the footprint that somebody wanted to keep. */
export interface KeptPlacement {
  readonly id: string;
  readonly label: string;
  readonly pose: Pose;
  readonly ring: RingM;
  readonly distanceMovedM: number;
  /** At most one is; figure, report and class take the footprint there. */
  readonly chosen: boolean;
}

/** The planned building. */
export interface Footprint {
  readonly id: string;
  readonly label: string;
  /** As it stands: by the placement chosen, else as drawn. */
  readonly ring: RingM;
  readonly drawnRing: RingM;
  /** Oldest first. */
  readonly placements: readonly KeptPlacement[];
}

/** A scheme that is no part of the program: the project keeps its file, so that it can be mailed. */
export interface ImportedScheme {
  readonly sha256: string;
  readonly file: string;
  readonly text: string;
}

/** One probe as map, figure and statistics take it: what its samples come to together. */
export interface ProbeMark {
  readonly probeId: string;
  readonly symbol: SymbolKind;
  /** Null where nothing was sampled. */
  readonly measured: Measured | null;
  /** What was read where a ruling or a rule takes it off, so that no map hides it; null elsewhere. */
  readonly leftOut: Measured | null;
  readonly treatment: Treatment | null;
  readonly treatmentReason: string;
  /** Samples that made the value. */
  readonly sampleIds: readonly string[];
}

/** Everything the window needs to draw a project, in one reply. */
/** Two views with the same text have the same result, so that a note or a planned probe calls none out of date. */
export interface ResultBasis {
  readonly surface: string;
  readonly class: string;
}

export interface ProjectView {
  readonly path: string;
  readonly revision: number;
  readonly name: string;
  readonly isDemo: boolean;
  readonly note: string | null;
  readonly frame: ProjectFrame;
  readonly lot: RingM | null;
  readonly lotAreaM2: number | null;
  readonly keepOuts: readonly KeepOut[];
  /** Where walks start and end; absent: at the lot's first corner. */
  readonly walkStart?: WalkStart;
  readonly footprint: Footprint | null;
  readonly probes: readonly Probe[];
  readonly samples: readonly Sample[];
  readonly assessments: readonly SampleAssessment[];
  /** One for each probe, in the same order. */
  readonly marks: readonly ProbeMark[];
  readonly settings: ProjectSettings;
  readonly basis: ResultBasis;
  /** People and texts for figure and report, as far as filled in. */
  readonly sheetTexts: SheetTexts;
  /** Schemes that came into the project as files, letter for letter. */
  readonly importedSchemes: readonly ImportedScheme[];
  readonly canUndo: string | null;
  readonly canRedo: string | null;
  /** Plain words on what is odd in the project as a whole, such as a probe far off the lot. */
  readonly warnings: readonly string[];
}
