// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** A surface cell by cell, the cells shared out among the threads; the same numbers as `predictSurface` gives. */
import { type IdwState, idwEstimator, idwInto, prepareIdw } from '../geostat/idw.ts';
import { type KrigingPredictor, krigingPredictor } from '../geostat/krige.ts';
import { type KrigingState, prepareKriging } from '../geostat/kriging.ts';
import {
  exceedanceProbability,
  lognormalMean,
  lognormalMeanUnbiased,
  lognormalSd,
} from '../geostat/lognormal.ts';
import { type ModelMember, transformPoints } from '../geostat/plausible-models.ts';
import type { PointSet } from '../geostat/points.ts';
import type { Surface, SurfaceMethod } from '../geostat/predict-surface.ts';
import { type JobContext, type TiledJob, type Tiles, throwIfStopped } from './job.ts';
import { allocateShared, toPlain, toShared } from './shared.ts';

export interface SurfaceTilesInput {
  readonly points: PointSet;
  /** Centres of the cells wanted, interleaved metres [x0, y0, x1, y1, ...]. */
  readonly cellsXy: Float64Array;
  readonly surface: SurfaceMethod;
  /** Adds the probability of a value above it, in the unit of the values. */
  readonly limit?: number;
}

interface PreparedMember extends ModelMember {
  readonly state: KrigingState;
}

type Prepared =
  | { readonly method: 'kriging'; readonly members: readonly PreparedMember[]; readonly errorFactor: number }
  | { readonly method: 'idw'; readonly state: IdwState };

interface SurfaceShared extends Surface {
  readonly cellsXy: Float64Array;
  readonly limit: number | null;
  readonly prepared: Prepared;
}

/** Where every cell looks at every point, a tile is one batch of the solver: at 2,000 points about 0.1 s a model. */
const CELLS_PER_TILE_ALL_POINTS = 32;
const CELLS_PER_TILE_NEAREST = 256;
/** As in `predictSurface`: more points than this are kriged from their nearest, unless a neighbourhood is given. */
const GLOBAL_LIMIT = 1500;
const NEAREST_WHEN_MANY = 60;

export const surfaceTiles: TiledJob<SurfaceTilesInput, SurfaceShared, Surface> = {
  form: 'tiled',

  prepare({ points, cellsXy, surface, limit }, context) {
    const count = cellsXy.length / 2;
    return {
      cellsXy: toShared(cellsXy),
      limit: limit ?? null,
      prepared:
        surface.method === 'idw'
          ? { method: 'idw', state: prepareIdw(points, surface.options) }
          : {
              method: 'kriging',
              members: prepareMembers(points, surface, context),
              errorFactor: surface.errorFactor ?? 1,
            },
      estimate: allocateShared(count),
      standardError: allocateShared(count).fill(Number.NaN),
      exceedance: limit === undefined ? null : allocateShared(count).fill(Number.NaN),
    };
  },

  open(shared) {
    const { prepared, cellsXy, estimate } = shared;
    if (prepared.method === 'idw') {
      const estimator = idwEstimator(prepared.state);
      return cutCells(cellsXy, CELLS_PER_TILE_NEAREST, (from, to) =>
        idwInto(estimator, cellsXy, from, to, estimate),
      );
    }
    const allPoints = prepared.members.some(({ state }) => state.system !== null);
    const length = allPoints ? CELLS_PER_TILE_ALL_POINTS : CELLS_PER_TILE_NEAREST;
    return cutCells(cellsXy, length, averageInto(shared, prepared));
  },

  finish: ({ estimate, standardError, exceedance }) => ({
    estimate: toPlain(estimate),
    standardError: toPlain(standardError),
    exceedance: exceedance === null ? null : toPlain(exceedance),
  }),
};

function prepareMembers(
  points: PointSet,
  { members, options }: SurfaceMethod & { method: 'kriging' },
  context: JobContext,
): PreparedMember[] {
  const nearest =
    options.neighbourhood === undefined && points.values.length > GLOBAL_LIMIT
      ? { neighbourhood: { nearest: NEAREST_WHEN_MANY } }
      : {};
  return members.map((member, i) => {
    throwIfStopped(context);
    context.progress(i / members.length, 'setting up the models');
    const data = transformPoints(points, member.transform);
    const state = prepareKriging(data, member.model, { ...options, ...nearest, allocate: allocateShared });
    return { ...member, state };
  });
}

function cutCells(cellsXy: Float64Array, length: number, run: (from: number, to: number) => void): Tiles {
  const cells = cellsXy.length / 2;
  return {
    count: Math.ceil(cells / length),
    stage: 'computing the surface',
    run: (index) => run(index * length, Math.min(cells, (index + 1) * length)),
  };
}

/** Predicts cells by every model and averages them by weight, with this thread's own scratch. */
function averageInto(
  { cellsXy, limit, estimate, standardError, exceedance }: SurfaceShared,
  { members, errorFactor }: Prepared & { method: 'kriging' },
): (from: number, to: number) => void {
  const alone = members.length === 1;
  const predictors = members.map(({ state }): KrigingPredictor => krigingPredictor(state));
  return (from, to) => {
    const n = to - from;
    const cells = cellsXy.subarray(2 * from, 2 * to);
    const [p, v, lagrange, first, second, above] = Array.from({ length: 6 }, () => new Float64Array(n)) as [
      Float64Array,
      Float64Array,
      Float64Array,
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    members.forEach(({ transform, weight }, m) => {
      predictors[m]!.predictInto(cells, 0, n, p, v, lagrange);
      const edge = transform === 'log' && limit !== null ? Math.log(limit) : limit;
      for (let i = 0; i < n; i++) {
        const isLog = transform === 'log';
        // A model that stands alone gives the unbiased estimate; averaged ones, the mean of their distribution.
        const mean = !isLog
          ? p[i]!
          : alone
            ? lognormalMeanUnbiased(p[i]!, v[i]!, lagrange[i]!)
            : lognormalMean(p[i]!, v[i]!);
        const sd = isLog ? lognormalSd(mean, v[i]!) : Math.sqrt(v[i]!);
        first[i] = first[i]! + weight * mean;
        second[i] = second[i]! + weight * (sd * sd + mean * mean);
        if (edge !== null) above[i] = above[i]! + weight * exceedanceProbability(p[i]!, v[i]!, edge);
      }
    });
    for (let i = 0; i < n; i++) {
      estimate[from + i] = first[i]!;
      standardError[from + i] = errorFactor * Math.sqrt(Math.max(0, second[i]! - first[i]! ** 2));
      if (exceedance !== null) exceedance[from + i] = above[i]!;
    }
  };
}
