/** A block of the document as pieces that stand under each other and may be parted between pages. */
import type { SceneNode, Tag } from '../figure/scene.ts';
import { ARTIFACT, moveNode, polylineSegments, rectSegments, tagRow } from '../figure/scene.ts';
import { DEMO_INK, HAIRLINE, SOFT_INK } from '../figure/style.ts';
import { MM_PER_PT, wrapText } from '../figure/text.ts';
import type { ReportBlock, Tone } from './document.ts';
import {
  gap,
  joinPieces,
  keepEnds,
  keepTogether,
  LEADING,
  type LineStyle,
  lines,
  MOST_WHOLE_LINES,
  type Piece,
  type TypeScale,
  textLine,
} from './pieces.ts';
import { setTable } from './set-table.ts';

const FACT_NAME_SHARE = 0.27;

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
