/** What ties a project's local grid to the map, as people see and set it. */
import type { ControlView, Input } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { findCrs, systemTitle } from '../geo/crs-table.ts';
import { type ControlPoint, fitLocalGrid } from '../geo/local-grid.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import { controlPoints, projectCrs } from './frame-of.ts';

/** @returns the points with how well they fit; null where the grid is tied to nothing */
export function readControl(store: ReadableStore): ControlView | null {
  const control = controlPoints(store);
  return control === null ? null : fitControl(store, control.code, control.points);
}

/**
 * All points at once, in place of those there are; none unties the grid.
 * @throws AppError BAD_INPUT where the project has no local grid, and as `fitLocalGrid`
 */
export function setControl(store: ProjectStore, { code, points }: Input<'control.set'>): ControlView | null {
  const control = points.length === 0 ? null : fitControl(store, code, points);
  const seen = new Set<string>();
  for (const { label } of points) {
    const key = label.trim().toLowerCase();
    if (seen.has(key))
      throw new AppError('BAD_INPUT', `Two control points are named "${label}".`, { field: label });
    seen.add(key);
  }
  const summary = control === null ? 'Untie the grid from the map' : `Tie the grid to ${control.systemName}`;
  store.change('control.set', summary, (tx) => {
    for (const old of store.rows('control_point')) tx.remove('control_point', old.id);
    for (const { label, local, mapped } of points) {
      tx.insert('control_point', {
        label: label.trim(),
        local_x: local[0],
        local_y: local[1],
        mapped_x: mapped[0],
        mapped_y: mapped[1],
        code,
      });
    }
  });
  return control;
}

function fitControl(store: ReadableStore, code: number, points: readonly ControlPoint[]): ControlView {
  const crs = projectCrs(store);
  if (crs.kind !== 'local') {
    throw new AppError(
      'BAD_INPUT',
      'This project lies in a mapped system already; control points are for a local grid.',
      { field: 'control points' },
    );
  }
  const { tie: _tie, ...fit } = fitLocalGrid(crs, code, points);
  return { code, systemName: systemTitle(findCrs(code)), points, ...fit };
}
