/** Outlines of common plans from their measures. */

import type { PositionM } from '../contract/model.ts';
import type { FootprintShape } from '../contract/siting.ts';
import { AppError } from '../errors.ts';

/**
 * Anticlockwise, its bounding rectangle centred on `centre`, the length eastward. An L lacks its north-east corner; a U is
 * open to the north, in the middle.
 * @throws AppError BAD_INPUT where a cut leaves nothing of a wing
 */
export function shapeRing(shape: FootprintShape, [cx, cy]: PositionM): PositionM[] {
  const { lengthM: l, widthM: w } = shape;
  checkLength(l, 'lengthM', 'Length');
  checkLength(w, 'widthM', 'Width');
  const at = (x: number, y: number): PositionM => [cx - l / 2 + x, cy - w / 2 + y];
  if (shape.kind === 'rectangle') return [at(0, 0), at(l, 0), at(l, w), at(0, w)];
  const { cutLengthM: a, cutWidthM: b } = shape;
  checkCut(a, l, 'cutLengthM', 'long');
  checkCut(b, w, 'cutWidthM', 'deep');
  if (shape.kind === 'L') return [at(0, 0), at(l, 0), at(l, w - b), at(l - a, w - b), at(l - a, w), at(0, w)];
  const [from, to] = [(l - a) / 2, (l + a) / 2];
  return [at(0, 0), at(l, 0), at(l, w), at(to, w), at(to, w - b), at(from, w - b), at(from, w), at(0, w)];
}

function checkLength(value: number, field: string, name: string): void {
  if (!(value > 0))
    throw new AppError('BAD_INPUT', `${name} ${value} m of the footprint: must be above 0.`, { field });
}

function checkCut(cutM: number, wholeM: number, field: string, how: string): void {
  if (!(cutM > 0 && cutM < wholeM))
    throw new AppError(
      'BAD_INPUT',
      `A cut ${cutM} m ${how} in a footprint of ${wholeM} m: must be above 0 and leave some of it.`,
      { field },
    );
}
