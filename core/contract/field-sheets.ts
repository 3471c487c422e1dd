/** Sheets for the crew, the table they bring back, and what a number of probes buys. */
import type { PositionM, ProjectView } from './model.ts';
import type { GridPatternName } from './planning.ts';

export interface SheetOptions {
  /** One row a probe, or a card a probe. */
  readonly form: 'list' | 'cards';
  readonly page?: 'A4' | 'Letter';
  /** 'planned' where absent: those that nobody has driven yet. */
  readonly probes?: 'planned' | 'all';
  /** Where the walk starts and ends; where the project says, where absent. */
  readonly startM?: PositionM;
  /** A stack for each instrument and day; one for all where absent. */
  readonly rounds?: SharedRounds;
}

/** Rounds that the walk is parted into. */
export interface SharedRounds {
  readonly instruments: number;
  readonly days: number;
  readonly minutesPerTest: number;
}

export interface ReturnTableOptions {
  readonly probes?: 'planned' | 'all';
  readonly startM?: PositionM;
}

/** What is guessed of the ground before anything is measured, or 'measured': the project's own model. */
export type CurveModel =
  | 'measured'
  | {
      readonly kind: 'spherical' | 'exponential' | 'gaussian';
      /** Where values stop telling of each other: the practical range. */
      readonly rangeM: number;
      /** Part of the scatter that shows even between neighbours, 0 to 1. */
      readonly nuggetShare: number;
    };

export interface CurveRequest {
  readonly pattern: Exclude<GridPatternName, 'along-footprint'>;
  readonly around: 'all' | { readonly footprintPlusM: number };
  /** Chosen around the scheme's least number where absent. */
  readonly counts?: readonly number[];
  readonly model: CurveModel;
  readonly startM?: PositionM;
  readonly minutesPerTest: number;
  readonly instruments: number;
  readonly days: number;
  /** Unpacking, blanks, backgrounds: for each instrument and day. */
  readonly dailyMinutes: number;
}

export interface CurvePointView {
  readonly probes: number;
  readonly spacingM: number;
  readonly worstGapM: number;
  /** Error of the map as a share of the scatter of the ground (square root of variance over sill). */
  readonly errorShare: number;
  /** In kBq/m3 under a measured model of values; null under a guess or a model of logarithms. */
  readonly errorKBqPerM3: number | null;
  readonly hoursOfWork: number;
  readonly longestDayHours: number;
}

export interface CurveResult {
  /** By rising number of probes. */
  readonly points: readonly CurvePointView[];
  /** Index into `points`; null where nothing bends. */
  readonly elbow: number | null;
  readonly elbowRule: string;
  /** The variogram in words, and whether it is a guess. */
  readonly modelWords: string;
  readonly isGuess: boolean;
  /** The scheme's least number of valid points. */
  readonly minimumCount: number;
  readonly cautions: readonly string[];
}

export interface FieldSheetRequests {
  /** PDF. */
  'sheets.save': {
    input: { path: string; options: SheetOptions };
    output: { path: string; bytes: number; pages: number; probes: number };
  };
  'sheets.preview': {
    input: { options: SheetOptions; pageIndex: number };
    output: { svg: string; pageCount: number };
  };
  /** An empty table with codes and labels, to be filled in and imported. */
  'sheets.return-table': {
    input: { path: string; options: ReturnTableOptions };
    output: { path: string; bytes: number; probes: number };
  };
  /** In the project's own coordinates; null: the lot's first corner. */
  'walk.start': { input: { native: readonly [x: number, y: number] | null }; output: ProjectView };
  'plan.curve': { input: CurveRequest; output: CurveResult };
}
