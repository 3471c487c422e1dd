/** A block of the document as pieces that stand under each other and may be parted between pages. */
import type { FontFace, SceneNode, Tag, TextNode } from '../figure/scene.ts';
import { ARTIFACT, moveNode, polylineSegments, rectSegments, tagRow } from '../figure/scene.ts';
import { DEMO_INK, HAIRLINE, INK, NEAT_LINE, SOFT_INK } from '../figure/style.ts';
import { CAP_HEIGHT, MM_PER_PT, wrapText } from '../figure/text.ts';
import type { ReportBlock, TableColumn, Tone } from './document.ts';

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

const LEADING = 1.3;
const TABLE_LEADING = 1.2;
const CELL_GAP_MM = 2;
/** Between numbers set to the right and words set to the left. */
const WIDE_GAP_MM = 3.6;
const CELL_PAD_MM = 0.6;
const FACT_NAME_SHARE = 0.27;
/** Rows of a table up to so many lines are not parted between pages. */
const MOST_WHOLE_LINES = 24;
const MOST_WHOLE_ROWS = 5;

function textLine(
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

function gap(heightMm: number): Piece {
  return { heightMm, nodes: [], isGap: true };
}

/** No line of a text alone at the foot or at the top of a page. */
function keepEnds(pieces: readonly Piece[]): Piece[] {
  const last = pieces.length - 1;
  return pieces.map((piece, i) =>
    i < last && (i === 0 || i === last - 1) ? { ...piece, keepWithNext: true } : piece,
  );
}

/** All but the last stay with what follows. */
function keepTogether(pieces: readonly Piece[]): Piece[] {
  return pieces.map((piece, i) => (i < pieces.length - 1 ? { ...piece, keepWithNext: true } : piece));
}

interface LineStyle {
  readonly sizePt: number;
  readonly face?: FontFace;
  readonly colour?: string;
  readonly indentMm?: number;
  readonly leading?: number;
  /** A paragraph of its own where absent. */
  readonly tag?: Tag;
}

function lines(text: string, widthMm: number, style: LineStyle): Piece[] {
  const { sizePt, face = 'regular', colour = INK, indentMm = 0, leading = LEADING } = style;
  const stepMm = sizePt * MM_PER_PT * leading;
  const tag: Tag = style.tag ?? { role: 'P' };
  return wrapText(text, face, sizePt, widthMm - indentMm).map((line) => ({
    heightMm: stepMm,
    nodes: [textLine(line, indentMm, 0, stepMm, sizePt, { face, colour, tag })],
  }));
}

function horizontal(widthMm: number, yMm: number, stroke = HAIRLINE): SceneNode {
  return {
    kind: 'path',
    segments: polylineSegments([
      [0, yMm],
      [widthMm, yMm],
    ]),
    stroke,
  };
}

const TONES: Record<Tone, (scale: TypeScale) => LineStyle> = {
  normal: (s) => ({ sizePt: s.bodyPt }),
  note: (s) => ({ sizePt: s.smallPt, colour: SOFT_INK }),
  strong: (s) => ({ sizePt: s.bodyPt, face: 'semibold' }),
  warning: (s) => ({ sizePt: s.bodyPt, face: 'semibold', colour: DEMO_INK }),
};

/** Pieces of one block, top down, with the space that follows it. */
export function setBlock(
  block: ReportBlock,
  widthMm: number,
  textHeightMm: number,
  scale: TypeScale,
): Piece[] {
  if (block.kind === 'heading') return setHeading(block, widthMm, scale);
  if (block.kind === 'statement') {
    const style = { sizePt: scale.statementPt, face: 'semibold', leading: 1.12 } as const;
    return [...lines(block.text, widthMm, style), gap(scale.bodyPt * 0.18)];
  }
  if (block.kind === 'paragraph') {
    const set = lines(block.text, widthMm, TONES[block.tone ?? 'normal'](scale));
    return [...keepEnds(set), gap(scale.bodyPt * 0.16)];
  }
  if (block.kind === 'list') return setList(block.items, widthMm, scale);
  if (block.kind === 'facts') return setFacts(block.rows, widthMm, scale);
  if (block.kind === 'table')
    return setTable(block.columns, block.rows, widthMm, block.small === true, scale);
  if (block.kind === 'signatures') return setSignatures(block.lines, widthMm, scale);
  if (block.kind === 'page-break') return [{ heightMm: 0, nodes: [], breakTo: block.orientation }];
  return setDrawing(block, widthMm, textHeightMm, scale);
}

type DrawingBlock = Extract<ReportBlock, { kind: 'drawing' }>;

function setDrawing(block: DrawingBlock, widthMm: number, textHeightMm: number, scale: TypeScale): Piece[] {
  const drawing = block.draw(widthMm * (block.widthShare ?? 1), textHeightMm * block.heightShare);
  return [
    {
      heightMm: drawing.heightMm,
      nodes: [
        {
          kind: 'group',
          name: block.name,
          tag: { role: 'Figure', alt: block.caption },
          children: drawing.nodes,
        },
      ],
      keepWithNext: true,
    },
    gap(1),
    ...lines(block.caption, widthMm, { ...TONES.note(scale), tag: { role: 'Caption' } }),
    gap(3),
  ];
}

/** Two drawings with their captions beside each other, as one piece. */
export function setDrawingPair(
  pair: readonly [DrawingBlock, DrawingBlock],
  widthMm: number,
  textHeightMm: number,
  scale: TypeScale,
): Piece[] {
  const columns = pair.map((block, i) => {
    const ownMm = widthMm * (block.widthShare ?? 0.5);
    const piece = joinPieces(setDrawing({ ...block, widthShare: 1 }, ownMm, textHeightMm, scale), []);
    return { ...piece, leftMm: i === 0 ? 0 : widthMm - ownMm };
  });
  return [
    {
      heightMm: Math.max(...columns.map((c) => c.heightMm)),
      nodes: columns.flatMap((c) => c.nodes.map((node) => moveNode(node, c.leftMm, 0))),
    },
  ];
}

function setHeading(
  { level, text }: { readonly level: 1 | 2; readonly text: string },
  widthMm: number,
  scale: TypeScale,
): Piece[] {
  const sizePt = level === 1 ? scale.h1Pt : scale.h2Pt;
  const pieces = lines(text, widthMm, {
    sizePt,
    face: 'semibold',
    leading: 1.2,
    tag: { role: level === 1 ? 'H1' : 'H2' },
  });
  return [
    gap(level === 1 ? 4.5 : 2.2),
    ...pieces.map((piece, i) => ({
      ...piece,
      keepWithNext: true,
      ...(i === 0 ? { outline: { title: text, level } } : {}),
    })),
    { ...gap(level === 1 ? 1.6 : 0.7), keepWithNext: true },
  ];
}

function setList(items: readonly string[], widthMm: number, scale: TypeScale): Piece[] {
  const indentMm = 4;
  const list: Tag = { role: 'L' };
  return [
    ...items.flatMap((item, i) => {
      const within: Tag = { role: 'LI', within: list };
      const label: Tag = { role: 'Lbl', within };
      const tag: Tag = { role: 'LBody', within };
      const [first, ...rest] = lines(item, widthMm, { sizePt: scale.bodyPt, indentMm, tag });
      if (first === undefined) return [];
      const dot = textLine('–', 0.8, 0, first.heightMm, scale.bodyPt, { tag: label });
      const set = keepEnds([{ ...first, nodes: [dot, ...first.nodes] }, ...rest]);
      // The last item of a list is not left alone on the next page.
      const whole = i === items.length - 2 ? set.map((piece) => ({ ...piece, keepWithNext: true })) : set;
      return [...whole, gap(scale.bodyPt * 0.06)];
    }),
    gap(scale.bodyPt * 0.12),
  ];
}

function setFacts(rows: readonly (readonly [string, string])[], widthMm: number, scale: TypeScale): Piece[] {
  const nameWidth = widthMm * FACT_NAME_SHARE;
  const stepMm = scale.bodyPt * MM_PER_PT * LEADING;
  const table: Tag = { role: 'Table' };
  const pieces = rows.flatMap(([name, value], row) => {
    const [head = ARTIFACT, cell = ARTIFACT] = tagRow(table, 2, 'first');
    const names = wrapText(name, 'regular', scale.bodyPt, nameWidth - 2);
    const values = wrapText(value, 'regular', scale.bodyPt, widthMm - nameWidth);
    const set = Array.from({ length: Math.max(names.length, values.length) }, (_, i) => ({
      heightMm: stepMm,
      nodes: [
        ...(names[i] === undefined
          ? []
          : [textLine(names[i], 0, 0, stepMm, scale.bodyPt, { colour: SOFT_INK, tag: head })]),
        ...(values[i] === undefined
          ? []
          : [textLine(values[i], nameWidth, 0, stepMm, scale.bodyPt, { tag: cell })]),
      ],
    }));
    const whole = set.length > MOST_WHOLE_LINES ? keepEnds(set) : keepTogether(set);
    // Neither the first nor the last row is left alone on a page.
    const isEnd = row < rows.length - 1 && (row === 0 || row === rows.length - 2);
    return isEnd ? whole.map((piece) => ({ ...piece, keepWithNext: true })) : whole;
  });
  return [...pieces, gap(scale.bodyPt * 0.2)];
}

/** A row is one piece for each of its lines, so that even a row longer than a page can be parted. */
function setTable(
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

function joinPieces(pieces: readonly Piece[], more: readonly SceneNode[]): Piece {
  let y = 0;
  const nodes: SceneNode[] = [...more];
  for (const piece of pieces) {
    const top = y;
    nodes.push(...piece.nodes.map((node) => moveNode(node, 0, top)));
    y += piece.heightMm;
  }
  return { heightMm: y, nodes };
}

function setSignatures(
  signatures: readonly (readonly [role: string, name: string])[],
  widthMm: number,
  scale: TypeScale,
): Piece[] {
  const set = signatures.map(([role, name]) => {
    const stepMm = scale.bodyPt * MM_PER_PT * LEADING;
    const half = widthMm / 2;
    const nodes: SceneNode[] = [
      textLine(role, 0, 0, stepMm, scale.smallPt, { colour: SOFT_INK }),
      ...wrapText(name === '' ? ' ' : name, 'semibold', scale.bodyPt, half - 6)
        .slice(0, 2)
        .map((line, i) => textLine(line, 0, stepMm * (1 + i), stepMm, scale.bodyPt, { face: 'semibold' })),
      // A name that is not known yet is written by hand.
      ...(name === ''
        ? [
            {
              kind: 'path' as const,
              segments: polylineSegments([
                [0, stepMm * 2.4],
                [half - 6, stepMm * 2.4],
              ]),
              stroke: HAIRLINE,
            },
            textLine('Name', 0, stepMm * 2.5, stepMm, scale.smallPt - 1, { colour: SOFT_INK }),
          ]
        : []),
      {
        kind: 'path',
        segments: polylineSegments([
          [half, stepMm * 2.4],
          [widthMm - 36, stepMm * 2.4],
        ]),
        stroke: HAIRLINE,
      },
      textLine('Signature, date', half, stepMm * 2.5, stepMm, scale.smallPt - 1, { colour: SOFT_INK }),
      {
        kind: 'path',
        segments: rectSegments({ xMm: widthMm - 30, yMm: 0.5, widthMm: 30, heightMm: stepMm * 4 }),
        stroke: HAIRLINE,
      },
      textLine('Seal', widthMm - 28.6, 1, stepMm, scale.smallPt - 1, { colour: SOFT_INK }),
    ];
    return { heightMm: stepMm * 4 + 3, nodes };
  });
  return keepTogether(set);
}
