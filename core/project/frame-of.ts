import type { ProjectCrs, ProjectFrame } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import type { PositionNative } from '../geo/frame.ts';
import { chooseOriginNative, makeFrame } from '../geo/frame.ts';
import { type ControlPoint, convertTied, fitLocalGrid, type GridTie } from '../geo/local-grid.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { ProjectRow } from '../store/rows.ts';

export function projectRow(store: ReadableStore): ProjectRow {
  const [row] = store.rows('project');
  if (row === undefined) throw new AppError('STORE_DAMAGED', `${store.path} holds no project.`);
  return row;
}

export function projectCrs(store: ReadableStore): ProjectCrs {
  return JSON.parse(projectRow(store).crs_json) as ProjectCrs;
}

/** @param originNative - the stored one where absent */
export function frameOf(store: ReadableStore, originNative?: PositionNative): ProjectFrame {
  const row = projectRow(store);
  return makeFrame(projectCrs(store), originNative ?? [row.origin_x, row.origin_y]);
}

const PLACED_TABLES = ['lot', 'probe', 'footprint', 'keep_out'] as const;

/**
 * The origin of project metres: fixed by the first geometry, near its middle, and kept after. Computing near the
 * origin keeps millimetres exact where eastings have seven digits.
 */
export function originFor(store: ReadableStore, native: readonly PositionNative[]): PositionNative {
  const row = projectRow(store);
  const isPlaced = PLACED_TABLES.some((table) => store.rows(table).length > 0);
  return isPlaced || native.length === 0 ? [row.origin_x, row.origin_y] : chooseOriginNative(native);
}

/** The control points with the system of their mapped side; null where there are none. */
export function controlPoints(
  store: ReadableStore,
): { readonly code: number; readonly points: readonly ControlPoint[] } | null {
  const rows = store.rows('control_point');
  const [first] = rows;
  if (first === undefined) return null;
  const points = rows.map((row): ControlPoint => {
    return {
      label: row.label,
      local: [row.local_x, row.local_y],
      mapped: [row.mapped_x, row.mapped_y],
    };
  });
  return { code: first.code, points };
}

/** How the project's local grid lies in a mapped system; null where it is tied to nothing, or is no local grid. */
export function gridTie(store: ReadableStore): GridTie | null {
  const crs = projectCrs(store);
  const control = controlPoints(store);
  return crs.kind !== 'local' || control === null
    ? null
    : fitLocalGrid(crs, control.code, control.points).tie;
}

/**
 * Positions in the project's own system.
 * @param crs - system they are given in; null where it is the project's
 * @throws AppError BAD_INPUT between a local grid and a real system where no control points tie the two
 */
export function toProjectNative(
  store: ReadableStore,
  positions: readonly PositionNative[],
  crs: ProjectCrs | null,
): PositionNative[] {
  const own = projectCrs(store);
  return convertTied(crs ?? own, own, gridTie(store), positions);
}

/** The lot's outline in the project's own system; null where there is none. */
export function lotNative(store: ReadableStore): PositionNative[] | null {
  const [lot] = store.rows('lot');
  if (lot === undefined) return null;
  const crs = lot.crs_json === null ? null : (JSON.parse(lot.crs_json) as ProjectCrs);
  return toProjectNative(store, JSON.parse(lot.ring_json) as PositionNative[], crs);
}
