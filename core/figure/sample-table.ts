/** The table of every sample, over as many pages as it needs. */
import { drawSymbol } from './draw-symbol.ts';
import type { FigureInput, FigureRow } from './figure-model.ts';
import { formatCoordinate } from './frame-grid.ts';
import type { RectMm, SceneNode, TextNode } from './scene.ts';
import { polylineSegments } from './scene.ts';
import { HAIRLINE, INK, NEAT_LINE, SMALL_PT, SOFT_INK } from './style.ts';
import { CAP_HEIGHT, MM_PER_PT, wrapText } from './text.ts';
import { formatExpanded, formatMeasured, unitText } from './words.ts';

const SIZE_PT = 7;
const LINE_MM = 2.95;
const PAD_MM = 0.6;
const CELL_GAP_MM = 2.8;
const SYMBOL_HALF_TABLE_MM = 0.9;

interface Column {
  readonly head: string;
  /** Share of the width that is left after the fixed columns; 0 for a fixed one. */
  readonly share: number;
  readonly fixedMm: number;
  readonly align: 'start' | 'end';
  readonly bold?: boolean;
  readonly text: (row: FigureRow) => string;
}

function columnsOf(input: FigureInput): Column[] {
  const unit = input.radonUnit;
  const { unitLabel } = input.frame;
  const hasPermeability = input.rows.some((row) => (row.permeability ?? '') !== '');
  const kinds = { grab: '', duplicate: 'duplicate', repeat: 'repeat', blank: 'blank' } as const;
  return [
    { head: '', share: 0, fixedMm: 1.6, align: 'start', text: () => '' },
    { head: 'Probe', share: 0.5, fixedMm: 0, align: 'start', bold: true, text: (row) => row.label },
    {
      head: 'Sample taken, UTC',
      share: 0,
      fixedMm: 23,
      align: 'start',
      text: ({ takenUtc, sampleKind }) =>
        [takenUtc?.slice(0, 16).replace('T', ' ') ?? '', sampleKind === null ? '' : kinds[sampleKind]]
          .filter((part) => part !== '')
          .join(' '),
    },
    {
      head: `x, ${unitLabel}`,
      share: 0,
      fixedMm: 17,
      align: 'end',
      text: (row) => coordinate(row.native[0]),
    },
    {
      head: `y, ${unitLabel}`,
      share: 0,
      fixedMm: 17,
      align: 'end',
      text: (row) => coordinate(row.native[1]),
    },
    {
      head: 'Depth, m',
      share: 0,
      fixedMm: 9.5,
      align: 'end',
      text: (row) => (row.depthM === null ? '–' : String(Number(row.depthM.toPrecision(3)))),
    },
    {
      head: `Radon, ${unitText(unit)}`,
      share: 0,
      fixedMm: 14,
      align: 'end',
      bold: true,
      text: (row) => (row.measured === null ? 'not sampled' : formatMeasured(row.measured, unit)),
    },
    {
      head: 'U (k = 2)',
      share: 0,
      fixedMm: 11,
      align: 'end',
      text: (row) => (row.measured === null ? '' : formatExpanded(row.measured, unit)),
    },
    ...(hasPermeability
      ? [
          {
            head: 'Permeability',
            share: 0,
            fixedMm: 14.5,
            align: 'start' as const,
            text: (row: FigureRow) => row.permeability ?? '',
          },
        ]
      : []),
    { head: 'Finding', share: 1.2, fixedMm: 0, align: 'start', text: (row) => row.finding || 'none' },
    { head: 'Treatment', share: 1.2, fixedMm: 0, align: 'start', text: (row) => row.treatment },
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

function measureColumns(input: FigureInput, widthMm: number): Measures {
  const columns = columnsOf(input);
  const fixed = columns.reduce((sum, column) => sum + column.fixedMm, 0);
  const shares = columns.reduce((sum, column) => sum + column.share, 0);
  const free = widthMm - fixed - (columns.length - 1) * CELL_GAP_MM;
  const widths = columns.map((column) =>
    column.share === 0 ? column.fixedMm : (free * column.share) / shares,
  );
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

function setRow(cells: readonly string[], measures: Measures, xMm: number, yMm: number, head: boolean): Line {
  const sizePt = head ? SMALL_PT : SIZE_PT;
  const nodes: SceneNode[] = [];
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
 * Sets rows from `first` on until the room is full.
 * @returns the nodes and the index of the first row that did not fit; at least one row is set on a full page
 */
export function setTable(
  input: FigureInput,
  first: number,
  room: RectMm,
  mustAdvance: boolean,
): { readonly nodes: readonly SceneNode[]; readonly next: number } {
  const measures = measureColumns(input, room.widthMm);
  const head = setRow(
    measures.columns.map((column) => column.head),
    measures,
    room.xMm,
    room.yMm,
    true,
  );
  const nodes: SceneNode[] = [rule(room.xMm, room.yMm, room.widthMm, true), ...head.nodes];
  let y = room.yMm + head.heightMm;
  nodes.push(rule(room.xMm, y, room.widthMm, true));
  const bottom = room.yMm + room.heightMm;
  let next = first;
  for (; next < input.rows.length; next++) {
    const row = input.rows[next] as FigureRow;
    const line = setRow(
      measures.columns.map((column) => column.text(row)),
      measures,
      room.xMm,
      y,
      false,
    );
    if (y + line.heightMm > bottom && !(mustAdvance && next === first)) break;
    const symbolAt = [room.xMm + 1.2, y + PAD_MM + LINE_MM / 2] as const;
    if (row.symbol !== undefined) nodes.push(...drawSymbol(row.symbol, symbolAt, SYMBOL_HALF_TABLE_MM));
    nodes.push(...line.nodes);
    y += line.heightMm;
    nodes.push(rule(room.xMm, y, room.widthMm, false));
  }
  return { nodes: next === first ? [] : nodes, next };
}
