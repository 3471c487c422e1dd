/** A surface cell by cell, the cells shared out among the threads. */
import { type IdwOptions, type IdwState, idwEstimator, idwInto, prepareIdw } from '../geostat/idw.ts';
import { krigingPredictor } from '../geostat/krige.ts';
import { type KrigingOptions, type KrigingState, prepareKriging } from '../geostat/kriging.ts';
import type { VariogramModel } from '../geostat/models.ts';
import type { PointSet } from '../geostat/points.ts';
import type { TiledJob, Tiles } from './job.ts';
import { allocateShared, toPlain, toShared } from './shared.ts';

export type SurfaceMethod =
  | {
      readonly kind: 'kriging';
      readonly model: VariogramModel;
      readonly options: Omit<KrigingOptions, 'allocate'>;
    }
  | { readonly kind: 'idw'; readonly options: IdwOptions };

export interface SurfaceTilesInput {
  readonly points: PointSet;
  /** Centres of the cells wanted, interleaved metres [x0, y0, x1, y1, ...]. */
  readonly cellsXy: Float64Array;
  readonly method: SurfaceMethod;
}

/** One number per cell; NaN where too few points are near. Variance and Lagrange term are NaN for IDW. */
export interface SurfaceTilesOutput {
  readonly estimate: Float64Array;
  readonly variance: Float64Array;
  readonly lagrange: Float64Array;
}

interface SurfaceShared extends SurfaceTilesOutput {
  readonly cellsXy: Float64Array;
  readonly state:
    | { readonly kind: 'kriging'; readonly kriging: KrigingState }
    | { readonly kind: 'idw'; readonly idw: IdwState };
}

/** Where every cell looks at every point, a tile is one batch of the solver: at 2,000 points about 0.1 s. */
const CELLS_PER_TILE_ALL_POINTS = 32;
const CELLS_PER_TILE_NEAREST = 256;

export const surfaceTiles: TiledJob<SurfaceTilesInput, SurfaceShared, SurfaceTilesOutput> = {
  form: 'tiled',

  prepare({ points, cellsXy, method }, context) {
    context.progress(0, 'setting up');
    const count = cellsXy.length / 2;
    const state: SurfaceShared['state'] =
      method.kind === 'kriging'
        ? {
            kind: 'kriging',
            kriging: prepareKriging(points, method.model, { ...method.options, allocate: allocateShared }),
          }
        : { kind: 'idw', idw: prepareIdw(points, method.options) };
    return {
      cellsXy: toShared(cellsXy),
      state,
      estimate: allocateShared(count).fill(Number.NaN),
      variance: allocateShared(count).fill(Number.NaN),
      lagrange: allocateShared(count).fill(Number.NaN),
    };
  },

  open({ cellsXy, state, estimate, variance, lagrange }) {
    if (state.kind === 'idw') {
      const estimator = idwEstimator(state.idw);
      return cutCells(cellsXy, CELLS_PER_TILE_NEAREST, (from, to) =>
        idwInto(estimator, cellsXy, from, to, estimate),
      );
    }
    const predictor = krigingPredictor(state.kriging);
    const length = state.kriging.system === null ? CELLS_PER_TILE_NEAREST : CELLS_PER_TILE_ALL_POINTS;
    return cutCells(cellsXy, length, (from, to) =>
      predictor.predictInto(cellsXy, from, to, estimate, variance, lagrange),
    );
  },

  finish: ({ estimate, variance, lagrange }) => ({
    estimate: toPlain(estimate),
    variance: toPlain(variance),
    lagrange: toPlain(lagrange),
  }),
};

function cutCells(cellsXy: Float64Array, length: number, run: (from: number, to: number) => void): Tiles {
  const cells = cellsXy.length / 2;
  return {
    count: Math.ceil(cells / length),
    stage: 'computing the surface',
    run: (index) => run(index * length, Math.min(cells, (index + 1) * length)),
  };
}
