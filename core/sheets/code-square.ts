/** The label code as a QR code (ISO/IEC 18004), for a phone or a hand-held reader in place of typing. */
import qrcode from 'qrcode-generator';
import { type PathNode, rectSegments } from '../figure/scene.ts';
import { INK } from '../figure/style.ts';

/** Twice what a phone's camera needs at arm's length (common practice), for wet and crumpled paper. */
const MODULE_MM = 0.6;
/** Light margin that the standard asks for on every side. */
const QUIET_MODULES = 4;
const MODULES = 21;

/** With its quiet margin, within which nothing else may be drawn. */
export const CODE_SQUARE_MM = (MODULES + 2 * QUIET_MODULES) * MODULE_MM;

/**
 * The smallest symbol (version 1, 21 modules a side) with the highest correction (level H: about 30 % of it may be
 * unreadable), which holds ten capitals, digits and hyphens.
 * @param xMm left edge of the quiet margin
 * @param yMm its upper edge
 * @throws Error for a code that is longer, or has other characters
 */
export function drawCodeSquare(code: string, xMm: number, yMm: number): PathNode {
  const symbol = qrcode(1, 'H');
  symbol.addData(code, 'Alphanumeric');
  symbol.make();
  const offset = (at: number) => (QUIET_MODULES + at) * MODULE_MM;
  const runs = Array.from({ length: MODULES }, (_, row) => darkRuns(symbol.isDark, row)).flat();
  return {
    kind: 'path',
    segments: runs.flatMap(({ row, from, count }) =>
      rectSegments({
        xMm: xMm + offset(from),
        yMm: yMm + offset(row),
        widthMm: count * MODULE_MM,
        heightMm: MODULE_MM,
      }),
    ),
    fill: INK,
  };
}

interface DarkRun {
  readonly row: number;
  readonly from: number;
  readonly count: number;
}

/** Dark modules side by side as one, so that no seam shows between them. */
function darkRuns(isDark: (row: number, column: number) => boolean, row: number): DarkRun[] {
  const runs: DarkRun[] = [];
  for (let column = 0; column < MODULES; column++) {
    if (!isDark(row, column)) continue;
    const last = runs.at(-1);
    if (last !== undefined && last.from + last.count === column)
      runs[runs.length - 1] = { ...last, count: last.count + 1 };
    else runs.push({ row, from: column, count: 1 });
  }
  return runs;
}
