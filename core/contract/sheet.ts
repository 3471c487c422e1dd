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

export interface SheetRequests {
  /** An empty text takes the field away; a field that is absent stays as it is. */
  'sheet.describe': { input: { texts: SheetTexts }; output: ProjectView };
}
