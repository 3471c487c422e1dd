/** One map of request to input and output. A new request is added here, in `schemas.ts` and in the engine's handlers. */
import type { CompareRequests } from './comparing.ts';
import type { DrawNumberInfo } from './draw-test.ts';
import type { FieldSheetRequests } from './field-sheets.ts';
import type { HandEntryRequests } from './hand-entry.ts';
import type { MergeRequests } from './merge.ts';
import type { PositionM, ProjectCrs, ProjectView, RulingVerdict } from './model.ts';
import type { OutlineRequests } from './outlines.ts';
import type {
  NextProposal,
  NextRequest,
  PlanProposal,
  PlanRequest,
  SiteRequest,
  SiteResult,
} from './planning.ts';
import type { QualityRequests } from './quality.ts';
import type { ReadingRequests } from './readings.ts';
import type { ClassResult, ShownSurface } from './results.ts';
import type { RuleRequests } from './rules.ts';
import type { FlagThresholds, ProjectSettings } from './settings.ts';
import type {
  Orientation,
  PageSize,
  SheetChanges,
  SheetLayoutView,
  SheetRequests,
  SheetTemplate,
  SheetTexts,
} from './sheet.ts';
import type { SitePlanRequests } from './site-plans.ts';
import type { SitingRequests } from './siting.ts';

/** Columns a sample file can bring; the mapping names a column for each that the file has. */
export type ImportField =
  | 'code'
  | 'label'
  | 'x'
  | 'y'
  | 'offsetEast'
  | 'offsetNorth'
  | 'state'
  | 'added'
  | 'depth'
  | 'soil'
  | 'fineFraction'
  | 'permeability'
  | 'permeabilityClass'
  | 'taken'
  | 'radon'
  | 'radonU'
  | 'oxygen'
  | 'carbonDioxide'
  | 'suction'
  | 'pumped'
  | 'line'
  | 'flow'
  | 'airPorosity'
  | 'tracer'
  | 'tracerShroud'
  | 'leakTest'
  | 'dryer'
  | 'tight'
  | 'freshAir'
  | 'water'
  | 'kind'
  | 'remark';

export interface ColumnChoice {
  readonly column: string;
  /** Unit the column is written in, where the field has one: kBq/m3, Bq/m3, pCi/L, m, ft, cm, in, Pa, kPa, %, m2, mL, L. */
  readonly unit?: string;
}

export type ImportMapping = { readonly [F in ImportField]?: ColumnChoice };

export interface ImportOptions {
  readonly mapping?: ImportMapping;
  readonly delimiter?: ',' | ';' | '\t' | '|';
  readonly decimal?: '.' | ',';
  /** System of the x and y columns; the project's own where absent. */
  readonly crs?: ProjectCrs;
  /** Coverage factor the file's uncertainty is stated at; 1 where absent. */
  readonly coverageFactor?: number;
}

/** A message on one place of a file. An error keeps its row out; a warning lets it in. */
export interface RowIssue {
  readonly severity: 'error' | 'warning';
  readonly file: string;
  readonly row: number | null;
  readonly field: string | null;
  readonly message: string;
}

export interface ImportPreview {
  readonly file: string;
  readonly delimiter: string;
  readonly decimal: string;
  readonly columns: readonly string[];
  readonly mapping: ImportMapping;
  readonly head: readonly (readonly string[])[];
  readonly rowCount: number;
  readonly goodRows: number;
  readonly issues: readonly RowIssue[];
}

export interface ImportReport {
  readonly file: string;
  readonly probesAdded: number;
  /** Planned probes that the file says were driven, or were tried and refused. */
  readonly probesMet: number;
  /** Probes known before of which the file says more: empty cells filled, none replaced. */
  readonly probesFilled: number;
  readonly samplesAdded: number;
  /** Rows with an error, left out and named among the issues. */
  readonly rowsLeftOut: number;
  /** Rows already in the project, letter for letter: counted, not doubled. */
  readonly rowsKnown: number;
  readonly issues: readonly RowIssue[];
}

export interface RecordEntryView {
  readonly seq: number;
  readonly atUtc: string;
  readonly actor: string;
  readonly command: string;
  readonly summary: string;
  readonly hash: string;
  readonly undone: boolean;
}

export interface CrsChoice {
  readonly code: number;
  readonly name: string;
  readonly unitLabel: string;
  readonly area: string;
  readonly note: string | null;
}

/** A point measured in the project's local grid and in a mapped system, each in its own unit. */
export interface ControlPointView {
  readonly label: string;
  readonly local: readonly [x: number, y: number];
  readonly mapped: readonly [x: number, y: number];
}

/** How a local grid lies on the map, and how well its control points agree on that. */
export interface ControlView {
  /** EPSG code of the mapped system. */
  readonly code: number;
  readonly systemName: string;
  readonly points: readonly ControlPointView[];
  /** Metres of the mapped grid for a metre of the local one, as fitted and as a perfect tape would give. */
  readonly scale: number;
  readonly expectedScale: number;
  /** Direction of the local y axis, degrees clockwise from grid north. */
  readonly turnDeg: number;
  /** Fitted minus given place, metres. */
  readonly residuals: readonly {
    readonly label: string;
    readonly eastM: number;
    readonly northM: number;
    readonly lengthM: number;
  }[];
  /** Null for two points, which leave nothing over to judge by. */
  readonly standardDeviationM: number | null;
  readonly warnings: readonly string[];
}

export type { PageSize } from './sheet.ts';
export type FigureFormat = 'pdf' | 'svg' | 'png';

/** Texts given here hold against those the project keeps. */
export interface FigureOptions extends SheetTexts {
  readonly page?: PageSize;
  readonly orientation?: Orientation;
  readonly dpi?: number;
  /** 'map' where absent; 'quality' adds plots and small maps, 'permit' a title block with seal and signatures. */
  readonly template?: SheetTemplate;
  /** Whether site plans lie pale under the map; as the project's settings have it where absent. */
  readonly sitePlan?: boolean;
  /** In place of what the project keeps for this sheet. */
  readonly changes?: SheetChanges;
}

/** Texts given here hold against those the project keeps. */
export interface ReportSaveOptions extends SheetTexts {
  readonly page?: 'A4' | 'Letter';
}

export type ReportFileFormat = 'pdf' | 'html' | 'docx';

/** An issued report: what it says is frozen in the project under `sha256`. */
export interface IssueView {
  readonly number: number;
  readonly sha256: string;
  /** Of the last entry of the record that it holds. */
  readonly recordHash: string;
  readonly actor: string;
  readonly issuedUtc: string;
  /** Who the report names as its preparer; null where it names nobody. */
  readonly preparedBy: string | null;
  /** What it was written to; `isKept`: the project holds the file itself. Empty for issues of older versions. */
  readonly files: readonly {
    readonly name: string;
    readonly format: ReportFileFormat;
    readonly sha256: string;
    readonly bytes: number;
    readonly isKept: boolean;
  }[];
  readonly reviews: readonly {
    readonly reviewer: string;
    readonly reviewedUtc: string;
    readonly note: string | null;
    /** Names the state by its hash. */
    readonly statement: string;
  }[];
}

export type DemoLot = 'ordinary' | 'troubled';
export type ExportFormat = 'csv' | 'gpkg' | 'geojson' | 'geotiff' | 'dxf' | 'kml' | 'gpx';

/** What one format or another can be told; the others pass it over. */
export interface ExportOptions {
  /** What a row of the CSV is; samples where absent. */
  readonly rows?: 'samples' | 'probes' | 'stake-out';
  /** Where the walk of a stake-out or a route starts; where the project says, where absent. */
  readonly startM?: PositionM;
  /** Denominator of the scale that a DXF is plotted at; chosen by the lot where absent. */
  readonly plotScale?: number;
  /** Isolines and bands leave out points that they can do without by moving no more than this; 0 where absent. */
  readonly simplifyM?: number;
}

/** What the program itself knows: read once by the window. */
export interface Catalogue {
  /** Limits behind the findings. Only 'confirmed' ones were seen in their source. */
  readonly thresholds: readonly {
    readonly key: keyof FlagThresholds;
    readonly label: string;
    readonly unit: string;
    readonly standard: number;
    readonly source: string;
    readonly mark: string;
  }[];
  readonly cautions: readonly string[];
  /** Numbers of the draw test, as a new set-up starts with them. */
  readonly drawNumbers: readonly DrawNumberInfo[];
}

export interface RequestMap
  extends HandEntryRequests,
    MergeRequests,
    OutlineRequests,
    ReadingRequests,
    RuleRequests,
    SheetRequests,
    SitePlanRequests,
    CompareRequests,
    FieldSheetRequests,
    QualityRequests,
    SitingRequests {
  'catalogue.get': { input: Record<string, never>; output: Catalogue };
  'project.create': { input: { path: string; name: string; crs: ProjectCrs }; output: ProjectView };
  'project.demo': { input: { path: string; lot: DemoLot }; output: ProjectView };
  'project.open': { input: { path: string }; output: ProjectView };
  'project.close': { input: Record<string, never>; output: null };
  'project.view': { input: Record<string, never>; output: ProjectView };
  'project.describe': { input: { name?: string; note?: string }; output: ProjectView };
  /** Ring in native coordinates of `crs` (the project's own where absent); `source` says how it was entered. */
  'lot.set': {
    input: { ring: readonly (readonly [number, number])[]; crs?: ProjectCrs; source?: string };
    output: ProjectView;
  };
  'lot.import': { input: { path: string }; output: ProjectView };
  'control.get': { input: Record<string, never>; output: { control: ControlView | null } };
  /** All points at once, in place of those there are; none unties the grid. */
  'control.set': {
    input: { code: number; points: readonly ControlPointView[] };
    output: { view: ProjectView; control: ControlView | null };
  };
  /** Points in the project's own coordinates. A new one where `id` is null. */
  'keepout.set': {
    input: {
      id: string | null;
      label: string;
      shape: 'polygon' | 'line';
      points: readonly (readonly [number, number])[];
      bufferM: number;
      /** As the shape says where absent: see `KeepOut`. */
      blocksWalk?: boolean;
    };
    output: ProjectView;
  };
  'keepout.remove': { input: { id: string }; output: ProjectView };
  'plan.propose': { input: PlanRequest; output: PlanProposal };
  /** Positions in the project's own coordinates. */
  'plan.accept': {
    input: {
      probes: readonly { label: string; native: readonly [number, number]; added: boolean }[];
      depthM: number;
      replace: boolean;
    };
    output: ProjectView;
  };
  'next.propose': { input: NextRequest; output: NextProposal };
  'site.search': { input: SiteRequest; output: SiteResult };
  'footprint.set': {
    input: { label: string; ring: readonly (readonly [number, number])[] | null };
    output: ProjectView;
  };
  'import.preview': { input: { path: string; options: ImportOptions }; output: ImportPreview };
  'import.commit': {
    input: { path: string; options: ImportOptions };
    output: { view: ProjectView; report: ImportReport };
  };
  'ruling.set': {
    input: { sampleIds: readonly string[]; verdict: RulingVerdict | null; reason: string };
    output: ProjectView;
  };
  'settings.set': { input: { settings: ProjectSettings }; output: ProjectView };
  'surface.compute': { input: Record<string, never>; output: ShownSurface };
  'class.compute': { input: Record<string, never>; output: ClassResult };
  'figure.preview': {
    input: { options: FigureOptions; pageIndex?: number };
    output: { svg: string; pageCount: number; layout: SheetLayoutView };
  };
  'report.save': {
    input: { path: string; format: 'pdf' | 'html' | 'docx'; options: ReportSaveOptions };
    output: { path: string; bytes: number };
  };
  /** Saves the report as the next issue and freezes what it says; neither can be taken back. */
  'issue.create': {
    /** One file for each format, beside `path` under its name. */
    input: { path: string; formats: readonly ReportFileFormat[]; options: ReportSaveOptions };
    output: {
      view: ProjectView;
      issue: IssueView;
      /** From the issue before, in words; empty for the first one. */
      differences: readonly string[];
      files: readonly { path: string; bytes: number }[];
    };
  };
  /** Writes the kept file of an issue anew, byte for byte. */
  'issue.copy': { input: { number: number; path: string }; output: { path: string; bytes: number } };
  'issue.list': { input: Record<string, never>; output: { issues: readonly IssueView[] } };
  /** What would differ from the last issue, were the report issued now; null where there is none yet. */
  'issue.compare': {
    input: { options: ReportSaveOptions };
    output: { last: { number: number; differences: readonly string[] } | null };
  };
  /** By whoever is at work, who cannot have issued it. */
  'issue.review': {
    input: { number: number; note: string };
    output: { view: ProjectView; issues: readonly IssueView[] };
  };
  'figure.save': {
    input: { path: string; format: FigureFormat; options: FigureOptions };
    output: { path: string; bytes: number };
  };
  'export.save': {
    input: { path: string; format: ExportFormat; options?: ExportOptions };
    output: { path: string; bytes: number };
  };
  'record.list': {
    input: Record<string, never>;
    output: { entries: readonly RecordEntryView[]; intact: boolean };
  };
  'record.undo': { input: Record<string, never>; output: ProjectView };
  'record.redo': { input: Record<string, never>; output: ProjectView };
  'crs.search': { input: { text: string }; output: { choices: readonly CrsChoice[] } };
  'engine.info': {
    input: Record<string, never>;
    output: { host: string; node: string; version: string; threads: number };
  };
  'job.cancel': { input: { requestId: number }; output: null };
}

export type RequestName = keyof RequestMap;
export type Input<N extends RequestName> = RequestMap[N]['input'];
export type Output<N extends RequestName> = RequestMap[N]['output'];
