/** Requests that set two surveys of one ground against each other. */
import type { Measured } from './model.ts';
import type { FigureFormat, FigureOptions } from './requests.ts';

/** Days, YYYY-MM-DD in UTC, both included; open where absent. */
export interface DaySpan {
  readonly from?: string;
  readonly to?: string;
}

export type CompareWith =
  | { readonly kind: 'project'; readonly path: string }
  | { readonly kind: 'dates'; readonly earlier: DaySpan; readonly later: DaySpan };

/** Ground in one piece on which the difference exceeds twice its error. */
export interface ChangePatch {
  readonly direction: 'rise' | 'fall';
  readonly areaM2: number;
  readonly meanKBqPerM3: number;
  /** Where the change is greatest in size, and its standard error there. */
  readonly greatestKBqPerM3: number;
  readonly greatestUKBqPerM3: number;
  /** Such as 'in the north-east', of the ground that both surveys cover. */
  readonly where: string;
  /** Probes of the later survey on it. */
  readonly probes: readonly string[];
}

/** A probe met by both surveys at one place; `change` is null where a side has no value. */
export interface ProbeChange {
  readonly label: string;
  readonly earlier: Measured;
  readonly later: Measured;
  readonly change: {
    readonly kBqPerM3: number;
    readonly uKBqPerM3: number;
    readonly isClear: boolean;
  } | null;
}

export interface CompareSummary {
  readonly earlier: string;
  readonly later: string;
  /** The finding in a few words, such as 'No real difference'. */
  readonly statement: string;
  /** Where and how much, one sentence each. */
  readonly lines: readonly string[];
  /** What was assumed, and how the error was made up. */
  readonly method: readonly string[];
  readonly sharedGroundM2: number;
  readonly meanKBqPerM3: number;
  /** Part of the shared ground, 0 to 1; null where a surface has no error of its own. */
  readonly clearShare: number | null;
  readonly patches: readonly ChangePatch[];
  readonly probes: readonly ProbeChange[];
}

export interface CompareRequests {
  'compare.preview': {
    input: { with: CompareWith; options: FigureOptions; pageIndex?: number };
    output: { svg: string; pageCount: number; summary: CompareSummary };
  };
  /** A GeoTIFF holds difference and standard error. */
  'compare.save': {
    input: { path: string; format: FigureFormat | 'geotiff'; with: CompareWith; options: FigureOptions };
    output: { path: string; bytes: number; summary: CompareSummary };
  };
}
