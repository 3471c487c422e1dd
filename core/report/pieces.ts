/** What a page is set from: pieces that stand under each other, and the lines of text in them. */
import type { FontFace, SceneNode, Tag, TextNode } from '../figure/scene.ts';
import { moveNode, polylineSegments } from '../figure/scene.ts';
import { HAIRLINE, INK } from '../figure/style.ts';
import { CAP_HEIGHT, MM_PER_PT, wrapText } from '../figure/text.ts';

export interface Piece {
  readonly heightMm: number;
  /** From the piece's own top left corner. */
  readonly nodes: readonly SceneNode[];
  /** Never the last on a page. */
  readonly keepWithNext?: boolean;
  /** Left out at the top of a page. */
  readonly isGap?: boolean;
  /** Set again at the top of the page where the next piece begins a page. */
  readonly repeatedHead?: Piece;
  readonly outline?: { readonly title: string; readonly level: 1 | 2 };
  readonly breakTo?: 'portrait' | 'landscape';
}

/** Text sizes of one setting; smaller ones let a summary fit its page. */
export interface TypeScale {
  readonly bodyPt: number;
  readonly smallPt: number;
  readonly h1Pt: number;
  readonly h2Pt: number;
  readonly statementPt: number;
}

export function typeScale(factor: number): TypeScale {
  return {
    bodyPt: 9.5 * factor,
    smallPt: 8 * factor,
    h1Pt: 14 * Math.sqrt(factor),
    h2Pt: 10.5 * factor,
    statementPt: 20 * Math.sqrt(factor),
  };
}

export const LEADING = 1.3;
/** Rows of up to so many lines are not parted between pages. */
export const MOST_WHOLE_LINES = 24;

export function textLine(
  text: string,
  xMm: number,
  topMm: number,
  stepMm: number,
  sizePt: number,
  more: Partial<TextNode> = {},
): TextNode {
  return {
    kind: 'text',
    text,
    xMm,
    yMm: topMm + stepMm / 2 + (CAP_HEIGHT / 2) * sizePt * MM_PER_PT,
    sizePt,
    face: 'regular',
    colour: INK,
    anchor: 'start',
    ...more,
  };
}

export function gap(heightMm: number): Piece {
  return { heightMm, nodes: [], isGap: true };
}

/** No line of a text alone at the foot or at the top of a page. */
export function keepEnds(pieces: readonly Piece[]): Piece[] {
  const last = pieces.length - 1;
  return pieces.map((piece, i) =>
    i < last && (i === 0 || i === last - 1) ? { ...piece, keepWithNext: true } : piece,
  );
}

/** All but the last stay with what follows. */
export function keepTogether(pieces: readonly Piece[]): Piece[] {
  return pieces.map((piece, i) => (i < pieces.length - 1 ? { ...piece, keepWithNext: true } : piece));
}

export interface LineStyle {
  readonly sizePt: number;
  readonly face?: FontFace;
  readonly colour?: string;
  readonly indentMm?: number;
  readonly leading?: number;
  /** A paragraph of its own where absent. */
  readonly tag?: Tag;
}

export function lines(text: string, widthMm: number, style: LineStyle): Piece[] {
  const { sizePt, face = 'regular', colour = INK, indentMm = 0, leading = LEADING } = style;
  const stepMm = sizePt * MM_PER_PT * leading;
  const tag: Tag = style.tag ?? { role: 'P' };
  return wrapText(text, face, sizePt, widthMm - indentMm).map((line) => ({
    heightMm: stepMm,
    nodes: [textLine(line, indentMm, 0, stepMm, sizePt, { face, colour, tag })],
  }));
}

export function horizontal(widthMm: number, yMm: number, stroke = HAIRLINE): SceneNode {
  return {
    kind: 'path',
    segments: polylineSegments([
      [0, yMm],
      [widthMm, yMm],
    ]),
    stroke,
  };
}

export function joinPieces(pieces: readonly Piece[], more: readonly SceneNode[]): Piece {
  let y = 0;
  const nodes: SceneNode[] = [...more];
  for (const piece of pieces) {
    const top = y;
    nodes.push(...piece.nodes.map((node) => moveNode(node, 0, top)));
    y += piece.heightMm;
  }
  return { heightMm: y, nodes };
}
