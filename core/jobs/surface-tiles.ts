/** A surface cell by cell, the cells shared out among the threads; the same numbers as `predictSurface` gives. */
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import {
  type PreparedSurface,
  prepareSurface,
  type Surface,
  type SurfaceMethod,
  surfacePredictor,
} from '../geostat/predict-surface.ts';
import { type TiledJob, throwIfStopped } from './job.ts';
import { allocateShared, toPlain, toShared } from './shared.ts';

export interface SurfaceTilesInput {
  readonly points: SurfacePoints;
  /** Centres of the cells wanted, interleaved metres [x0, y0, x1, y1, ...]. */
  readonly cellsXy: Float64Array;
  readonly surface: SurfaceMethod;
  /** Adds the probability of a value above it, in the unit of the values. */
  readonly limit?: number;
  /** Of the draws that stand for places with a lower bound only; default 1. */
  readonly seed?: number;
}

interface SurfaceShared extends Surface {
  readonly cellsXy: Float64Array;
  readonly limit: number | null;
  readonly prepared: PreparedSurface;
}

/** Where every cell looks at every point, a tile is one batch of the solver: at 2,000 points about 0.1 s a model. */
const CELLS_PER_TILE_ALL_POINTS = 32;
const CELLS_PER_TILE_NEAREST = 256;

export const surfaceTiles: TiledJob<SurfaceTilesInput, SurfaceShared, Surface> = {
  form: 'tiled',

  prepare({ points, cellsXy, surface, limit, seed }, context) {
    const count = cellsXy.length / 2;
    const step = (done: number) => {
      throwIfStopped(context);
      context.progress(done, 'setting up the models');
    };
    return {
      cellsXy: toShared(cellsXy),
      limit: limit ?? null,
      prepared: prepareSurface(points, surface, {
        allocate: allocateShared,
        step,
        ...(seed === undefined ? {} : { seed }),
      }),
      estimate: allocateShared(count),
      standardError: allocateShared(count),
      exceedance: limit === undefined ? null : allocateShared(count),
    };
  },

  open(shared) {
    const { prepared, cellsXy, limit } = shared;
    const allPoints =
      prepared.method === 'kriging' && prepared.members.some(({ state }) => state.system !== null);
    const length = allPoints ? CELLS_PER_TILE_ALL_POINTS : CELLS_PER_TILE_NEAREST;
    const cells = cellsXy.length / 2;
    const predict = surfacePredictor(prepared, limit);
    return {
      count: Math.ceil(cells / length),
      stage: 'computing the surface',
      run: (index) => predict(cellsXy, index * length, Math.min(cells, (index + 1) * length), shared),
    };
  },

  finish: ({ estimate, standardError, exceedance }) => ({
    estimate: toPlain(estimate),
    standardError: toPlain(standardError),
    exceedance: exceedance === null ? null : toPlain(exceedance),
  }),
};
