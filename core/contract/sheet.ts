/** People and texts of the sheet, and where its parts stand. */
import type { ProjectView } from './model.ts';

/** Optional texts that a project keeps for figure and report, in the order of a form. */
export const SHEET_FIELDS = [
  'preparedBy',
  'licenceNumber',
  'organisation',
  'reviewedBy',
  'client',
  'address',
  'jobNumber',
  'sheetNumber',
  'revision',
  'date',
  'purpose',
  'notes',
] as const;

export type SheetField = (typeof SHEET_FIELDS)[number];

/** Only fields that were filled in. */
export type SheetTexts = { readonly [F in SheetField]?: string };

export type SheetTemplate = 'map' | 'quality' | 'permit';
export type PageSize = 'A4' | 'A3' | 'Letter' | 'Tabloid';
export type Orientation = 'portrait' | 'landscape';

/** The sheet that places belong to: each has its own. */
export interface SheetKind {
  readonly template: SheetTemplate;
  readonly page: PageSize;
  readonly orientation: Orientation;
}

/** A rectangle on a page of the figure, from its top left corner. A text is never set lower than its words need. */
export interface PartPlace {
  /** From 1. */
  readonly page: number;
  readonly xMm: number;
  readonly yMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** What a person changed on a part of the sheet: `place` is null where the template puts it. */
export interface PartChange {
  readonly place: PartPlace | null;
  readonly hidden: boolean;
}

/** Changes by the id of the part; a part that is not named stands where the template puts it. */
export type SheetChanges = Readonly<Record<string, PartChange>>;

export interface SheetPartView extends PartPlace {
  readonly id: string;
  readonly name: string;
  readonly leastWidthMm: number;
  readonly leastHeightMm: number;
  readonly canHide: boolean;
  /** Has to stand on page 1. */
  readonly isFirstPageOnly: boolean;
  readonly hidden: boolean;
  readonly moved: boolean;
}

/** Where the parts of a composed sheet stand, hidden ones too. */
export interface SheetLayoutView extends SheetKind {
  readonly widthMm: number;
  readonly heightMm: number;
  /** Margin of the template; parts may lie up to `edgeMm` from the paper's edge. */
  readonly marginMm: number;
  readonly edgeMm: number;
  readonly parts: readonly SheetPartView[];
  /** Parts that lie over each other, parts that do not fit, and parts that are not shown, in words. */
  readonly remarks: readonly string[];
  /** New places for the parts that would close up under those that were moved or hidden; empty where there is no gap. */
  readonly closing: SheetChanges;
}

export interface SheetRequests {
  /** An empty text takes the field away; a field that is absent stays as it is. */
  'sheet.describe': { input: { texts: SheetTexts }; output: ProjectView };
  /** Puts parts of a sheet where they are wanted, or hides them, in one change. */
  'sheet.arrange': { input: { sheet: SheetKind; changes: SheetChanges }; output: ProjectView };
  /** One part, or all where `part` is null, as the template has it. */
  'sheet.reset': { input: { sheet: SheetKind; part: string | null }; output: ProjectView };
}
