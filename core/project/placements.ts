/** Places kept for the footprint, one of them chosen at most. */
import type { KeptPlacement, Pose, RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { distanceMovedM, placeRing } from '../site/placement.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { PlacementRow } from '../store/rows.ts';

/** Nearer than this two placements are one: what can be staked out. */
const SAME_PLACE_M = 0.005;
const SAME_TURN_DEG = 0.05;

export function readPlacements(store: ReadableStore, drawnRing: RingM): KeptPlacement[] {
  return store.rows('placement').map((row) => {
    const pose = poseOf(row);
    return {
      id: row.id,
      label: row.label,
      pose,
      ring: placeRing(drawnRing, pose),
      distanceMovedM: distanceMovedM(pose),
      chosen: row.chosen === 1,
    };
  });
}

export function poseOf(row: PlacementRow): Pose {
  return { dxM: row.dx_m, dyM: row.dy_m, turnDeg: row.turn_deg, mirrored: row.mirrored === 1 };
}

/**
 * Keeps a place. One that is kept already is not doubled; it is chosen where that is asked for.
 * @param input.label the next free letter where null
 * @throws AppError BAD_INPUT without a footprint, or where the name is taken
 */
export function keepPlacement(
  store: ProjectStore,
  input: { readonly label: string | null; readonly pose: Pose; readonly choose: boolean },
): void {
  const [footprint] = store.rows('footprint');
  if (footprint === undefined)
    throw new AppError('BAD_INPUT', 'There is no footprint to place: set it first.');
  const kept = store.rows('placement');
  const pose = { ...input.pose, turnDeg: ((input.pose.turnDeg % 360) + 360) % 360 };
  const same = kept.find((row) => isSamePlace(poseOf(row), pose));
  if (same !== undefined) {
    if (input.choose) choosePlacement(store, same.id);
    return;
  }
  const label = input.label?.trim() || nextLetter(kept);
  if (kept.some((row) => row.label.toLowerCase() === label.toLowerCase()))
    throw new AppError('BAD_INPUT', `A placement "${label}" is kept already: choose another name.`, {
      field: 'label',
    });
  const what = input.choose ? 'Keep and choose' : 'Keep';
  store.change('placement.keep', `${what} placement ${label}`, (tx) => {
    if (input.choose)
      for (const row of kept) if (row.chosen === 1) tx.update('placement', row.id, { chosen: 0 });
    tx.insert('placement', {
      footprint_id: footprint.id,
      label,
      dx_m: pose.dxM,
      dy_m: pose.dyM,
      turn_deg: pose.turnDeg,
      mirrored: pose.mirrored ? 1 : 0,
      chosen: input.choose ? 1 : 0,
    });
  });
}

export function isSamePlace(a: Pose, b: Pose): boolean {
  const turn = Math.abs(((a.turnDeg - b.turnDeg + 540) % 360) - 180);
  return (
    a.mirrored === b.mirrored &&
    Math.hypot(a.dxM - b.dxM, a.dyM - b.dyM) < SAME_PLACE_M &&
    turn < SAME_TURN_DEG
  );
}

/** A, B, ... Z, then P27 and on. */
function nextLetter(kept: readonly PlacementRow[]): string {
  const taken = new Set(kept.map((row) => row.label.toUpperCase()));
  for (let n = 0; ; n++) {
    const label = n < 26 ? String.fromCharCode(65 + n) : `P${n + 1}`;
    if (!taken.has(label)) return label;
  }
}

/**
 * @param id null: the footprint stands as drawn again
 * @throws AppError NOT_FOUND
 */
export function choosePlacement(store: ProjectStore, id: string | null): void {
  const kept = store.rows('placement');
  const next = kept.find((row) => row.id === id);
  if (id !== null && next === undefined) throw noPlacement(id);
  if (kept.every((row) => (row.chosen === 1) === (row.id === id))) return;
  const summary = next === undefined ? 'Put the footprint back as drawn' : `Choose placement ${next.label}`;
  store.change('placement.choose', summary, (tx) => {
    for (const row of kept) if (row.chosen === 1) tx.update('placement', row.id, { chosen: 0 });
    if (next !== undefined) tx.update('placement', next.id, { chosen: 1 });
  });
}

/** @throws AppError NOT_FOUND */
export function removePlacement(store: ProjectStore, id: string): void {
  const row = store.rows('placement').find((one) => one.id === id);
  if (row === undefined) throw noPlacement(id);
  store.change('placement.remove', `Remove placement ${row.label}`, (tx) => tx.remove('placement', id));
}

function noPlacement(id: string): AppError {
  return new AppError('NOT_FOUND', `There is no kept placement "${id}" in this project.`);
}
