/** What a figure is made of, as plain data: filled from a project, or by hand in a test. */
import type {
  Footprint,
  KeepOut,
  Measured,
  PositionM,
  ProjectFrame,
  RingM,
  SampleKind,
} from '../contract/model.ts';
import type { ClassLimit, ClassResult, ContourBand, SurfaceResult, WeakGround } from '../contract/results.ts';
import type { Orientation, PageSize, SheetChanges, SheetKind, SheetTemplate } from '../contract/sheet.ts';
import type { SymbolKind } from '../contract/symbols.ts';

export type { Orientation, SheetTemplate } from '../contract/sheet.ts';
export type PageName = PageSize;

export interface FigureProbe {
  readonly label: string;
  readonly positionM: PositionM;
  readonly symbol: SymbolKind;
  /** What the map prints at the probe; null where nothing was sampled. */
  readonly measured: Measured | null;
  /** What was read where a ruling or a rule takes it off: printed with these words. */
  readonly leftOut?: Measured | null;
  /** Placed by the results so far. */
  readonly added?: boolean;
}

/** One line of the table: a sample, or a probe without one. */
export interface FigureRow {
  readonly label: string;
  /** Drawn before the label where given. */
  readonly symbol?: SymbolKind;
  readonly native: readonly [x: number, y: number];
  readonly depthM: number | null;
  readonly sampleKind: SampleKind | null;
  readonly takenUtc: string | null;
  readonly measured: Measured | null;
  /** In words, such as 'Diluted: oxygen 19.8 %'; empty where nothing was found. */
  readonly finding: string;
  /** In words, with the ruling's reason and actor where there is one. */
  readonly treatment: string;
  /** Permeability at the probe in words; absent or empty where nothing is known. */
  readonly permeability?: string;
}

/** A sample that does not count as it was read: printed on page 1. */
export interface FigureException {
  readonly label: string;
  readonly symbol: SymbolKind;
  readonly text: string;
}

/** The drawn part of a `SurfaceResult`, which fits here as it is. */
export type FigureSurface = Pick<
  SurfaceResult,
  'method' | 'levelsKBqPerM3' | 'lines' | 'bands' | 'variogram' | 'warnings'
> & { readonly crossValidation: SurfaceResult['crossValidation'] | null };

/** A greyed site plan under the map. */
export interface FigureBase {
  readonly png: Uint8Array;
  readonly widthPx: number;
  readonly heightPx: number;
  /** x = a column + b row + c, y = d column + e row + f: from pixels of the picture to project metres. */
  readonly matrix: readonly [a: number, b: number, c: number, d: number, e: number, f: number];
  /** Which plan, how it was placed and how far off it may lie, in words. */
  readonly statement: string;
}

/** What stands in the place of the class on a sheet about something else, such as the change between two dates. */
export interface FigureHeadline {
  readonly heading: string;
  readonly statement: string;
  readonly lines: readonly string[];
}

/** A small map of something else than radon over the same lot. `labels` name the lower edge of each band. */
export interface FigureInset {
  readonly title: string;
  readonly bands: readonly ContourBand[];
  readonly labels: readonly string[];
}

/** What the title block of a sheet for a permit office carries beside the rest; absent parts print as blank lines. */
export interface FigureSheet {
  readonly sheetNumber?: string;
  readonly jobNumber?: string;
  readonly licenceNumber?: string;
  readonly address?: string;
  readonly reviewedBy?: string;
  readonly issue?: string;
  readonly organisation?: string;
  readonly client?: string;
  /** Of the sheet as its maker counts them; the project's own revision is always printed beside it. */
  readonly revision?: string;
  /** As its maker dates the sheet; when it was drawn is always printed beside it. */
  readonly date?: string;
  readonly notes?: string;
}

export interface FigureInput {
  /** Of the sheet, such as 'Radon in the soil gas'. */
  readonly title: string;
  readonly projectName: string;
  readonly isDemo: boolean;
  readonly revision: number;
  /** Hash of the last record entry; null in a project without one. */
  readonly recordHash: string | null;
  /** Days of sampling in words, such as '2025-05-06 to 2025-05-07'; null where unknown. */
  readonly sampledOn: string | null;
  /** ISO 8601, UTC: the date on the sheet and in the file. Passed in, so that a figure can be made again. */
  readonly createdUtc: string;
  readonly preparedBy: string | null;
  /** Name and version, such as 'Gasplat 0.1.0'. */
  readonly program: string;
  readonly frame: ProjectFrame;
  readonly lot: RingM | null;
  readonly lotAreaM2: number | null;
  readonly footprint: Pick<Footprint, 'id' | 'label' | 'ring'> | null;
  readonly keepOuts: readonly KeepOut[];
  readonly probes: readonly FigureProbe[];
  readonly rows: readonly FigureRow[];
  readonly exceptions: readonly FigureException[];
  readonly surface: FigureSurface | null;
  /** Why there is no surface; printed in its place. */
  readonly noSurfaceReason: string | null;
  readonly limits: readonly ClassLimit[];
  readonly classResult: ClassResult | null;
  /** Duplicates, blanks, calibration: one or a few sentences; null where nothing is known, which is printed too. */
  readonly quality: string | null;
  readonly cautions: readonly string[];
  readonly radonUnit: 'kBq/m3' | 'pCi/L';
  readonly sheet?: FigureSheet;
  readonly weakGround?: WeakGround | null;
  readonly insets?: readonly FigureInset[];
  /** Rulings that take a high value off, in words: printed with the class. */
  readonly highRulings?: readonly string[];
  /** Where the lot line comes from, such as the name of a survey's file. */
  readonly lotSource?: string | null;
  /** Bands and values are differences: colours part at zero. */
  readonly isDifference?: boolean;
  readonly headline?: FigureHeadline;
  /** In place of the description of `surface`. */
  readonly methodLines?: readonly string[];
  /** The round from the start through the stops and back to it, drawn under the probes. */
  readonly walkM?: readonly PositionM[];
  /** Site plans drawn pale over the colours and under the lines, the first lowest. */
  readonly base?: readonly FigureBase[];
  readonly dataFiles?: readonly { readonly name: string; readonly sha256: string }[];
}

export interface ComposeOptions {
  readonly page?: PageName;
  /** Where absent, the one in which the lot comes out larger. */
  readonly orientation?: Orientation;
  /**
   * `map` where absent: map, class and table. `quality`: with plots and small maps. `permit`: with a title block and
   * space for a seal.
   */
  readonly template?: SheetTemplate;
  /** Parts that stand elsewhere than the template puts them, or are not shown; a function is asked for the sheet as chosen. */
  readonly changes?: SheetChanges | ((sheet: SheetKind) => SheetChanges);
}
