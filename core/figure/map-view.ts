/** How the ground lies on the sheet: one true scale, grid north up. */

import type { PositionM, ProjectFrame } from '../contract/model.ts';
import { isFootFrame } from '../contract/project-words.ts';
import type { PointMm, RectMm } from './scene.ts';

/** Denominators an engineer's metric rule carries, by decades (common practice). */
const METRIC_STEPS = [1, 2, 2.5, 3, 4, 5];
/** Feet to the inch on an engineer's rule, by decades (common practice). */
const FOOT_STEPS = [1, 2, 3, 4, 5, 6];

export interface MapScale {
  readonly mmPerM: number;
  /** '1:250' or '1 in = 20 ft (1:240)'. */
  readonly text: string;
}

export interface MapView {
  readonly frameRect: RectMm;
  readonly scale: MapScale;
  readonly centreM: PositionM;
}

export interface BoundsM {
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
}

/** The smallest box around the positions; null where there is none that is finite. */
export function boundsOf(positions: readonly PositionM[]): BoundsM | null {
  const finite = positions.filter(([x, y]) => Number.isFinite(x) && Number.isFinite(y));
  if (finite.length === 0) return null;
  const extreme = (pick: (...values: number[]) => number, axis: 0 | 1): number =>
    finite.reduce((found, position) => pick(found, position[axis]), (finite[0] as PositionM)[axis]);
  return {
    minX: extreme(Math.min, 0),
    minY: extreme(Math.min, 1),
    maxX: extreme(Math.max, 0),
    maxY: extreme(Math.max, 1),
  };
}

function scaleOf(step: number, frame: ProjectFrame): MapScale {
  if (!isFootFrame(frame)) return { mmPerM: 1000 / step, text: `1:${step}` };
  return {
    mmPerM: 25.4 / (step * frame.metresPerUnit),
    text: `1 in = ${step} ft (1:${step * 12})`,
  };
}

/** The largest rule scale at which a ground of the given size fits into the paper. */
export function chooseScale(
  widthM: number,
  heightM: number,
  paper: { readonly widthMm: number; readonly heightMm: number },
  frame: ProjectFrame,
): MapScale {
  const [steps, firstDecade] = isFootFrame(frame) ? [FOOT_STEPS, 1] : [METRIC_STEPS, 1];
  for (let decade = firstDecade; decade < 9; decade++) {
    for (const step of steps) {
      const scale = scaleOf(Math.round(step * 10 ** decade), frame);
      if (widthM * scale.mmPerM <= paper.widthMm && heightM * scale.mmPerM <= paper.heightMm) return scale;
    }
  }
  return scaleOf(10 ** 9, frame);
}

/** Puts the ground in the middle of the map frame, leaving `marginMm` around it. */
export function fitMap(
  bounds: BoundsM | null,
  frameRect: RectMm,
  marginMm: number,
  frame: ProjectFrame,
): MapView {
  const ground = bounds ?? { minX: 0, minY: 0, maxX: 0, maxY: 0 };
  const paper = { widthMm: frameRect.widthMm - 2 * marginMm, heightMm: frameRect.heightMm - 2 * marginMm };
  // A single probe has no size; a sheet of 20 m around it can still be read.
  const widthM = Math.max(ground.maxX - ground.minX, 10);
  const heightM = Math.max(ground.maxY - ground.minY, 10);
  return {
    frameRect,
    scale: chooseScale(widthM, heightM, paper, frame),
    centreM: [(ground.minX + ground.maxX) / 2, (ground.minY + ground.maxY) / 2],
  };
}

/** Project metres to millimetres on the page. */
export function toPage(view: MapView, [xM, yM]: PositionM): PointMm {
  const { frameRect, scale, centreM } = view;
  return [
    frameRect.xMm + frameRect.widthMm / 2 + (xM - centreM[0]) * scale.mmPerM,
    frameRect.yMm + frameRect.heightMm / 2 - (yM - centreM[1]) * scale.mmPerM,
  ];
}

/** 1, 2 or 5 times a power of ten, not below `value`. */
export function niceStep(value: number): number {
  const decade = 10 ** Math.floor(Math.log10(value));
  const step = [1, 2, 5].find((s) => s * decade >= value * (1 - 1e-9)) ?? 10;
  return step * decade;
}

/** Multiples of `step` from `from` to `to`. */
export function multiplesBetween(from: number, to: number, step: number): number[] {
  const first = Math.ceil(from / step - 1e-9);
  const last = Math.floor(to / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => (first + i) * step);
}
