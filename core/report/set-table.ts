import type { SceneNode, Tag } from '../figure/scene.ts';
import { ARTIFACT, tagRow } from '../figure/scene.ts';
import { HAIRLINE, INK, NEAT_LINE, SOFT_INK } from '../figure/style.ts';
import { MM_PER_PT, wrapText } from '../figure/text.ts';
import type { TableColumn } from './document.ts';
import {
  gap,
  horizontal,
  joinPieces,
  MOST_WHOLE_LINES,
  type Piece,
  type TypeScale,
  textLine,
} from './pieces.ts';

const TABLE_LEADING = 1.2;
const CELL_GAP_MM = 2;
/** Between numbers set to the right and words set to the left. */
const WIDE_GAP_MM = 3.6;
const CELL_PAD_MM = 0.6;
/** A table of up to so many rows is not parted between pages. */
const MOST_WHOLE_ROWS = 5;

/** A row is one piece for each of its lines, so that even a row longer than a page can be parted. */
export function setTable(
  columns: readonly TableColumn[],
  rows: readonly (readonly string[])[],
  widthMm: number,
  small: boolean,
  scale: TypeScale,
): Piece[] {
  const sizePt = small ? scale.smallPt - 1 : scale.smallPt;
  const stepMm = sizePt * MM_PER_PT * TABLE_LEADING;
  const shares = columns.reduce((sum, c) => sum + c.share, 0);
  const gapAfter = (i: number): number => {
    const next = columns[i + 1];
    if (next === undefined) return 0;
    return columns[i]?.align === 'end' && next.align !== 'end' ? WIDE_GAP_MM : CELL_GAP_MM;
  };
  const free = widthMm - columns.reduce((sum, _, i) => sum + gapAfter(i), 0);
  let x = 0;
  const places = columns.map((column, i) => {
    const width = (free * column.share) / shares;
    const place = { column, width, left: x };
    x += width + gapAfter(i);
    return place;
  });
  const table: Tag = { role: 'Table' };
  const setRow = (cells: readonly string[], isHead: boolean): Piece[] => {
    const tags = tagRow(table, columns.length, isHead ? 'columns' : 'none');
    const wrapped = places.map(({ column, width }, i) => ({
      face: isHead || column.strong === true ? ('semibold' as const) : ('regular' as const),
      lines: wrapText(
        cells[i] ?? '',
        isHead || column.strong === true ? 'semibold' : 'regular',
        sizePt,
        width,
      ),
    }));
    const count = Math.max(1, ...wrapped.map((w) => w.lines.length));
    return Array.from({ length: count }, (_, k) => {
      const topMm = k === 0 ? CELL_PAD_MM : 0;
      const isLast = k === count - 1;
      const heightMm = topMm + stepMm + (isLast ? CELL_PAD_MM : 0);
      const nodes: SceneNode[] = wrapped.flatMap(({ face, lines: own }, i) => {
        const text = own[k];
        const place = places[i];
        if (text === undefined || place === undefined) return [];
        const { column, left, width } = place;
        const isEnd = column.align === 'end';
        return [
          textLine(text, isEnd ? left + width : left, topMm, stepMm, sizePt, {
            face,
            colour: isHead ? SOFT_INK : INK,
            anchor: isEnd ? 'end' : 'start',
            role: 'cell',
            tag: tags[i] ?? ARTIFACT,
          }),
        ];
      });
      if (isLast) nodes.push(horizontal(widthMm, heightMm, isHead ? NEAT_LINE : HAIRLINE));
      // A row stays whole; one too long for that is parted, with no line of it alone.
      return {
        heightMm,
        nodes,
        ...(isHead || (!isLast && (count <= MOST_WHOLE_LINES || k < 2 || k === count - 2))
          ? { keepWithNext: true }
          : {}),
      };
    });
  };
  const head = joinPieces(
    setRow(
      columns.map((c) => c.head),
      true,
    ),
    [horizontal(widthMm, 0, NEAT_LINE)],
  );
  if (rows.length === 0) return [];
  // The head was read out where the table began.
  const repeatedHead = { ...head, nodes: head.nodes.map((node) => ({ ...node, tag: ARTIFACT })) };
  const body = rows
    .flatMap((row, i) => {
      const set = setRow(row, false);
      // A short table stays whole; the last row of a long one is not left alone on the next page.
      const isKept = i === rows.length - 2 || (rows.length <= MOST_WHOLE_ROWS && i < rows.length - 1);
      return isKept ? set.map((piece) => ({ ...piece, keepWithNext: true })) : set;
    })
    .map((piece) => ({ ...piece, repeatedHead }));
  return [{ ...head, keepWithNext: true }, ...body, gap(scale.bodyPt * 0.3)];
}
