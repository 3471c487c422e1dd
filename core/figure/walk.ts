/** The round of a working day on the map. */
import type { PointMm, SceneNode } from './scene.ts';
import { polylineSegments, rectSegments } from './scene.ts';
import { INK, PAPER, SMALL_PT, SOFT_INK } from './style.ts';

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

/** A black square where the round begins and ends, named. */
export function drawStart(legs: readonly PointMm[]): SceneNode[] {
  const [start] = legs;
  if (start === undefined) return [];
  const [xMm, yMm] = start;
  const side = 2 * START_MM;
  return [
    {
      kind: 'path',
      segments: rectSegments({ xMm: xMm - START_MM, yMm: yMm - START_MM, widthMm: side, heightMm: side }),
      fill: INK,
      stroke: { colour: PAPER, widthMm: 0.4 },
    },
    {
      kind: 'text',
      text: 'Start',
      xMm: xMm + START_MM + 0.8,
      yMm: yMm - START_MM - 0.4,
      sizePt: SMALL_PT,
      face: 'semibold',
      colour: INK,
      anchor: 'start',
      halo: { colour: PAPER, widthMm: 0.4 },
      role: 'start',
    },
  ];
}
