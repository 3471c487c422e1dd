/** Drawing on a sheet that is written on by hand: black on white, rules thin enough to write over. */
import type { FontFace, RectMm, SceneNode, Stroke, TextNode } from '../figure/scene.ts';
import { polylineSegments, rectSegments } from '../figure/scene.ts';
import { INK, SOFT_INK } from '../figure/style.ts';
import { fitSize, MM_PER_PT, measureText, wrapText } from '../figure/text.ts';

export const RULE: Stroke = { colour: '#7d868c', widthMm: 0.15 };
export const FRAME: Stroke = { colour: INK, widthMm: 0.3 };
export const TINT = '#eef0f1';
/** The least height of a line to write on. */
export const LEAST_ROW_MM = 9;
export const TICK_MM = 2.9;
const LEADING = 1.22;
const CELL_LABEL_PT = 6.3;
const LEAST_LABEL_PT = 5;

export interface TextStyle {
  readonly sizePt: number;
  readonly face?: FontFace;
  readonly colour?: string;
  readonly anchor?: TextNode['anchor'];
  readonly role?: string;
}

/** Nodes of one page in drawing order. All places in millimetres from the top left corner. */
export class Pen {
  readonly nodes: SceneNode[] = [];

  text(text: string, xMm: number, baselineMm: number, style: TextStyle): void {
    const { sizePt, face = 'regular', colour = INK, anchor = 'start', role } = style;
    this.nodes.push({
      kind: 'text',
      text,
      xMm,
      yMm: baselineMm,
      sizePt,
      face,
      colour,
      anchor,
      ...(role === undefined ? {} : { role }),
    });
  }

  /** Broken to the width from `topMm` down; gives the place under its last line. */
  paragraph(text: string, xMm: number, topMm: number, widthMm: number, style: TextStyle): number {
    const stepMm = style.sizePt * MM_PER_PT * LEADING;
    let yMm = topMm;
    for (const line of wrapText(text, style.face ?? 'regular', style.sizePt, widthMm)) {
      yMm += stepMm;
      this.text(line, xMm, yMm - 0.24 * stepMm, style);
    }
    return yMm;
  }

  line(fromXMm: number, fromYMm: number, toXMm: number, toYMm: number, stroke: Stroke = RULE): void {
    const segments = polylineSegments([
      [fromXMm, fromYMm],
      [toXMm, toYMm],
    ]);
    this.nodes.push({ kind: 'path', segments, stroke });
  }

  box(rect: RectMm, style: { readonly fill?: string; readonly stroke?: Stroke }): void {
    this.nodes.push({ kind: 'path', segments: rectSegments(rect), ...style });
  }

  /** A box to tick and what it stands for. */
  tick(label: string, xMm: number, middleMm: number, sizePt = 7): void {
    this.box(
      { xMm, yMm: middleMm - TICK_MM / 2, widthMm: TICK_MM, heightMm: TICK_MM },
      { stroke: { colour: INK, widthMm: 0.2 } },
    );
    this.text(label, xMm + TICK_MM + 0.9, middleMm + 0.33 * sizePt * MM_PER_PT, { sizePt });
  }

  /** Boxes with what they stand for, spread over the width with equal room between them. */
  tickRow(labels: readonly string[], xMm: number, middleMm: number, widthMm: number, sizePt: number): void {
    const widths = labels.map((label) => TICK_MM + 0.9 + measureText(label, 'regular', sizePt));
    const gapMm = (widthMm - widths.reduce((sum, w) => sum + w, 0)) / Math.max(1, labels.length - 1);
    let at = xMm;
    labels.forEach((label, i) => {
      this.tick(label, at, middleMm, sizePt);
      at += (widths[i] ?? 0) + gapMm;
    });
  }

  /** A small box that holds its own letter, to be crossed: where there is no room beside it. */
  letterBox(letter: string, centreXMm: number, middleMm: number, sideMm: number): void {
    this.box(
      { xMm: centreXMm - sideMm / 2, yMm: middleMm - sideMm / 2, widthMm: sideMm, heightMm: sideMm },
      { stroke: { colour: INK, widthMm: 0.18 } },
    );
    this.text(letter, centreXMm, middleMm + 0.33 * 6.5 * MM_PER_PT, {
      sizePt: 6.5,
      colour: SOFT_INK,
      anchor: 'middle',
    });
  }

  /** A framed place to write in: what goes there at the top, its unit at the bottom right. */
  cell(rect: RectMm, label: string, unit = ''): void {
    this.box(rect, { stroke: RULE });
    const sizePt = fitSize(label, 'regular', CELL_LABEL_PT, LEAST_LABEL_PT, rect.widthMm - 1.6);
    this.text(label, rect.xMm + 0.8, rect.yMm + 2.5, { sizePt });
    if (unit !== '')
      this.text(unit, rect.xMm + rect.widthMm - 0.8, rect.yMm + rect.heightMm - 1, {
        sizePt: CELL_LABEL_PT,
        anchor: 'end',
      });
  }

  /** A row of such places side by side, by shares of the width. */
  cells(rect: RectMm, parts: readonly (readonly [label: string, unit: string, share: number])[]): void {
    const all = parts.reduce((sum, [, , share]) => sum + share, 0);
    let xMm = rect.xMm;
    for (const [label, unit, share] of parts) {
      const widthMm = (rect.widthMm * share) / all;
      this.cell({ ...rect, xMm, widthMm }, label, unit);
      xMm += widthMm;
    }
  }
}
