import type { PositionM } from '../../core/contract/model.ts';
import type { AppState } from '../state/app-state.ts';
import { type Camera, gridStep } from './furniture.ts';
import { type Aim, aimAt, snapTargets } from './snap.ts';

export interface Pointer {
  readonly atM: PositionM | null;
  /** Alt is held: nothing takes hold of it. */
  readonly isFree: boolean;
}

export const NO_POINTER: Pointer = { atM: null, isFree: false };
const SNAP_REACH_PX = 11;

/** Where a click would put the next corner of the drawing, or the place a form waits for; null without either. */
export function aimOf(
  { view, drawing, aids, picking }: Pick<AppState, 'view' | 'drawing' | 'aids' | 'picking'>,
  camera: Camera | null,
  { atM, isFree }: Pointer,
): Aim | null {
  if (view === null || (drawing === null && picking === null) || camera === null || atM === null) return null;
  if (isFree) return { atM, kind: null };
  const points = drawing?.points ?? [];
  return aimAt(atM, snapTargets(view, points), {
    lastM: points.at(-1) ?? null,
    beforeM: points.at(-2) ?? null,
    reachM: SNAP_REACH_PX / camera.pxPerM,
    frame: view.frame,
    gridStep: gridStep(camera, view.frame),
    snap: aids.snap,
    rightAngles: aids.rightAngles && drawing !== null,
  });
}
