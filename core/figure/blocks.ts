/** A block is a piece of a column: drawn at its own top left corner, then moved to its place. */
import type { FontFace, RectMm, SceneNode, Tag, TextNode } from './scene.ts';
import { ARTIFACT, moveNode, polylineSegments } from './scene.ts';
import { BODY_PT, HAIRLINE, HEAD_PT, INK, LEADING, SMALL_PT, SOFT_INK } from './style.ts';
import { CAP_HEIGHT, MM_PER_PT, wrapText } from './text.ts';

export interface Block {
  readonly name: string;
  /** Kept on page 1 before all others, where there is any room for it. */
  readonly required: boolean;
  readonly heightMm: number;
  readonly nodes: readonly SceneNode[];
  readonly title: string;
  readonly widthMm: number;
  /** Where the block may be cut: the first `nodes` nodes lie above `yMm`. */
  readonly breaks: readonly { readonly yMm: number; readonly nodes: number }[];
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
  readonly breaks: { yMm: number; nodes: number }[] = [];
  title = '';
  yMm = 0;

  constructor(widthMm: number) {
    this.widthMm = widthMm;
  }

  heading(text: string): this {
    this.title = text;
    this.nodes.push({
      kind: 'path',
      segments: polylineSegments([
        [0, this.yMm],
        [this.widthMm, this.yMm],
      ]),
      stroke: HAIRLINE,
      tag: ARTIFACT,
    });
    this.yMm += 1.1;
    this.paragraph(
      text,
      { sizePt: HEAD_PT, face: 'semibold', colour: SOFT_INK, role: 'heading' },
      { role: 'H2' },
    );
    this.yMm += 0.5;
    this.breaks.length = 0;
    return this;
  }

  /** Allows a cut below what stands so far. */
  mayBreak(): this {
    this.breaks.push({ yMm: this.yMm, nodes: this.nodes.length });
    return this;
  }

  paragraph(text: string, style: TextStyle = {}, tag: Tag = { role: 'P' }): this {
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
        tag,
        ...(style.role === undefined ? {} : { role: style.role }),
      };
      this.nodes.push(node);
      this.yMm += leading;
      this.mayBreak();
    }
    return this;
  }

  /** Adds nodes as they are; does not move on. */
  draw(...nodes: readonly SceneNode[]): this {
    this.nodes.push(...nodes);
    return this;
  }

  gap(mm: number): this {
    this.yMm += mm;
    return this;
  }

  build(name: string, required: boolean): Block {
    const { title, widthMm, breaks, nodes } = this;
    return { name, required, heightMm: this.yMm, nodes, title, widthMm, breaks };
  }
}

export function placeBlock(block: Block, xMm: number, yMm: number): SceneNode {
  return { kind: 'group', name: block.name, children: block.nodes.map((node) => moveNode(node, xMm, yMm)) };
}

/** Cuts a block at the lowest place above `roomMm`; null where even its first line has no room. */
function cutBlock(block: Block, roomMm: number): readonly [head: Block, tail: Block] | null {
  const sizePt = SMALL_PT;
  const noteMm = sizePt * MM_PER_PT * LEADING;
  const cut = block.breaks.filter(({ yMm }) => yMm + noteMm <= roomMm).at(-1);
  if (cut === undefined || cut.nodes >= block.nodes.length) return null;
  const head = new BlockBuilder(block.widthMm).draw(...block.nodes.slice(0, cut.nodes));
  head.yMm = cut.yMm;
  head.paragraph('continued on the next page', { sizePt, face: 'italic', colour: SOFT_INK });
  const tail = new BlockBuilder(block.widthMm).heading(
    block.title.endsWith(CONTINUED) ? block.title : `${block.title}${CONTINUED}`,
  );
  const shift = tail.yMm - cut.yMm;
  const shifted = block.breaks
    .filter(({ yMm }) => yMm > cut.yMm)
    .map(({ yMm, nodes }) => ({ yMm: yMm + shift, nodes: nodes - cut.nodes + tail.nodes.length }));
  tail.draw(...block.nodes.slice(cut.nodes).map((node) => moveNode(node, 0, shift)));
  tail.breaks.push(...shifted);
  tail.yMm = block.heightMm + shift;
  return [head.build(block.name, block.required), tail.build(`${block.name}-continued`, false)];
}

const CONTINUED = ' (CONTINUED)';

/** The block with all in it that is neither heading nor words as one figure. */
export function asFigure(block: Block, alt: string): Block {
  const tag: Tag = { role: 'Figure', alt };
  return { ...block, nodes: block.nodes.map((node) => (node.tag === undefined ? { ...node, tag } : node)) };
}

export const BLOCK_GAP_MM = 2.2;

export interface PlacedBlock {
  readonly block: Block;
  readonly rect: RectMm;
}

export interface Flow {
  readonly placed: readonly PlacedBlock[];
  readonly left: readonly Block[];
  /** Height used in each column. */
  readonly usedMm: readonly number[];
}

/** Part of the room still free that a block being cut may take, so that it does not push out all that follow. */
const CUT_SHARE = 0.6;

/**
 * Fills columns with blocks, each in the first column with room for it, required ones first in line.
 * Within a column they stand in the order given. A block that fits nowhere is handed back; with `cut`, a required one is cut and its tail handed back.
 */
export function flowBlocks(
  blocks: readonly Block[],
  columns: readonly RectMm[],
  { cut = false, longestFirst = false }: { readonly cut?: boolean; readonly longestFirst?: boolean } = {},
): Flow {
  const required = blocks.filter((b) => b.required);
  if (longestFirst) required.sort((a, b) => b.heightMm - a.heightMm);
  const wanted = [...required, ...blocks.filter((b) => !b.required)];
  const chosen = columns.map((): Block[] => []);
  const used = columns.map(() => 0);
  const left: Block[] = [];
  const rank = new Map<Block, number>();
  const roomIn = (column: number): number => {
    const taken = used[column] ?? 0;
    return (columns[column]?.heightMm ?? 0) - taken - (taken === 0 ? 0 : BLOCK_GAP_MM);
  };
  const put = (block: Block, column: number, order: number): void => {
    const taken = used[column] ?? 0;
    used[column] = taken + (taken === 0 ? 0 : BLOCK_GAP_MM) + block.heightMm;
    chosen[column]?.push(block);
    rank.set(block, order);
  };
  for (const block of wanted) {
    const order = blocks.indexOf(block);
    const column = columns.findIndex((_, i) => block.heightMm <= roomIn(i));
    if (column >= 0) {
      put(block, column, order);
      continue;
    }
    const rooms = columns.map((_, i) => roomIn(i));
    const widest = rooms.indexOf(Math.max(...rooms));
    const share = columns.length === 1 ? CUT_SHARE : 1;
    const parts = cut && block.required ? cutBlock(block, (rooms[widest] ?? 0) * share) : null;
    if (parts === null) {
      left.push(block);
      continue;
    }
    put(parts[0], widest, order);
    left.push(parts[1]);
  }
  const placed = columns.flatMap(({ xMm, yMm }, i) => {
    let y = yMm;
    return (chosen[i] ?? [])
      .sort((a, b) => (rank.get(a) ?? 0) - (rank.get(b) ?? 0))
      .map((block) => {
        const rect = { xMm, yMm: y, widthMm: block.widthMm, heightMm: block.heightMm };
        y += block.heightMm + BLOCK_GAP_MM;
        return { block, rect };
      });
  });
  return { placed, left, usedMm: used };
}

const HALVINGS = 8;

/** As `flowBlocks`, in columns only as high as all blocks need, so that they end about level; in full where they do not fit. */
export function flowLevel(blocks: readonly Block[], columns: readonly RectMm[]): Flow {
  const within = (heightMm: number): Flow =>
    flowBlocks(
      blocks,
      columns.map((rect) => ({ ...rect, heightMm: Math.min(heightMm, rect.heightMm) })),
    );
  let best = within(Number.POSITIVE_INFINITY);
  if (best.left.length > 0) return best;
  let [least, most] = [0, Math.max(...best.usedMm)];
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (least + most) / 2;
    const tried = within(middle);
    if (tried.left.length === 0) {
      best = tried;
      most = middle;
    } else least = middle;
  }
  return best;
}

/** The blocks where the flow put them, each as a group of its name. */
export function drawFlow({ placed }: Flow): SceneNode[] {
  return placed.map(({ block, rect }) => placeBlock(block, rect.xMm, rect.yMm));
}
