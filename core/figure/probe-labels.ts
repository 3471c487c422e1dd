/** Name and value beside every probe, none over another; a thin leader where the place is further off. */
import type { Measured } from '../contract/model.ts';
import type { SymbolKind } from '../contract/symbols.ts';
import { contains, inflate, lineBoxes, type Obstacles } from './obstacles.ts';
import type { PointMm, RectMm, SceneNode, TextNode } from './scene.ts';
import { polylineSegments } from './scene.ts';
import { INK, LEADER_LINE, PAPER, SYMBOL_HALF_MM } from './style.ts';
import { CAP_HEIGHT, DESCENT, MM_PER_PT, measureText, shortenText } from './text.ts';
import { formatMeasured } from './words.ts';

export interface ProbeMark {
  readonly label: string;
  readonly symbol: SymbolKind;
  readonly measured: Measured | null;
  readonly leftOut?: Measured | null;
  readonly atMm: PointMm;
  /** Added after the first results. */
  readonly added?: boolean;
}

export interface PlacedLabels {
  readonly nodes: readonly SceneNode[];
  /** Labels of probes whose label found no room; the table still lists them. */
  readonly unplaced: readonly string[];
}

const NAME_PT = 6;
const VALUE_PT = 7.5;
const LINE_GAP_MM = 0.75;
const MAX_WIDTH_MM = 26;
/** Wider than the halo, which would else rub out a neighbour's letters. */
const CLEARANCE_MM = 0.45;
const HALO = { colour: PAPER, widthMm: 0.4 };

/** Directions in order of liking: right, left, above, below, then the corners (common practice in lettering maps). */
const DIRECTIONS: readonly (readonly [number, number])[] = [
  [1, -0.35],
  [1, 0.35],
  [-1, -0.35],
  [-1, 0.35],
  [0, -1],
  [0, 1],
  [0.75, -1],
  [0.75, 1],
  [-0.75, -1],
  [-0.75, 1],
];
/** Distances from the symbol's edge; beyond the second a leader is drawn. */
const RINGS_MM = [0.5, 1.3, 3.5, 6, 9, 13];
const FIRST_LEADER_RING = 2;

interface LabelText {
  readonly name: string;
  readonly value: string;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** A value that was left out stands on the map all the same: nobody is to take the place for empty. */
function valueText({ measured, leftOut }: ProbeMark, unit: 'kBq/m3' | 'pCi/L'): string {
  if (leftOut && leftOut.kind !== 'none') return `${formatMeasured(leftOut, unit)} left out`;
  return measured === null ? '' : formatMeasured(measured, unit);
}

function composeLabel(mark: ProbeMark, unit: 'kBq/m3' | 'pCi/L'): LabelText {
  const name = shortenText(mark.label, 'regular', NAME_PT, MAX_WIDTH_MM);
  const value = valueText(mark, unit);
  const nameHeight = CAP_HEIGHT * NAME_PT * MM_PER_PT;
  const valueHeight = CAP_HEIGHT * VALUE_PT * MM_PER_PT;
  const descent = DESCENT * VALUE_PT * MM_PER_PT;
  return {
    name,
    value,
    widthMm: Math.max(measureText(name, 'regular', NAME_PT), measureText(value, 'semibold', VALUE_PT)),
    heightMm: (value === '' ? nameHeight : nameHeight + LINE_GAP_MM + valueHeight) + descent,
  };
}

function candidateBox(
  mark: ProbeMark,
  text: LabelText,
  direction: readonly [number, number],
  ringMm: number,
): RectMm {
  const { atMm: at } = mark;
  const halfMm = halfOf(mark);
  const [dx, dy] = direction;
  const reachX = halfMm + ringMm + text.widthMm / 2;
  const reachY = halfMm + ringMm + text.heightMm / 2;
  return {
    xMm: at[0] + dx * reachX - text.widthMm / 2,
    yMm: at[1] + dy * reachY - text.heightMm / 2,
    widthMm: text.widthMm,
    heightMm: text.heightMm,
  };
}

/** Where the leader meets the label: the point of the box nearest to the probe. */
function nearestPoint(box: RectMm, [x, y]: PointMm): PointMm {
  return [
    Math.min(Math.max(x, box.xMm), box.xMm + box.widthMm),
    Math.min(Math.max(y, box.yMm), box.yMm + box.heightMm),
  ];
}

function leaderOf(box: RectMm, at: PointMm): readonly [PointMm, PointMm] {
  const end = nearestPoint(inflate(box, 0.3), at);
  const length = Math.hypot(end[0] - at[0], end[1] - at[1]);
  const start = SYMBOL_HALF_MM / Math.max(length, SYMBOL_HALF_MM);
  return [[at[0] + (end[0] - at[0]) * start, at[1] + (end[1] - at[1]) * start], end];
}

/** Half the size of what stands at the probe. */
function halfOf({ added }: ProbeMark): number {
  return added === true ? ADDED_REACH * SYMBOL_HALF_MM : SYMBOL_HALF_MM;
}

/** The mark of an added probe stands this much farther out than its symbol. */
const ADDED_REACH = 1.55;

export function symbolBox([x, y]: PointMm, halfMm = SYMBOL_HALF_MM): RectMm {
  return {
    xMm: x - halfMm,
    yMm: y - halfMm,
    widthMm: 2 * halfMm,
    heightMm: 2 * halfMm,
  };
}

interface Place {
  readonly box: RectMm;
  readonly leader: readonly [PointMm, PointMm] | null;
}

/** The first free place; one without a leader that keeps clear of `lines` comes before one that does not. */
function findPlace(
  mark: ProbeMark,
  text: LabelText,
  within: RectMm,
  obstacles: Obstacles,
  lines: Obstacles,
  own: RectMm,
): Place | null {
  let second: Place | null = null;
  for (const [ring, ringMm] of RINGS_MM.entries()) {
    if (ring === FIRST_LEADER_RING && second !== null) return second;
    for (const direction of DIRECTIONS) {
      const box = candidateBox(mark, text, direction, ringMm);
      if (!contains(within, box) || obstacles.hits(inflate(box, CLEARANCE_MM), own)) continue;
      if (ring < FIRST_LEADER_RING) {
        if (!lines.hits(box)) return { box, leader: null };
        second ??= { box, leader: null };
        continue;
      }
      const leader = leaderOf(box, mark.atMm);
      const free = lineBoxes(leader[0], leader[1], 0.15).every((piece) => !obstacles.hits(piece, own));
      if (free) return { box, leader };
    }
  }
  return second;
}

function drawLabel(box: RectMm, text: LabelText, at: PointMm): TextNode[] {
  const right = box.xMm >= at[0];
  const left = box.xMm + box.widthMm <= at[0];
  const anchor = right ? 'start' : left ? 'end' : 'middle';
  const xMm = right ? box.xMm : left ? box.xMm + box.widthMm : box.xMm + box.widthMm / 2;
  const nameBaseline = box.yMm + CAP_HEIGHT * NAME_PT * MM_PER_PT;
  const common = { kind: 'text', xMm, anchor, colour: INK, halo: HALO, role: 'probe-label' } as const;
  const name: TextNode = { ...common, text: text.name, yMm: nameBaseline, sizePt: NAME_PT, face: 'regular' };
  if (text.value === '') return [name];
  const valueBaseline = box.yMm + box.heightMm - DESCENT * VALUE_PT * MM_PER_PT;
  return [name, { ...common, text: text.value, yMm: valueBaseline, sizePt: VALUE_PT, face: 'semibold' }];
}

/**
 * Places a label for every probe inside `within` and adds symbols, labels and leaders to `obstacles`.
 * `lines` are those a label had better not cover, such as the lot line.
 * Probes in the tightest company choose first; a later one takes what is left.
 */
export function placeProbeLabels(
  marks: readonly ProbeMark[],
  within: RectMm,
  obstacles: Obstacles,
  lines: Obstacles,
  unit: 'kBq/m3' | 'pCi/L',
): PlacedLabels {
  const boxes = marks.map((mark) => symbolBox(mark.atMm, halfOf(mark)));
  for (const box of boxes) obstacles.add(box);
  const crowd = marks.map(
    (mark) =>
      marks.filter((other) => Math.hypot(other.atMm[0] - mark.atMm[0], other.atMm[1] - mark.atMm[1]) < 14)
        .length,
  );
  const order = marks.map((_, i) => i).sort((a, b) => (crowd[b] ?? 0) - (crowd[a] ?? 0) || a - b);
  const leaders: SceneNode[] = [];
  const labels: SceneNode[] = [];
  const unplaced: string[] = [];
  for (const i of order) {
    const mark = marks[i];
    const own = boxes[i];
    if (mark === undefined || own === undefined) continue;
    const text = composeLabel(mark, unit);
    const place = findPlace(mark, text, within, obstacles, lines, own);
    if (place === null) {
      unplaced.push(mark.label);
      continue;
    }
    obstacles.add(place.box);
    if (place.leader !== null) {
      obstacles.addLine(place.leader[0], place.leader[1]);
      leaders.push({ kind: 'path', segments: polylineSegments(place.leader), stroke: LEADER_LINE });
    }
    labels.push(...drawLabel(place.box, text, mark.atMm));
  }
  return { nodes: [...leaders, ...labels], unplaced };
}
