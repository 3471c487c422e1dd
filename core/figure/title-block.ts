/** The title block of a sheet for a permit office: who, what, when, and room to sign and seal. */
import type { FigureInput, FigureSheet } from './figure-model.ts';
import type { RectMm, SceneNode, TextNode } from './scene.ts';
import { polylineSegments, rectSegments } from './scene.ts';
import { BODY_PT, HAIRLINE, INK, LEADING, NEAT_LINE, SMALL_PT, SOFT_INK } from './style.ts';
import { MM_PER_PT, shortenText, wrapText } from './text.ts';

interface Cell {
  /** Parts of the width that the fixed cell leaves. */
  readonly share: number;
  readonly name: string;
  readonly lines: readonly (readonly [text: string, strong: boolean])[];
  /** A line to sign on at the foot of the cell. */
  readonly signature?: string;
}

const SEAL_MM = 34;
const PAD_MM = 1.4;

function cellsOf(input: FigureInput, scaleText: string, page: string): Cell[] {
  const sheet = input.sheet ?? {};
  return [
    {
      share: 1.35,
      name: 'PROJECT',
      lines: [
        [input.projectName, true],
        [sheet.address ?? '', false],
        [sheet.client === undefined ? '' : `For ${sheet.client}`, false],
        [sheet.jobNumber === undefined ? '' : `Job ${sheet.jobNumber}`, false],
      ],
    },
    {
      share: 1.1,
      name: 'SHEET',
      lines: [
        [input.title, true],
        [sheet.sheetNumber === undefined ? '' : `Sheet ${sheet.sheetNumber}`, false],
        [`Scale ${scaleText} on ${page}`, false],
        [revisionLine(sheet), false],
        [`Drawn ${input.createdUtc.slice(0, 10)}, project revision ${input.revision}`, false],
        [sheet.issue === undefined ? '' : `Issue ${sheet.issue}`, false],
      ],
    },
    {
      share: 1.15,
      name: 'PREPARED BY',
      lines: [
        [input.preparedBy ?? 'Not named', true],
        [sheet.organisation ?? '', false],
        [`Licence ${sheet.licenceNumber ?? 'not stated'}`, false],
      ],
      signature: 'Signature, date',
    },
    {
      share: 1,
      name: 'REVIEWED BY',
      lines: [[sheet.reviewedBy ?? '', true]],
      signature: 'Signature, date',
    },
  ];
}

function revisionLine({ revision, date }: FigureSheet): string {
  const parts = [
    ...(revision === undefined ? [] : [`Revision ${revision}`]),
    ...(date === undefined ? [] : [date]),
  ];
  return parts.join(', ');
}

export function drawTitleBlock(
  input: FigureInput,
  rect: RectMm,
  scaleText: string,
  page: string,
): SceneNode[] {
  const nodes: SceneNode[] = [{ kind: 'path', segments: rectSegments(rect), stroke: NEAT_LINE }];
  const cells = cellsOf(input, scaleText, page);
  const shares = cells.reduce((sum, cell) => sum + cell.share, 0);
  let x = rect.xMm;
  for (const cell of cells) {
    const widthMm = ((rect.widthMm - SEAL_MM) * cell.share) / shares;
    nodes.push(...drawCell(cell, { ...rect, xMm: x, widthMm }));
    x += widthMm;
    nodes.push({
      kind: 'path',
      segments: polylineSegments([
        [x, rect.yMm],
        [x, rect.yMm + rect.heightMm],
      ]),
      stroke: HAIRLINE,
    });
  }
  nodes.push(...drawCell({ share: 0, name: 'SEAL', lines: [] }, { ...rect, xMm: x, widthMm: SEAL_MM }));
  return nodes;
}

function drawCell(cell: Cell, rect: RectMm): SceneNode[] {
  const nodes: SceneNode[] = [];
  const left = rect.xMm + PAD_MM;
  const width = rect.widthMm - 2 * PAD_MM;
  const bottom = rect.yMm + rect.heightMm - (cell.signature === undefined ? 0.8 : 8.5);
  let y = rect.yMm + 3.2;
  const put = (text: string, more: Partial<TextNode>): void => {
    nodes.push({
      kind: 'text',
      text,
      xMm: left,
      yMm: y,
      sizePt: BODY_PT,
      face: 'regular',
      colour: INK,
      anchor: 'start',
      role: 'title-block',
      ...more,
    });
  };
  put(cell.name, { sizePt: SMALL_PT - 0.5, face: 'semibold', colour: SOFT_INK });
  y += 0.6;
  for (const [text, strong] of cell.lines) {
    if (text === '') continue;
    const face = strong ? 'semibold' : 'regular';
    const sizePt = strong ? BODY_PT + 0.5 : SMALL_PT + 0.25;
    const step = sizePt * MM_PER_PT * LEADING;
    const wrapped = wrapText(text, face, sizePt, width);
    const room = Math.max(
      1,
      Math.min(strong && cell.signature === undefined ? 2 : 3, Math.floor((bottom - y) / step)),
    );
    if (y + step > bottom) break;
    wrapped.slice(0, room).forEach((line, i) => {
      y += step;
      const isLast = i === room - 1;
      // The last line takes all that is left, and is shortened where that is too much.
      put(isLast ? shortenText(wrapped.slice(i).join(' '), face, sizePt, width) : line, { face, sizePt });
    });
  }
  if (cell.signature !== undefined) {
    const lineY = rect.yMm + rect.heightMm - 4;
    nodes.push({
      kind: 'path',
      segments: polylineSegments([
        [left, lineY],
        [left + width, lineY],
      ]),
      stroke: HAIRLINE,
    });
    y = lineY + 2.6;
    put(cell.signature, { sizePt: SMALL_PT - 1, colour: SOFT_INK });
  }
  return nodes;
}
