/** Drawing a ring or a line by clicks: pure steps and measures. */
import type { PositionM } from '../../core/contract/model.ts';
import type { Drawing } from '../state/app-state.ts';
import { distanceM, ringAreaM2 } from './geometry.ts';

/** @param isExact - typed or held by a snap; a pointed corner is kept to the centimetre: no hand points better */
export function withCorner(drawing: Drawing, at: PositionM, isExact = false): Drawing {
  const corner: PositionM = isExact ? at : [Math.round(at[0] * 100) / 100, Math.round(at[1] * 100) / 100];
  const last = drawing.points.at(-1);
  if (last && distanceM(last, corner) < (isExact ? 1e-4 : 0.01)) return drawing;
  return { ...drawing, points: [...drawing.points, corner] };
}

export function withoutLastCorner(drawing: Drawing): Drawing {
  return { ...drawing, points: drawing.points.slice(0, -1) };
}

export interface DrawingMeasures {
  readonly corners: number;
  readonly lastSideM: number | null;
  /** Round a ring, or along a line. */
  readonly perimeterM: number;
  readonly areaM2: number;
}

/** With the pointer as the corner that would come next. */
export function measureDrawing(drawing: Drawing, pointerM: PositionM | null): DrawingMeasures {
  const trail = pointerM ? [...drawing.points, pointerM] : drawing.points;
  const [before, last] = [trail.at(-2), trail.at(-1)];
  let perimeterM = 0;
  trail.forEach((point, i) => {
    perimeterM += distanceM(point, trail[i + 1] ?? point);
  });
  const isRing = drawing.shape === 'polygon' && trail.length >= 3;
  if (isRing && trail[0] && last) perimeterM += distanceM(last, trail[0]);
  return {
    corners: drawing.points.length,
    lastSideM: before && last ? distanceM(before, last) : null,
    perimeterM,
    areaM2: isRing ? ringAreaM2(trail) : 0,
  };
}
