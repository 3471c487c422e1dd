/** The table of every sample, over as many pages as it needs. */
import { lengthCell, lengthUnit, sayInUnits, unitText } from '../contract/project-words.ts';
import { drawSymbol } from './draw-symbol.ts';
import type { FigureInput, FigureRow } from './figure-model.ts';
import { formatCoordinate } from './frame-grid.ts';
import type { RectMm, SceneNode, Tag, TextNode } from './scene.ts';
import { ARTIFACT, polylineSegments, tagRow } from './scene.ts';
import { HAIRLINE, INK, NEAT_LINE, SMALL_PT, SOFT_INK } from './style.ts';
import { CAP_HEIGHT, MM_PER_PT, measureText, wrapText } from './text.ts';
import { formatExpanded, formatMeasured } from './words.ts';

const SIZE_PT = 7;
const LINE_MM = 2.95;
const PAD_MM = 0.6;
const CELL_GAP_MM = 2.4;
const SYMBOL_HALF_TABLE_MM = 0.9;

interface Column {
  readonly head: string;
  /** As wide as its cells, but no wider than this. The findings take what is left. */
  readonly mostMm: number;
  readonly align: 'start' | 'end';
  readonly bold?: boolean;
  readonly text: (row: FigureRow) => string;
  /** What must stand on one line, where that is not the whole text. */
  readonly oneLine?: (row: FigureRow) => string;
}

const FILL = Number.POSITIVE_INFINITY;
const SYMBOL_COLUMN: Column = { head: '', mostMm: 1.6, align: 'start', text: () => '' };

function columnsOf(input: FigureInput): Column[] {
  const unit = input.radonUnit;
  const { unitLabel } = input.frame;
  const hasPermeability = input.rows.some((row) => (row.permeability ?? '') !== '');
  const kinds = { grab: '', duplicate: 'duplicate', repeat: 'repeat', blank: 'blank' } as const;
  const timeOf = ({ takenUtc }: FigureRow) => takenUtc?.slice(0, 16).replace('T', ' ') ?? '';
  const permeability: Column = {
    head: 'Permeability',
    mostMm: 17,
    align: 'start',
    text: (row) => row.permeability ?? '',
  };
  return [
    SYMBOL_COLUMN,
    { head: 'Probe', mostMm: 22, align: 'start', bold: true, text: (row) => row.label },
    {
      head: 'Sample taken, UTC',
      mostMm: 23,
      align: 'start',
      text: (row) =>
        [timeOf(row), row.sampleKind === null ? '' : kinds[row.sampleKind]]
          .filter((part) => part !== '')
          .join(' '),
      oneLine: timeOf,
    },
    { head: `x, ${unitLabel}`, mostMm: 20, align: 'end', text: (row) => coordinate(row.native[0]) },
    { head: `y, ${unitLabel}`, mostMm: 20, align: 'end', text: (row) => coordinate(row.native[1]) },
    {
      head: `Depth, ${lengthUnit(input.frame)}`,
      mostMm: 10,
      align: 'end',
      text: (row) => lengthCell(row.depthM, input.frame),
    },
    {
      head: `Radon, ${unitText(unit)}`,
      mostMm: 16,
      align: 'end',
      bold: true,
      text: (row) => (row.measured === null ? 'not sampled' : formatMeasured(row.measured, unit)),
    },
    {
      head: 'U (k = 2)',
      mostMm: 12,
      align: 'end',
      text: (row) => (row.measured === null ? '' : formatExpanded(row.measured, unit)),
    },
    ...(hasPermeability ? [permeability] : []),
    {
      head: 'Finding',
      mostMm: FILL,
      align: 'start',
      text: (row) => sayInUnits(row.finding, input) || 'none',
    },
    { head: 'Treatment', mostMm: 24, align: 'start', text: (row) => row.treatment },
  ];
}

function coordinate(value: number): string {
  return formatCoordinate(value, 2);
}

interface Measures {
  readonly columns: readonly Column[];
  readonly lefts: readonly number[];
  readonly widths: readonly number[];
}

/** So many of the longest texts are measured: letters differ in width, so the longest is not always the widest. */
const MEASURED_TEXTS = 12;

/** Width of the widest cell or word of the head, within the column's most. */
function ownWidth(column: Column, rows: readonly FigureRow[]): number {
  if (column.head === '') return column.mostMm;
  const face = column.bold === true ? 'semibold' : 'regular';
  const texts = [...new Set(rows.map(column.oneLine ?? column.text))]
    .sort((a, b) => b.length - a.length)
    .slice(0, MEASURED_TEXTS);
  const widths = [
    ...texts.map((text) => measureText(text, face, SIZE_PT)),
    ...(column.head.length < 11 ? [column.head] : column.head.split(' ')).map((word) =>
      measureText(word, 'semibold', SMALL_PT),
    ),
  ];
  // A hair more, so that rounding never breaks the widest.
  return Math.min(column.mostMm, Math.max(...widths) + 0.1);
}

const ownWidths = new WeakMap<FigureInput, readonly number[]>();

function measureColumns(input: FigureInput, widthMm: number): Measures {
  const columns = columnsOf(input);
  const own =
    ownWidths.get(input) ??
    columns.map((column) => (column.mostMm === FILL ? 0 : ownWidth(column, input.rows)));
  ownWidths.set(input, own);
  const taken = own.reduce((sum, width) => sum + width, 0);
  const free = widthMm - taken - (columns.length - 1) * CELL_GAP_MM;
  const widths = columns.map((column, i) => (column.mostMm === FILL ? free : (own[i] ?? 0)));
  const lefts: number[] = [];
  let x = 0;
  for (const width of widths) {
    lefts.push(x);
    x += width + CELL_GAP_MM;
  }
  return { columns, lefts, widths };
}

interface Line {
  readonly nodes: readonly SceneNode[];
  readonly heightMm: number;
}

function setRow(
  cells: readonly string[],
  measures: Measures,
  xMm: number,
  yMm: number,
  head: boolean,
  table: Tag,
): Line {
  const sizePt = head ? SMALL_PT : SIZE_PT;
  const nodes: SceneNode[] = [];
  // The column of symbols has no cells.
  const tags = [ARTIFACT, ...tagRow(table, measures.columns.length - 1, head ? 'columns' : 'first')];
  let most = 1;
  measures.columns.forEach((column, i) => {
    const width = measures.widths[i] ?? 0;
    const face = head || column.bold === true ? 'semibold' : 'regular';
    const lines = wrapText(cells[i] ?? '', face, sizePt, width);
    most = Math.max(most, lines.length);
    lines.forEach((text, k) => {
      const node: TextNode = {
        kind: 'text',
        text,
        xMm: xMm + (measures.lefts[i] ?? 0) + (column.align === 'end' ? width : 0),
        yMm: yMm + PAD_MM + k * LINE_MM + LINE_MM / 2 + (CAP_HEIGHT / 2) * sizePt * MM_PER_PT,
        sizePt,
        face,
        colour: head ? SOFT_INK : INK,
        anchor: column.align,
        role: head ? 'table-head' : 'table-cell',
        tag: tags[i] ?? ARTIFACT,
      };
      nodes.push(node);
    });
  });
  return { nodes, heightMm: most * LINE_MM + 2 * PAD_MM };
}

function rule(xMm: number, yMm: number, widthMm: number, heavy: boolean): SceneNode {
  return {
    kind: 'path',
    segments: polylineSegments([
      [xMm, yMm],
      [xMm + widthMm, yMm],
    ]),
    stroke: heavy ? NEAT_LINE : HAIRLINE,
  };
}

/**
 * Sets rows from `first` on, before `end`, until the room is full.
 * @returns the nodes and the index of the first row that did not fit; at least one row is set on a full page
 */
export function setTable(
  input: FigureInput,
  first: number,
  room: RectMm,
  mustAdvance: boolean,
  end = Number.POSITIVE_INFINITY,
): { readonly nodes: readonly SceneNode[]; readonly next: number; readonly heightMm: number } {
  const measures = measureColumns(input, room.widthMm);
  const table: Tag = { role: 'Table' };
  const head = setRow(
    measures.columns.map((column) => column.head),
    measures,
    room.xMm,
    room.yMm,
    true,
    table,
  );
  const nodes: SceneNode[] = [rule(room.xMm, room.yMm, room.widthMm, true), ...head.nodes];
  let y = room.yMm + head.heightMm;
  nodes.push(rule(room.xMm, y, room.widthMm, true));
  const bottom = room.yMm + room.heightMm;
  let next = first;
  for (; next < Math.min(end, input.rows.length); next++) {
    const row = input.rows[next] as FigureRow;
    const line = setRow(
      measures.columns.map((column) => column.text(row)),
      measures,
      room.xMm,
      y,
      false,
      table,
    );
    if (y + line.heightMm > bottom && !(mustAdvance && next === first)) break;
    const symbolAt = [room.xMm + 1.2, y + PAD_MM + LINE_MM / 2] as const;
    if (row.symbol !== undefined) nodes.push(...drawSymbol(row.symbol, symbolAt, SYMBOL_HALF_TABLE_MM));
    nodes.push(...line.nodes);
    y += line.heightMm;
    nodes.push(rule(room.xMm, y, room.widthMm, false));
  }
  return next === first ? { nodes: [], next, heightMm: 0 } : { nodes, next, heightMm: y - room.yMm };
}
