/** What a report is made of, as plain data: filled from a project, or by hand in a test. */
import type { Instrument, ProjectView } from '../contract/model.ts';
import type { DayLog, QualitySummary } from '../contract/quality.ts';
import type { RecordEntryView } from '../contract/requests.ts';
import type { ClassResult, SurfaceResult } from '../contract/results.ts';
import type { FootprintClass, KeptComparison } from '../contract/siting.ts';
import type { FigureInput } from '../figure/figure-model.ts';

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
  /** What the scheme calls each of its classes, by id. */
  readonly classNames: ReadonlyMap<string, string>;
  /** Oldest first. */
  readonly record: readonly RecordEntryView[];
  readonly recordIntact: boolean;
  readonly files: readonly ReportFile[];
  readonly people: ReportPeople;
  /** Why the report was asked for; a general sentence where null. */
  readonly purpose: string | null;
  /** The project's register. */
  readonly instruments: readonly Instrument[];
  readonly quality: QualitySummary;
  /** Logs of the days in the field. */
  readonly days: readonly DayLog[];
  /** Null where there is no footprint. */
  readonly footprintClass: FootprintClass | null;
  /** The building as drawn and at its kept places; null where none is kept, or why they could not be compared. */
  readonly placements: KeptComparison | { readonly notCompared: string } | null;
  readonly issue: ReportIssue | null;
}
