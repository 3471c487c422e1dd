/**
 * A printed page as plain data: millimetres from the top left corner, y down. Whatever writes a file reads this and
 * nothing else, so that PDF, SVG and PNG show the same geometry.
 */
import type { PathSegment } from '../contract/symbols.ts';

export type { PathSegment } from '../contract/symbols.ts';

/**
 * What a node is to a reader who listens to the page (ISO 32000-1, 14.8.4). Nodes that carry the same tag object make
 * one element, over pages too; `Artifact` is passed over.
 */
export interface Tag {
  readonly role:
    | 'H1'
    | 'H2'
    | 'P'
    | 'Figure'
    | 'Caption'
    | 'L'
    | 'LI'
    | 'Lbl'
    | 'LBody'
    | 'Table'
    | 'TR'
    | 'TH'
    | 'TD'
    | 'Artifact';
  /** The element that holds this one; the document where absent. */
  readonly within?: Tag;
  /** In words, for a figure. */
  readonly alt?: string;
  /** Of a row: its cells in their order, the empty ones too, since a table has as many in each row. */
  readonly cells?: readonly Tag[];
  /** Of a TH: what it is the head of. */
  readonly scope?: 'Row' | 'Column';
}

export const ARTIFACT: Tag = { role: 'Artifact' };

/** Tags of the cells of one row, heads of columns throughout or of the row in the first place where asked. */
export function tagRow(table: Tag, count: number, heads: 'columns' | 'first' | 'none'): readonly Tag[] {
  const cells: Tag[] = [];
  const row: Tag = { role: 'TR', within: table, cells };
  for (let i = 0; i < count; i++) {
    const isHead = heads === 'columns' || (heads === 'first' && i === 0);
    cells.push(
      isHead
        ? { role: 'TH', within: row, scope: heads === 'columns' ? 'Column' : 'Row' }
        : { role: 'TD', within: row },
    );
  }
  return cells;
}

export interface Stroke {
  readonly colour: string;
  readonly widthMm: number;
  readonly dashMm?: readonly number[];
  readonly cap?: 'butt' | 'round';
  readonly join?: 'miter' | 'round';
}

export interface PathNode {
  readonly kind: 'path';
  readonly segments: readonly PathSegment[];
  /** Inside by the even-odd rule: a ring in a ring is a hole. */
  readonly fill?: string;
  readonly stroke?: Stroke;
  readonly opacity?: number;
  readonly tag?: Tag;
}

export type FontFace = 'regular' | 'semibold' | 'italic';

export interface TextNode {
  readonly kind: 'text';
  readonly text: string;
  /** On the baseline, at the anchor. */
  readonly xMm: number;
  readonly yMm: number;
  readonly sizePt: number;
  readonly face: FontFace;
  readonly colour: string;
  readonly anchor: 'start' | 'middle' | 'end';
  /** Clockwise as seen, about (xMm, yMm). */
  readonly rotationDeg?: number;
  /** A rim of this colour around the letters, to keep them readable on the map. */
  readonly halo?: { readonly colour: string; readonly widthMm: number };
  /** What the text is for, such as 'probe-label'; for tests and for a later editor. */
  readonly role?: string;
  /** Where absent, that of the group; text without any is a paragraph of its own. */
  readonly tag?: Tag;
}

/** A picture laid on the page by shift, turn, scale and slant. */
export interface ImageNode {
  readonly kind: 'image';
  readonly png: Uint8Array;
  readonly widthPx: number;
  readonly heightPx: number;
  /** x = a column + b row + c, y = d column + e row + f: from pixels of the picture to millimetres. */
  readonly matrix: readonly [a: number, b: number, c: number, d: number, e: number, f: number];
  readonly tag?: Tag;
}

export interface GroupNode {
  readonly kind: 'group';
  /** Unique on its page. */
  readonly name: string;
  readonly clip?: readonly PathSegment[];
  /** Of all in it that has none of its own. */
  readonly tag?: Tag;
  readonly children: readonly SceneNode[];
}

export type SceneNode = PathNode | TextNode | ImageNode | GroupNode;

export interface Scene {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly title: string;
  readonly nodes: readonly SceneNode[];
}

export interface SceneMetadata {
  readonly title: string;
  readonly author: string | null;
  readonly subject: string;
  readonly creator: string;
  /** ISO 8601, UTC. Passed in, so that the same figure gives the same bytes. */
  readonly createdUtc: string;
}

export type PointMm = readonly [xMm: number, yMm: number];

export interface RectMm {
  readonly xMm: number;
  readonly yMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

export function polylineSegments(points: readonly PointMm[], closed = false): PathSegment[] {
  const segments = points.map(([x, y], i): PathSegment => [i === 0 ? 'M' : 'L', x, y]);
  return closed && segments.length > 0 ? [...segments, ['Z']] : segments;
}

export function rectSegments(rect: RectMm): PathSegment[] {
  const { xMm: x, yMm: y, widthMm: w, heightMm: h } = rect;
  return polylineSegments(
    [
      [x, y],
      [x + w, y],
      [x + w, y + h],
      [x, y + h],
    ],
    true,
  );
}

/** The segments of a unit shape, scaled by `halfMm` and moved to (xMm, yMm). */
export function placeSegments(
  segments: readonly PathSegment[],
  xMm: number,
  yMm: number,
  halfMm = 1,
): PathSegment[] {
  return segments.map((segment) => {
    const [command, ...numbers] = segment;
    return [
      command,
      ...numbers.map((n, i) => n * halfMm + (i % 2 === 0 ? xMm : yMm)),
    ] as unknown as PathSegment;
  });
}

/** A copy of the node, moved. */
export function moveNode(node: SceneNode, dxMm: number, dyMm: number): SceneNode {
  if (node.kind === 'text') return { ...node, xMm: node.xMm + dxMm, yMm: node.yMm + dyMm };
  if (node.kind === 'path') return { ...node, segments: placeSegments(node.segments, dxMm, dyMm) };
  if (node.kind === 'image') {
    const [a, b, c, d, e, f] = node.matrix;
    return { ...node, matrix: [a, b, c + dxMm, d, e, f + dyMm] };
  }
  return {
    ...node,
    ...(node.clip === undefined ? {} : { clip: placeSegments(node.clip, dxMm, dyMm) }),
    children: node.children.map((child) => moveNode(child, dxMm, dyMm)),
  };
}

/** Every path, text and picture of the scene, in drawing order, groups opened. */
export function flattenScene(nodes: readonly SceneNode[]): (PathNode | TextNode | ImageNode)[] {
  return nodes.flatMap((node) => (node.kind === 'group' ? flattenScene(node.children) : [node]));
}
