/** What a report is made of, as plain data: filled from a project, or by hand in a test. */
import type { ProjectView } from '../contract/model.ts';
import type { RecordEntryView } from '../contract/requests.ts';
import type { ClassResult, SurfaceResult } from '../contract/results.ts';
import type { FigureInput } from '../figure/figure-model.ts';

/** One instrument as its papers say; an absent part prints as 'not recorded'. */
export interface ReportInstrument {
  readonly label: string;
  readonly kind: string;
  readonly calibratedOn?: string;
  readonly certificate?: string;
  /** Relative standard uncertainty of the calibration, common to all its samples. */
  readonly commonURel?: number;
  readonly note?: string;
}

/** A way to place the building, as the model sees it: never a class. */
export interface ReportPlacement {
  readonly label: string;
  readonly meanKBqPerM3: number | null;
  readonly meanUKBqPerM3: number | null;
  readonly quartileKBqPerM3: number | null;
  /** Chance that the building's mean lies above the scheme's highest limit, 0 to 1. */
  readonly exceedance: number | null;
  readonly validProbes: number;
  /** Null where it cannot be ranked; `note` says why. */
  readonly rank: number | null;
  readonly isChosen: boolean;
  readonly note: string;
}

export interface ReportPeople {
  readonly preparedBy: string | null;
  readonly licenceNumber?: string;
  readonly organisation?: string;
  readonly client?: string;
  readonly reviewedBy?: string;
}

export interface ReportFile {
  readonly name: string;
  readonly sha256: string;
  readonly mediaType: string;
}

/** The frozen state this report prints, and how it differs from the one issued before. */
export interface ReportIssue {
  readonly sha256: string;
  readonly number: number | null;
  readonly previous: { readonly number: number; readonly sha256: string; readonly issuedUtc: string } | null;
  readonly differences: readonly string[];
}

export interface ReportInput {
  /** The map's data; its `createdUtc` is the date of the report, its `radonUnit` the unit printed first. */
  readonly figure: FigureInput;
  readonly view: ProjectView;
  readonly surface: SurfaceResult | null;
  readonly classResult: ClassResult;
  /** Oldest first. */
  readonly record: readonly RecordEntryView[];
  readonly recordIntact: boolean;
  readonly files: readonly ReportFile[];
  readonly people: ReportPeople;
  /** Why the report was asked for; a general sentence where null. */
  readonly purpose: string | null;
  readonly instruments: readonly ReportInstrument[];
  /** Null where placements were not compared. */
  readonly placements: readonly ReportPlacement[] | null;
  readonly issue: ReportIssue | null;
}
