/** The surface with all that realisations of it are drawn from. */
import { cellCentre, gridForLot } from '../contour/grid.ts';
import type { ProjectView } from '../contract/model.ts';
import type { GridSpec } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import type { SurfaceMethod } from '../geostat/predict-surface.ts';
import type { JobRunner, RunOptions } from '../jobs/runner.ts';
import { findModel } from './find-model.ts';
import { planSurface, type SurfacePlan } from './plan-surface.ts';
import { wantedSurface } from './surface.ts';

export interface ModelledGround {
  readonly plan: SurfacePlan;
  readonly points: SurfacePoints;
  readonly surface: SurfaceMethod;
  readonly grid: GridSpec;
  /** Cells of the grid whose centre lies on the lot, and those centres in the same order. */
  readonly cells: Int32Array;
  readonly cellsXy: Float64Array;
  /** In grid order, NaN off the lot. */
  readonly estimateKBqPerM3: Float64Array;
  /** Largest relative uncertainty that the values have in common (calibration). */
  readonly commonURel: number;
}

/** @throws AppError BAD_INPUT without lot or values, or where the surface has no error (IDW); CANCELLED */
export async function modelGround(
  view: ProjectView,
  jobs: JobRunner,
  options: RunOptions,
): Promise<ModelledGround> {
  const plan = planSurface(view);
  const within = (from: number, to: number): RunOptions => ({
    ...options,
    onProgress: (done, stage) => options.onProgress?.(from + (to - from) * done, stage),
  });
  const wanted = wantedSurface(view);
  if (wanted.method !== 'kriging') {
    throw new AppError(
      'BAD_INPUT',
      'Inverse distances state no error, so placements cannot be told apart: use kriging.',
    );
  }
  const found = await findModel(jobs, plan.points, wanted, within(0, 0.5));
  const { grid, inside } = gridForLot(plan.lot, view.settings.surface.cellM);
  const cells = Int32Array.from(inside.keys()).filter((i) => inside[i] === 1);
  const cellsXy = new Float64Array(2 * cells.length);
  cells.forEach((cell, i) => {
    cellsXy.set(cellCentre(grid, cell % grid.columns, Math.floor(cell / grid.columns)), 2 * i);
  });
  const { points, surface } = found;
  const { estimate } = await jobs.run('surface-tiles', { points, cellsXy, surface }, within(0.5, 1));
  const estimateKBqPerM3 = new Float64Array(grid.columns * grid.rows).fill(Number.NaN);
  cells.forEach((cell, i) => {
    estimateKBqPerM3[cell] = estimate[i] ?? Number.NaN;
  });
  const common = plan.used.map((p) => (p.measured.kind === 'value' ? p.measured.commonURel : 0));
  return {
    plan,
    points,
    surface,
    grid,
    cells,
    cellsXy,
    estimateKBqPerM3,
    commonURel: Math.max(0, ...common),
  };
}
