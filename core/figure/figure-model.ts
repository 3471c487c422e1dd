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
import type { ClassResult, SurfaceResult } from '../contract/results.ts';
import type { SymbolKind } from '../contract/symbols.ts';

export interface FigureProbe {
  readonly label: string;
  readonly positionM: PositionM;
  readonly symbol: SymbolKind;
  /** What the map prints at the probe; null where nothing was sampled. */
  readonly measured: Measured | null;
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
}

/** A sample that does not count as it was read: printed on page 1. */
export interface FigureException {
  readonly label: string;
  readonly symbol: SymbolKind;
  readonly text: string;
}

/** A limit of the scheme, drawn heavier than the other contours. */
export interface FigureLimit {
  readonly valueKBqPerM3: number;
  /** What begins at the limit, such as 'medium'. */
  readonly name: string;
}

/** The drawn part of a `SurfaceResult`, which fits here as it is. */
export type FigureSurface = Pick<
  SurfaceResult,
  'method' | 'levelsKBqPerM3' | 'lines' | 'bands' | 'variogram' | 'crossValidation' | 'warnings'
>;

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
  readonly footprint: Footprint | null;
  readonly keepOuts: readonly KeepOut[];
  readonly probes: readonly FigureProbe[];
  readonly rows: readonly FigureRow[];
  readonly exceptions: readonly FigureException[];
  readonly surface: FigureSurface | null;
  /** Why there is no surface; printed in its place. */
  readonly noSurfaceReason: string | null;
  readonly limits: readonly FigureLimit[];
  readonly classResult: ClassResult | null;
  /** Duplicates, blanks, calibration: one or a few sentences; null where nothing is known, which is printed too. */
  readonly quality: string | null;
  readonly cautions: readonly string[];
  readonly radonUnit: 'kBq/m3' | 'pCi/L';
}

export type PageName = 'A4' | 'A3' | 'Letter' | 'Tabloid';
export type Orientation = 'portrait' | 'landscape';

export interface ComposeOptions {
  readonly page?: PageName;
  readonly orientation?: Orientation;
}
