/** The round of a working day on the map. */
import { contains, overlaps } from './obstacles.ts';
import type { PointMm, RectMm, SceneNode, TextNode } from './scene.ts';
import { polylineSegments, rectSegments } from './scene.ts';
import { INK, PAPER, SMALL_PT, SOFT_INK } from './style.ts';
import { textBox } from './text.ts';

const LINE = { colour: SOFT_INK, widthMm: 0.22, dashMm: [1.6, 0.8] } as const;
/** Shorter legs carry no arrow: it would hide them. */
const LEAST_LEG_MM = 7;
const ARROW_MM = 1.7;
const START_MM = 1.5;

/** Legs with an arrow in the middle of each that is long enough. */
export function drawWalk(legs: readonly PointMm[]): SceneNode[] {
  const arrows = legs.slice(1).flatMap((to, i): SceneNode[] => {
    const from = legs[i] as PointMm;
    const lengthMm = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (lengthMm < LEAST_LEG_MM) return [];
    const [ux, uy] = [(to[0] - from[0]) / lengthMm, (to[1] - from[1]) / lengthMm];
    const tip: PointMm = [
      (from[0] + to[0]) / 2 + (ux * ARROW_MM) / 2,
      (from[1] + to[1]) / 2 + (uy * ARROW_MM) / 2,
    ];
    const wing = (side: number): PointMm => [
      tip[0] - ux * ARROW_MM - side * uy * 0.4 * ARROW_MM,
      tip[1] - uy * ARROW_MM + side * ux * 0.4 * ARROW_MM,
    ];
    return [{ kind: 'path', segments: polylineSegments([tip, wing(1), wing(-1)], true), fill: SOFT_INK }];
  });
  return [{ kind: 'path', segments: polylineSegments(legs), stroke: LINE }, ...arrows];
}

export interface DrawnStart {
  readonly nodes: readonly SceneNode[];
  /** What no label may cover. */
  readonly boxes: readonly RectMm[];
}

/** A black square where the round begins and ends, named on the side where no probe stands. */
export function drawStart([xMm, yMm]: PointMm, probes: readonly RectMm[], within: RectMm): DrawnStart {
  const side = 2 * START_MM;
  const square = { xMm: xMm - START_MM, yMm: yMm - START_MM, widthMm: side, heightMm: side };
  const named = ([dx, dy]: readonly [number, number]): TextNode => ({
    kind: 'text',
    text: 'Start',
    xMm: xMm + dx * (START_MM + 0.8),
    yMm: yMm + (dy < 0 ? -START_MM - 0.4 : START_MM + 2.2),
    sizePt: SMALL_PT,
    face: 'semibold',
    colour: INK,
    anchor: dx > 0 ? 'start' : 'end',
    halo: { colour: PAPER, widthMm: 0.4 },
    role: 'start',
  });
  const choices = [
    [1, -1],
    [-1, -1],
    [1, 1],
    [-1, 1],
  ] as const;
  const isFree = (text: TextNode) => {
    const box = textBox(text);
    return contains(within, box) && !probes.some((probe) => overlaps(probe, box));
  };
  const text = choices.map(named).find(isFree) ?? named(choices[0]);
  return {
    nodes: [
      {
        kind: 'path',
        segments: rectSegments(square),
        fill: INK,
        stroke: { colour: PAPER, widthMm: 0.4 },
      },
      text,
    ],
    boxes: [square, textBox(text)],
  };
}
