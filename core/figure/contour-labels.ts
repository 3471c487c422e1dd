/** Levels written along their lines: on straight stretches, upright, with the line broken under the figures. */
import { contains, lineBoxes, type Obstacles } from './obstacles.ts';
import type { PointMm, RectMm, TextNode } from './scene.ts';
import { INK, PAPER } from './style.ts';
import { CAP_HEIGHT, MM_PER_PT, measureText } from './text.ts';

export interface LabelledLine {
  readonly text: string;
  readonly heavy: boolean;
  /** A closed line repeats its first point at the end. */
  readonly pointsMm: readonly PointMm[];
}

export interface LineWithLabels {
  readonly pieces: readonly (readonly PointMm[])[];
  readonly labels: readonly TextNode[];
}

const SIZE_PT = 6.5;
const STEP_MM = 1.5;
/** Distance between two labels of one line. */
const REPEAT_MM = 85;
/** How far a line may stray from the straight under a label. */
const STRAY_MM = 0.55;
const PADDING_MM = 0.7;

function cumulate(points: readonly PointMm[]): number[] {
  const lengths = [0];
  for (let i = 1; i < points.length; i++) {
    const [ax, ay] = points[i - 1] as PointMm;
    const [bx, by] = points[i] as PointMm;
    lengths.push((lengths[i - 1] as number) + Math.hypot(bx - ax, by - ay));
  }
  return lengths;
}

function pointAt(points: readonly PointMm[], lengths: readonly number[], s: number): PointMm {
  let i = lengths.findIndex((length) => length >= s);
  if (i <= 0) i = i === 0 ? 1 : points.length - 1;
  const from = lengths[i - 1] as number;
  const span = (lengths[i] as number) - from;
  const f = span === 0 ? 0 : Math.min(1, Math.max(0, (s - from) / span));
  const [ax, ay] = points[i - 1] as PointMm;
  const [bx, by] = points[i] as PointMm;
  return [ax + (bx - ax) * f, ay + (by - ay) * f];
}

function slice(points: readonly PointMm[], lengths: readonly number[], from: number, to: number): PointMm[] {
  const inner = points.filter((_, i) => (lengths[i] as number) > from && (lengths[i] as number) < to);
  return [pointAt(points, lengths, from), ...inner, pointAt(points, lengths, to)];
}

function strayFromChord(points: readonly PointMm[]): number {
  const [ax, ay] = points[0] as PointMm;
  const [bx, by] = points[points.length - 1] as PointMm;
  const length = Math.hypot(bx - ax, by - ay);
  if (length === 0) return Number.POSITIVE_INFINITY;
  return Math.max(...points.map(([x, y]) => Math.abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / length));
}

interface Spot {
  readonly from: number;
  readonly to: number;
  readonly stray: number;
  readonly boxes: readonly RectMm[];
  readonly text: TextNode;
}

function spotAt(line: LabelledLine, lengths: readonly number[], from: number, widthMm: number): Spot | null {
  const to = from + widthMm + 2 * PADDING_MM;
  const run = slice(line.pointsMm, lengths, from, to);
  const stray = strayFromChord(run);
  if (stray > STRAY_MM) return null;
  const [ax, ay] = run[0] as PointMm;
  const [bx, by] = run[run.length - 1] as PointMm;
  let angle = (Math.atan2(by - ay, bx - ax) * 180) / Math.PI;
  if (angle > 90) angle -= 180;
  if (angle <= -90) angle += 180;
  const radians = (angle * Math.PI) / 180;
  const capHeight = CAP_HEIGHT * SIZE_PT * MM_PER_PT;
  const text: TextNode = {
    kind: 'text',
    text: line.text,
    // The middle of the capitals lies on the line.
    xMm: (ax + bx) / 2 - (Math.sin(radians) * capHeight) / 2,
    yMm: (ay + by) / 2 + (Math.cos(radians) * capHeight) / 2,
    sizePt: SIZE_PT,
    face: line.heavy ? 'semibold' : 'regular',
    colour: INK,
    anchor: 'middle',
    rotationDeg: angle,
    halo: { colour: PAPER, widthMm: 0.3 },
    role: 'contour-label',
  };
  return { from, to, stray, text, boxes: lineBoxes([ax, ay], [bx, by], capHeight / 2 + 0.2) };
}

/**
 * The line cut open under as many labels as it has free, straight room for; labels are added to `obstacles`.
 * `outlines` are lot and footprint, which no label may cover.
 */
export function labelLine(
  line: LabelledLine,
  within: RectMm,
  obstacles: Obstacles,
  outlines: Obstacles,
): LineWithLabels {
  const lengths = cumulate(line.pointsMm);
  const total = lengths[lengths.length - 1] ?? 0;
  const widthMm = measureText(line.text, line.heavy ? 'semibold' : 'regular', SIZE_PT);
  const needed = widthMm + 2 * PADDING_MM;
  if (line.pointsMm.length < 2 || total < 2.2 * needed) return { pieces: [line.pointsMm], labels: [] };

  const wanted = Math.max(1, Math.round(total / REPEAT_MM));
  const chosen: Spot[] = [];
  for (let part = 0; part < wanted; part++) {
    const start = (total * part) / wanted;
    const end = (total * (part + 1)) / wanted - needed;
    let best: Spot | null = null;
    for (let s = start + 0.5; s <= end - 0.5; s += STEP_MM) {
      const spot = spotAt(line, lengths, s, widthMm);
      if (spot === null || (best !== null && spot.stray >= best.stray)) continue;
      const free = spot.boxes.every(
        (box) => contains(within, box) && !obstacles.hits(box) && !outlines.hits(box),
      );
      if (free) best = spot;
    }
    if (best === null) continue;
    for (const box of best.boxes) obstacles.add(box);
    chosen.push(best);
  }

  const pieces: (readonly PointMm[])[] = [];
  let from = 0;
  for (const spot of chosen) {
    if (spot.from > from) pieces.push(slice(line.pointsMm, lengths, from, spot.from));
    from = spot.to;
  }
  if (from < total) pieces.push(from === 0 ? line.pointsMm : slice(line.pointsMm, lengths, from, total));
  return { pieces, labels: chosen.map((spot) => spot.text) };
}
