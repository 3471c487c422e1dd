/** Requests on what crew and office check about a day's samples: the day's log, the verdict at a hole, the quality. */
import type { DilutionFinding, Flag, ProjectView, SampleKind, WaterFinding } from './model.ts';
import type { RowIssue } from './requests.ts';

export type GroundSurface = 'dry' | 'moist' | 'wet' | 'frozen';
/** Dryer looked at and found fresh (or changed) or spent; the rig's line checked with its valve shut. */
export type DayEventKind = 'dryer-fresh' | 'dryer-spent' | 'leak-passed' | 'leak-failed';

export interface DayEvent {
  readonly kind: DayEventKind;
  readonly atUtc: string;
  readonly note: string | null;
}

/** One day of work as the crew writes it down. null: not noted, which is never the same as no. */
export interface DayLogEntry {
  /** YYYY-MM-DD. */
  readonly day: string;
  readonly crew: string | null;
  /** The last rain before work began, or during it: how much, and how long since it ended. */
  readonly rainMm: number | null;
  readonly hoursSinceRain: number | null;
  readonly surface: GroundSurface | null;
  readonly airTemperatureC: number | null;
  readonly pressureHPa: number | null;
  /** Drawn before and with each sample, and the volume it went through, where the sample itself does not say. */
  readonly pumpedMl: number | null;
  readonly systemMl: number | null;
  /** Fresh thread tape at each assembly. */
  readonly freshTape: boolean | null;
  /** Backgrounds that an instrument took by itself; counted ones stand in the register of instruments. */
  readonly openingBackground: boolean | null;
  readonly closingBackground: boolean | null;
  readonly controlProbeId: string | null;
  readonly note: string | null;
  /** In order of time. */
  readonly events: readonly DayEvent[];
}

export interface DayLog extends DayLogEntry {
  readonly id: string;
}

/** What a table of logs brought, or would bring. */
export interface DaysReport {
  readonly file: string;
  readonly daysAdded: number;
  readonly daysChanged: number;
  readonly looksAdded: number;
  /** Rows that say nothing new. */
  readonly rowsKnown: number;
  readonly issues: readonly RowIssue[];
}

/** How far a limit can be trusted: only 'confirmed' ones were seen in their source. */
export type LimitMark = 'confirmed' | 'from memory' | 'common practice' | 'own assumption';

export type QualityVerdict = 'fit' | 'look' | 'unfit' | 'not recorded';

export interface QualityItem {
  readonly id: string;
  readonly what: string;
  readonly value: string;
  readonly limit: string;
  readonly source: string;
  /** The weakest of its limits. */
  readonly mark: LimitMark;
  readonly verdict: QualityVerdict;
  /** What it means and, where it is not fit, what to do. */
  readonly words: string;
}

/** Quality of the campaign, one item a subject, in the order of a report. Nothing recorded is never 'fit'. */
export interface QualitySummary {
  readonly words: string;
  readonly items: readonly QualityItem[];
}

export interface ChecklistItem {
  readonly id: string;
  readonly what: string;
  readonly isDone: boolean;
  /** What is there, and what is missing. */
  readonly words: string;
}

/** What has to be there before the crew drives home. */
export interface LeaveSite {
  /** The day looked at: the last one with samples; null where no sample has a time. */
  readonly day: string | null;
  readonly isComplete: boolean;
  readonly words: string;
  readonly items: readonly ChecklistItem[];
}

export interface TypedInterval {
  /** From the end of the fill. */
  readonly startS: number;
  readonly lengthS: number;
  /** May be left out where the instrument has one window. */
  readonly window?: string;
}

export interface TypedCounts {
  readonly instrumentId: string;
  readonly fillS?: number;
  readonly intervals: readonly (TypedInterval & { readonly counts: number })[];
}

/** What is known at the hole. What is left out was not looked at. */
export interface HoleFacts {
  readonly takenUtc?: string;
  readonly depthM?: number;
  readonly radonKBqPerM3?: number;
  readonly radonUKBqPerM3?: number;
  readonly oxygenPct?: number;
  readonly carbonDioxidePct?: number;
  readonly suctionPa?: number;
  readonly flowMlPerMin?: number;
  readonly pumpedMl?: number;
  readonly systemMl?: number;
  readonly tracerPct?: number;
  readonly tracerShroudPct?: number;
  readonly leakTestPassed?: boolean;
  readonly saidFreshAir?: boolean;
  readonly saidWater?: boolean;
  readonly saidTight?: boolean;
}

export interface HoleQuestion {
  readonly probeId: string;
  readonly kind: SampleKind;
  /** A sample of the project that is looked at again; what is given beside it holds against what is stored. */
  readonly sampleId: string | null;
  readonly facts: HoleFacts;
  /** Counts typed at the hole; those stored of the sample come before them. */
  readonly counts: TypedCounts | null;
  readonly toCome: readonly TypedInterval[];
  /** What the next hole is expected to hold; the middle of what the lot has so far where absent. */
  readonly nextKBqPerM3?: number;
}

export type HoleAdvice =
  | 'keep'
  | 'draw again here'
  | 'drive again 1.5 m off'
  | 'say water or tight'
  | 'no value yet';

/** The value that all intervals together will come to, in the chamber. */
export interface HolePrediction {
  readonly predictedKBqPerM3: number;
  readonly uNowKBqPerM3: number;
  readonly uFinalKBqPerM3: number;
  /** Where the final estimate will lie with 95 %. */
  readonly finalRangeKBqPerM3: readonly [low: number, high: number];
  /** That this gas holds more than each limit of the scheme; calibration included. It is no class. */
  readonly chances: readonly {
    readonly name: string;
    readonly limitKBqPerM3: number;
    readonly chance: number;
  }[];
  readonly intervalsCounted: number;
  readonly intervalsToCome: number;
  readonly notes: readonly string[];
}

export interface CarryOverWait {
  /** 'flush': waiting does not help, since the gas left alone is over the share. */
  readonly kind: 'wait' | 'flush';
  readonly minutes: number | null;
  readonly sharePct: number;
  /** Share of the next value that gas left behind alone brings. */
  readonly gasSharePct: number;
  readonly nextKBqPerM3: number;
  readonly words: string;
}

export interface HoleJudgement {
  readonly probe: string;
  readonly advice: HoleAdvice;
  readonly words: string;
  readonly dilution: DilutionFinding;
  readonly water: WaterFinding;
  readonly flags: readonly Flag[];
  /** null: no leak check was noted. */
  readonly leakPassed: boolean | null;
  readonly leakWords: string;
  /** What was not looked at, so that its silence is not taken for a good sign. */
  readonly notSeen: readonly string[];
  readonly prediction: HolePrediction | null;
  /** Why there is no prediction though there are counts. */
  readonly predictionProblem: string | null;
  readonly wait: CarryOverWait | null;
  /** Why nothing can be said of the wait. */
  readonly waitProblem: string | null;
}

export interface QualityRequests {
  'quality.get': { input: Record<string, never>; output: QualitySummary };
  'field.leave': { input: Record<string, never>; output: LeaveSite };
  'hole.judge': { input: HoleQuestion; output: HoleJudgement };
  /** `unlogged`: days with samples and no log. */
  'day.list': {
    input: Record<string, never>;
    output: { days: readonly DayLog[]; unlogged: readonly string[] };
  };
  /** A new one where `id` is null. Its events become those given. */
  'day.set': { input: { id: string | null; log: DayLogEntry }; output: ProjectView };
  'day.import': {
    input: { path: string; dryRun?: boolean };
    output: { view: ProjectView; report: DaysReport };
  };
  'day.remove': { input: { id: string }; output: ProjectView };
}
