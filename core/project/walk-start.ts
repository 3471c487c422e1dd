import type { PositionM, ProjectView, WalkStart } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import type { PositionNative } from '../geo/frame.ts';
import { toFrame } from '../geo/frame.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import { frameOf, lotNative, originFor, projectRow } from './frame-of.ts';

/** A car that stands farther from the lot is a slip of the pen, or in another system (own choice). */
const MOST_FROM_LOT_M = 5000;

/**
 * Where the car stands, kept for plans, sheets and routes; null: the lot's first corner.
 * @throws AppError BAD_INPUT for a place far from the lot
 */
export function setWalkStart(store: ProjectStore, native: PositionNative | null): void {
  const origin = originFor(store, native === null ? [] : [native]);
  const [corner] = lotNative(store) ?? [];
  if (native !== null && corner !== undefined) {
    const frame = frameOf(store, origin);
    const [start, lot] = [toFrame(frame, native), toFrame(frame, corner)];
    const awayM = Math.hypot(start[0] - lot[0], start[1] - lot[1]);
    if (awayM > MOST_FROM_LOT_M)
      throw new AppError(
        'BAD_INPUT',
        `The start of the walk at ${native.join(', ')} is ${(awayM / 1000).toFixed(0)} km from the lot: is it in the project's own coordinates?`,
        { field: 'start' },
      );
  }
  const words = native === null ? 'Start walks at the first corner of the lot' : 'Set the start of walks';
  store.change('walk.start', words, (tx) => {
    tx.update('project', projectRow(store).id, {
      origin_x: origin[0],
      origin_y: origin[1],
      walk_start_x: native?.[0] ?? null,
      walk_start_y: native?.[1] ?? null,
    });
  });
}

export function readWalkStart(store: ReadableStore): WalkStart | undefined {
  const { walk_start_x: x, walk_start_y: y } = projectRow(store);
  return x === null || y === null
    ? undefined
    : { native: [x, y], positionM: toFrame(frameOf(store), [x, y]) };
}

/** Where walks of this project start: as asked for, else as kept, else the lot's first corner. */
export function walkStartOf(
  view: Pick<ProjectView, 'walkStart' | 'lot'>,
  askedM: PositionM | undefined,
): PositionM | undefined {
  return askedM ?? view.walkStart?.positionM ?? view.lot?.[0];
}
