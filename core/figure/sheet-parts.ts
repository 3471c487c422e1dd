/** The parts of a sheet that a person may put elsewhere: their names, least sizes, and which must always be seen. */
import type { PartPlace, SheetKind } from '../contract/sheet.ts';
import { AppError } from '../errors.ts';
import { layoutPage } from './layout.ts';

export interface PartRule {
  readonly name: string;
  readonly leastWidthMm: number;
  readonly leastHeightMm: number;
  readonly canHide: boolean;
  readonly isFirstPageOnly: boolean;
}

/** Printers leave an edge of the paper blank: 5 mm is common practice. */
export const EDGE_MM = 5;

const TEXT = { leastWidthMm: 42, leastHeightMm: 5, canHide: true, isFirstPageOnly: false } as const;
const PLOT = { leastWidthMm: 42, leastHeightMm: 34, canHide: true, isFirstPageOnly: false } as const;
/** Without one of these the sheet could be read as an all-clear that it is not. */
const ALWAYS = { canHide: false, isFirstPageOnly: true } as const;

const RULES: Readonly<Record<string, PartRule>> = {
  header: { name: 'Title', leastWidthMm: 100, leastHeightMm: 13, ...ALWAYS },
  map: { name: 'Map', leastWidthMm: 60, leastHeightMm: 50, ...ALWAYS },
  scale: { name: 'Scale and system', ...TEXT, leastWidthMm: 64, leastHeightMm: 12 },
  north: { name: 'North', ...TEXT, leastWidthMm: 8, leastHeightMm: 12.5 },
  'title-block': { name: 'Title block', ...TEXT, leastWidthMm: 120, leastHeightMm: 26 },
  class: { name: 'Class of the lot', ...TEXT, ...ALWAYS },
  exceptions: { name: 'Flagged and left out', ...TEXT, ...ALWAYS },
  legend: { name: 'Legend', ...TEXT },
  remarks: { name: 'On this map', ...TEXT, ...ALWAYS },
  notes: { name: 'Notes', ...TEXT },
  cautions: { name: 'Cautions', ...TEXT, ...ALWAYS },
  method: { name: 'Method', ...TEXT },
  quality: { name: 'Quality', ...TEXT },
  histogram: { name: 'Values of the probes', ...PLOT },
  variogram: { name: 'Variogram', ...PLOT },
  'cross-validation': { name: 'Cross-validation', ...PLOT },
  'inset-1': { name: 'First small map', ...PLOT },
  'inset-2': { name: 'Second small map', ...PLOT },
  'class-detail': { name: 'Class in detail', ...TEXT },
  scheme: { name: 'Advice and source of the scheme', ...TEXT },
  'sheet-data': { name: 'Sheet data', ...TEXT },
  samples: {
    name: 'Table of samples',
    leastWidthMm: 150,
    leastHeightMm: 30,
    canHide: false,
    isFirstPageOnly: false,
  },
  footer: { name: 'Foot with the record', leastWidthMm: 100, leastHeightMm: 6.5, ...ALWAYS },
};

export const PART_IDS: readonly string[] = Object.keys(RULES);

/** @throws AppError BAD_INPUT for a part that no sheet has */
export function partRule(id: string): PartRule {
  const rule = RULES[id];
  if (rule !== undefined) return rule;
  throw new AppError('BAD_INPUT', `A sheet has no part "${id}"; its parts are ${PART_IDS.join(', ')}.`, {
    field: 'part',
  });
}

/** @throws AppError BAD_INPUT for a part that must always be seen */
export function checkHidden(id: string): void {
  const { name, canHide } = partRule(id);
  if (!canHide)
    throw new AppError('BAD_INPUT', `${name} (${id}) can be moved but not hidden: the sheet must show it.`, {
      field: 'hidden',
    });
}

/**
 * Whether a part may stand there: on the paper, with its edge left free, and no smaller than it can be read.
 * @throws AppError BAD_INPUT naming the part, the number and its limit
 */
export function checkPlace(id: string, place: PartPlace, sheet: SheetKind): void {
  const rule = partRule(id);
  const paper = layoutPage(sheet.page, sheet.orientation);
  const mm = (value: number): string => `${Number(value.toFixed(2))} mm`;
  const refuse = (field: keyof PartPlace, message: string): never => {
    throw new AppError('BAD_INPUT', `${rule.name} (${id}): ${message}`, { field });
  };
  if (rule.isFirstPageOnly && place.page !== 1)
    refuse('page', `it must stand on page 1, not on page ${place.page}.`);
  if (place.widthMm < rule.leastWidthMm - SLACK_MM)
    refuse('widthMm', `a width of ${mm(place.widthMm)} is under its least, ${mm(rule.leastWidthMm)}.`);
  if (place.heightMm < rule.leastHeightMm - SLACK_MM)
    refuse('heightMm', `a height of ${mm(place.heightMm)} is under its least, ${mm(rule.leastHeightMm)}.`);
  const where = `${sheet.page} ${sheet.orientation} (${mm(paper.widthMm)} by ${mm(paper.heightMm)})`;
  if (place.xMm < EDGE_MM - SLACK_MM || place.xMm + place.widthMm > paper.widthMm - EDGE_MM + SLACK_MM)
    refuse(
      'xMm',
      `from ${mm(place.xMm)} to ${mm(place.xMm + place.widthMm)} across, it does not lie on ${where} with ${EDGE_MM} mm of edge.`,
    );
  if (place.yMm < EDGE_MM - SLACK_MM || place.yMm + place.heightMm > paper.heightMm - EDGE_MM + SLACK_MM)
    refuse(
      'yMm',
      `from ${mm(place.yMm)} to ${mm(place.yMm + place.heightMm)} down, it does not lie on ${where} with ${EDGE_MM} mm of edge.`,
    );
}

/** Below what a file of places rounds to. */
const SLACK_MM = 0.006;
