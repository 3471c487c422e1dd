/** A block is a piece of a column: drawn at its own top left corner, then moved to its place. */
import type { FontFace, RectMm, SceneNode, TextNode } from './scene.ts';
import { moveNode, polylineSegments } from './scene.ts';
import { BODY_PT, HAIRLINE, HEAD_PT, INK, LEADING, SOFT_INK } from './style.ts';
import { CAP_HEIGHT, MM_PER_PT, wrapText } from './text.ts';

export interface Block {
  readonly name: string;
  /** Kept on page 1 before all others, where there is any room for it. */
  readonly required: boolean;
  readonly heightMm: number;
  readonly nodes: readonly SceneNode[];
}

export interface TextStyle {
  readonly sizePt?: number;
  readonly face?: FontFace;
  readonly colour?: string;
  readonly role?: string;
  /** Further from the left edge, the first line too. */
  readonly indentMm?: number;
}

/** Builds a block from the top down; `yMm` is the lower edge of what stands so far. */
export class BlockBuilder {
  readonly widthMm: number;
  readonly nodes: SceneNode[] = [];
  yMm = 0;

  constructor(widthMm: number) {
    this.widthMm = widthMm;
  }

  heading(text: string): this {
    this.nodes.push({
      kind: 'path',
      segments: polylineSegments([
        [0, this.yMm],
        [this.widthMm, this.yMm],
      ]),
      stroke: HAIRLINE,
    });
    this.yMm += 1.1;
    this.paragraph(text, { sizePt: HEAD_PT, face: 'semibold', colour: SOFT_INK, role: 'heading' });
    this.yMm += 0.5;
    return this;
  }

  paragraph(text: string, style: TextStyle = {}): this {
    const { sizePt = BODY_PT, face = 'regular', colour = INK, indentMm = 0 } = style;
    const leading = sizePt * MM_PER_PT * LEADING;
    for (const line of wrapText(text, face, sizePt, this.widthMm - indentMm)) {
      const node: TextNode = {
        kind: 'text',
        text: line,
        xMm: indentMm,
        // The capitals stand in the middle of their line.
        yMm: this.yMm + leading / 2 + (CAP_HEIGHT / 2) * sizePt * MM_PER_PT,
        sizePt,
        face,
        colour,
        anchor: 'start',
        ...(style.role === undefined ? {} : { role: style.role }),
      };
      this.nodes.push(node);
      this.yMm += leading;
    }
    return this;
  }

  /** Drawn at `xMm` on the current line; does not move on. */
  draw(...nodes: readonly SceneNode[]): this {
    this.nodes.push(...nodes);
    return this;
  }

  gap(mm: number): this {
    this.yMm += mm;
    return this;
  }

  build(name: string, required: boolean): Block {
    return { name, required, heightMm: this.yMm, nodes: this.nodes };
  }
}

export function placeBlock(block: Block, xMm: number, yMm: number): SceneNode {
  return { kind: 'group', name: block.name, children: block.nodes.map((node) => moveNode(node, xMm, yMm)) };
}

export const BLOCK_GAP_MM = 2.2;

export interface Flow {
  readonly nodes: readonly SceneNode[];
  readonly left: readonly Block[];
  /** Height used in each column. */
  readonly usedMm: readonly number[];
}

/**
 * Fills columns with blocks, each in the first column with room for it, required ones first in line.
 * A block that fits nowhere is handed back.
 */
export function flowBlocks(blocks: readonly Block[], columns: readonly RectMm[]): Flow {
  const wanted = [...blocks.filter((b) => b.required), ...blocks.filter((b) => !b.required)];
  const chosen = columns.map((): Block[] => []);
  const used = columns.map(() => 0);
  const left: Block[] = [];
  for (const block of wanted) {
    const column = columns.findIndex((rect, i) => {
      const taken = used[i] ?? 0;
      return taken + (taken === 0 ? 0 : BLOCK_GAP_MM) + block.heightMm <= rect.heightMm;
    });
    if (column < 0) {
      left.push(block);
      continue;
    }
    used[column] = (used[column] ?? 0) + ((used[column] ?? 0) === 0 ? 0 : BLOCK_GAP_MM) + block.heightMm;
    chosen[column]?.push(block);
  }
  const order = new Map(blocks.map((block, i) => [block, i]));
  const nodes = columns.flatMap((rect, i) => {
    let y = rect.yMm;
    return (chosen[i] ?? [])
      .sort((a, b) => (order.get(a) ?? 0) - (order.get(b) ?? 0))
      .map((block) => {
        const node = placeBlock(block, rect.xMm, y);
        y += block.heightMm + BLOCK_GAP_MM;
        return node;
      });
  });
  return { nodes, left, usedMm: used };
}
