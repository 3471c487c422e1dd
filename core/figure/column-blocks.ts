/** The other blocks beside the map: legend, findings, cautions, method and quality. */

import { areaText, sayInUnits, unitText } from '../contract/project-words.ts';
import { ADDED_MARK, probeSymbol, SYMBOL_KINDS } from '../contract/symbols.ts';
import { bandFill } from './band-fill.ts';
import { type Block, BlockBuilder } from './blocks.ts';
import { isLimit } from './draw-map.ts';
import { drawAddedMark, drawSymbol } from './draw-symbol.ts';
import type { FigureInput } from './figure-model.ts';
import { formatCoordinate } from './frame-grid.ts';
import type { PathNode, SceneNode, Stroke, Tag, TextNode } from './scene.ts';
import { polylineSegments, rectSegments } from './scene.ts';
import {
  BODY_PT,
  FOOTPRINT_LINE,
  HAIRLINE,
  INK,
  KEEP_OUT_LINE,
  LOT_LINE,
  SMALL_PT,
  SOFT_INK,
  SYMBOL_HALF_MM,
  WEAK_LINE,
} from './style.ts';
import { CAP_HEIGHT, MM_PER_PT, measureText, wrapText } from './text.ts';
import { describeSurface, formatLevel } from './words.ts';

const KEY_WIDTH_MM = 8;
const ROW_MM = 3.65;
const SMALL = { sizePt: SMALL_PT } as const;

function textAt(
  text: string,
  xMm: number,
  yMm: number,
  sizePt = BODY_PT,
  more: Partial<TextNode> = {},
): TextNode {
  return {
    kind: 'text',
    text,
    xMm,
    yMm: yMm + (CAP_HEIGHT / 2) * sizePt * MM_PER_PT,
    sizePt,
    face: 'regular',
    colour: INK,
    anchor: 'start',
    ...more,
  };
}

function keyRow(block: BlockBuilder, key: (yMm: number) => readonly SceneNode[], text: string): void {
  const lines = wrapText(text, 'regular', BODY_PT, block.widthMm - KEY_WIDTH_MM);
  block.draw(...key(block.yMm + ROW_MM / 2));
  const tag: Tag = { role: 'P' };
  lines.forEach((line, i) => {
    block.draw(textAt(line, KEY_WIDTH_MM, block.yMm + ROW_MM / 2 + i * 3.1, BODY_PT, { tag }));
  });
  block.gap(ROW_MM + (lines.length - 1) * 3.1).mayBreak();
}

function lineKey(stroke: Stroke): (yMm: number) => PathNode[] {
  return (yMm) => [
    {
      kind: 'path',
      segments: polylineSegments([
        [0.3, yMm],
        [KEY_WIDTH_MM - 1.7, yMm],
      ]),
      stroke,
    },
  ];
}

/** The lot line's pattern, shortened to show whole in a key. */
const LOT_KEY: Stroke = { ...LOT_LINE, dashMm: [2.2, 0.6, 0.6, 0.6, 0.6, 0.6] };

function keepOutKey(yMm: number): PathNode[] {
  const rect = { xMm: 0.3, yMm: yMm - 1.1, widthMm: KEY_WIDTH_MM - 2, heightMm: 2.2 };
  const slants = [0.3, 1.8, 3.3].map((x) =>
    polylineSegments([
      [x, yMm + 1.1],
      [x + 2.2, yMm - 1.1],
    ]),
  );
  return [{ kind: 'path', segments: [...rectSegments(rect), ...slants.flat()], stroke: KEEP_OUT_LINE }];
}

function weakKey(yMm: number): PathNode[] {
  const slants = [0.8, 2.6, 4.4].map((x) =>
    polylineSegments([
      [x, yMm - 1.1],
      [x + 1.6, yMm + 1.1],
    ]),
  );
  const rect = { xMm: 0.3, yMm: yMm - 1.1, widthMm: KEY_WIDTH_MM - 2, heightMm: 2.2 };
  return [
    { kind: 'path', segments: rectSegments(rect), stroke: HAIRLINE },
    { kind: 'path', segments: slants.flat(), stroke: WEAK_LINE },
  ];
}

/** The ramp as one bar in even steps with its levels, class limits marked by a longer, heavier tick and their names. */
function drawRamp(block: BlockBuilder, input: FigureInput): void {
  const surface = input.surface;
  if (surface === null || surface.bands.length === 0) return;
  const first = block.nodes.length;
  const count = surface.bands.length;
  const barWidth = block.widthMm - 0.3;
  const step = barWidth / count;
  const top = block.yMm + 3.4;
  surface.bands.forEach((band, i) => {
    block.draw({
      kind: 'path',
      segments: rectSegments({ xMm: i * step, yMm: top, widthMm: step, heightMm: 3.6 }),
      fill: bandFill(input, band.from),
    });
  });
  block.draw({
    kind: 'path',
    segments: rectSegments({ xMm: 0, yMm: top, widthMm: barWidth, heightMm: 3.6 }),
    stroke: { colour: INK, widthMm: 0.12 },
  });
  let lastNameRight = Number.NEGATIVE_INFINITY;
  // The lowest band is open downwards: its level is lettered only where a class begins there.
  const edges = surface.bands
    .map((band, i) => ({ level: band.from, x: i * step }))
    .filter(({ level }, i) => i > 0 || isLimit(level, input));
  // Limits are lettered first, so that a plain level gives way to them.
  const byRank = [...edges].sort((a, b) => Number(isLimit(b.level, input)) - Number(isLimit(a.level, input)));
  const taken: { from: number; to: number }[] = [];
  for (const { level, x } of byRank) {
    const limit = isLimit(level, input);
    block.draw({
      kind: 'path',
      segments: polylineSegments([
        [x, top - (limit ? 0.9 : 0)],
        [x, top + 3.6 + (limit ? 0.9 : 0.5)],
      ]),
      stroke: { colour: INK, widthMm: limit ? 0.4 : 0.12 },
    });
    const text = formatLevel(level, input.radonUnit);
    const face = limit ? 'semibold' : 'regular';
    const half = measureText(text, face, SMALL_PT) / 2 + 0.5;
    if (taken.some(({ from, to }) => x - half < to && from < x + half)) continue;
    taken.push({ from: x - half, to: x + half });
    block.draw(textAt(text, x, top + 6, SMALL_PT, { face, anchor: 'middle', role: 'ramp-level' }));
  }
  for (const { level, x } of edges) {
    const limit = input.limits.find((l) => isLimit(level, { ...input, limits: [l] }));
    if (limit === undefined) continue;
    const name = `${limit.name} from here`;
    const width = measureText(name, 'italic', SMALL_PT);
    const start = Math.min(x + 0.6, block.widthMm - width);
    if (start < lastNameRight + 1) continue;
    lastNameRight = start + width;
    block.draw(textAt(name, start, top - 1.7, SMALL_PT, { face: 'italic', role: 'ramp-limit' }));
  }
  const levels = edges.map(({ level }) => {
    const limit = input.limits.find((l) => isLimit(level, { ...input, limits: [l] }));
    return `${formatLevel(level, input.radonUnit)}${limit === undefined ? '' : ` (${limit.name} from here)`}`;
  });
  const tag: Tag = { role: 'Figure', alt: `Colours from pale to dark, parted at ${levels.join(', ')}` };
  block.nodes.splice(
    first,
    block.nodes.length,
    ...block.nodes.slice(first).map((node) => ({ ...node, tag })),
  );
  block.gap(3.4 + 3.6 + 4.2).mayBreak();
}

/** Smaller than on the map, so that rows of the legend keep apart. */
const ADDED_KEY_HALF_MM = 0.75 * SYMBOL_HALF_MM;

/** Symbols with their counts, lines, and the ramp. */
export function legend(input: FigureInput, widthMm: number): Block {
  const block = new BlockBuilder(widthMm).heading(
    `LEGEND · ${input.isDifference === true ? 'CHANGE OF RADON' : 'RADON'} IN SOIL GAS, ${unitText(input.radonUnit)}`,
  );
  drawRamp(block, input);
  if (input.surface === null) {
    block
      .paragraph(sayInUnits(input.noSurfaceReason ?? 'No surface has been computed.', input), {
        face: 'italic',
        colour: SOFT_INK,
      })
      .gap(0.8);
  }
  for (const kind of SYMBOL_KINDS) {
    const count = input.probes.filter((probe) => probe.symbol === kind).length;
    if (count === 0) continue;
    keyRow(
      block,
      (yMm) => drawSymbol(kind, [(KEY_WIDTH_MM - 2) / 2, yMm], SYMBOL_HALF_MM),
      `${probeSymbol(kind).name} (${count})`,
    );
  }
  const added = input.probes.filter((probe) => probe.added === true);
  if (added.length > 0) {
    keyRow(
      block,
      (yMm) => drawAddedMark([(KEY_WIDTH_MM - 2) / 2, yMm], ADDED_KEY_HALF_MM),
      `${ADDED_MARK.name}: ${added.map((probe) => probe.label).join(', ')}`,
    );
  }
  if (input.lot !== null) {
    const area = input.lotAreaM2 === null ? '' : `, ${areaText(input.lotAreaM2, input.frame)}`;
    keyRow(block, lineKey(LOT_KEY), `Lot line${area}`);
  }
  if (input.footprint !== null) keyRow(block, lineKey(FOOTPRINT_LINE), 'Footprint of the planned building');
  if (input.keepOuts.length > 0) keyRow(block, keepOutKey, 'Keep-out with its buffer: no probe driven');
  if ((input.weakGround ?? null) !== null && input.surface !== null) {
    keyRow(block, weakKey, input.weakGround?.statement ?? '');
  }
  return block.build('legend', true);
}

/** Samples that do not count as read. The first `most` are named; the rest are counted and stand in the table. */
export function exceptions(input: FigureInput, widthMm: number, most: number): Block | null {
  const all = input.exceptions;
  if (all.length === 0) return null;
  const block = new BlockBuilder(widthMm).heading(`FLAGGED AND LEFT OUT (${all.length})`);
  // Probes of which the same is said share a line.
  const labels = new Map<string, string[]>();
  for (const { label, text } of all) labels.set(text, [...(labels.get(text) ?? []), label]);
  const lines = [...labels];
  for (const [text, names] of lines.slice(0, most))
    block.paragraph(`${names.join(', ')}: ${sayInUnits(text, input)}`, SMALL);
  const more = lines.slice(most).reduce((sum, [, names]) => sum + names.length, 0);
  if (more > 0) {
    block.paragraph(`and ${more} more: see the table of samples.`, { ...SMALL, face: 'italic' });
  }
  return block.build('exceptions', true);
}

export function cautions(input: FigureInput, widthMm: number): Block {
  const block = new BlockBuilder(widthMm).heading('CAUTIONS');
  for (const caution of input.cautions) block.paragraph(caution, { ...SMALL, role: 'caution' }).gap(0.35);
  return block.build('cautions', true);
}

export function methodBlock(input: FigureInput, widthMm: number): Block | null {
  if (input.surface === null) return null;
  const block = new BlockBuilder(widthMm).heading('METHOD');
  for (const line of input.methodLines ?? describeSurface(input.surface))
    block.paragraph(sayInUnits(line, input), { ...SMALL, role: 'method' }).gap(0.5);
  return block.build('method', false);
}

export function qualityBlock(input: FigureInput, widthMm: number): Block {
  return new BlockBuilder(widthMm)
    .heading('QUALITY')
    .paragraph(input.quality ?? 'No duplicates, blanks or calibration are on record.', {
      ...SMALL,
      role: 'quality',
    })
    .build('quality', false);
}

const SHEET_WORDS = [
  ['client', 'For'],
  ['address', 'Address:'],
  ['jobNumber', 'Job'],
  ['sheetNumber', 'Sheet'],
  ['revision', 'Sheet revision'],
  ['date', 'Dated'],
  ['reviewedBy', 'Reviewed by'],
  ['organisation', 'Prepared at'],
] as const;

/** What the maker of the sheet has to say beside the results. */
export function notesBlock(input: FigureInput, widthMm: number): Block | null {
  const notes = input.sheet?.notes;
  if (notes === undefined) return null;
  return new BlockBuilder(widthMm)
    .heading('NOTES')
    .paragraph(notes, { ...SMALL, role: 'notes' })
    .build('notes', false);
}

/** What ties the sheet to the ground and to its data: a corner, heights, the lot's origin, the files read. */
export function sheetDataBlock(input: FigureInput, widthMm: number, hasTitleBlock: boolean): Block {
  const { frame, lot } = input;
  const sheet = hasTitleBlock ? {} : (input.sheet ?? {});
  const people = SHEET_WORDS.flatMap(([field, word]) => {
    const text = sheet[field];
    return text === undefined ? [] : [`${word} ${text}`];
  });
  const lines = people.length === 0 ? [] : [`${people.join('; ')}.`];
  const corner = lot === null ? undefined : southWestCorner(lot);
  if (corner !== undefined) {
    const [x, y] = corner.map((m, i) => (frame.originNative[i] ?? 0) + m / frame.metresPerUnit) as [
      number,
      number,
    ];
    lines.push(
      `South-west corner of the lot: x ${formatCoordinate(x, 2)}, y ${formatCoordinate(y, 2)} ${frame.unitLabel}.`,
    );
  }
  if ((input.lotSource ?? null) !== null) lines.push(`Lot line: ${input.lotSource}.`);
  lines.push('Heights are not recorded; there is no vertical datum.');
  for (const { name, sha256 } of input.dataFiles ?? [])
    lines.push(`Data: ${name}, SHA-256 ${sha256.slice(0, 16)}.`);
  const block = new BlockBuilder(widthMm).heading('SHEET DATA');
  for (const line of lines) block.paragraph(line, { ...SMALL, role: 'sheet-data' });
  return block.build('sheet-data', false);
}

function southWestCorner(lot: NonNullable<FigureInput['lot']>) {
  return [...lot].sort((a, b) => a[0] + a[1] - (b[0] + b[1]))[0];
}

/** What the map could not show. */
export function remarksBlock(remarks: readonly string[], widthMm: number): Block | null {
  if (remarks.length === 0) return null;
  const block = new BlockBuilder(widthMm).heading('ON THIS MAP');
  for (const remark of remarks) block.paragraph(remark, SMALL);
  return block.build('remarks', true);
}
