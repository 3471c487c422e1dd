/** Planning and siting in a worker: searches of seconds, never on the thread that answers. */
import type { PolygonM, PositionM } from '../contract/model.ts';
import type { GridSpec } from '../contract/results.ts';
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import type { SurfaceMethod } from '../geostat/predict-surface.ts';
import { prepareSimulation, runsByMember } from '../geostat/simulate.ts';
import { designGrid } from '../plan/grid-design.ts';
import type { GridDesign, GridRequest } from '../plan/grid-types.ts';
import { type NextByClass, type NextByClassRequest, proposeNextByClass } from '../plan/next-by-class.ts';
import { type NextProbes, type NextProbesRequest, proposeNextProbes } from '../plan/next-probes.ts';
import { computeSpacingCurve, type SpacingCurve, type SpacingCurveRequest } from '../plan/spacing-curve.ts';
import { type CutOrder, cutOrder, type SharedWork, shareRoute, type WorkPace } from '../plan/split-route.ts';
import { type WalkLine, walkGround } from '../plan/walk-ground.ts';
import { planRoute, type Route } from '../plan/walking-order.ts';
import { comparePlacements, type PlacementComparison } from '../site/compare-placements.ts';
import {
  type PlacementSearch,
  type PlacementSearchRequest,
  searchPlacements,
} from '../site/search-placements.ts';
import type { Ensemble } from '../site/statistics-under.ts';
import { type JobContext, type SingleJob, throwIfStopped } from './job.ts';
import { REALISATIONS_PER_TILE } from './simulate.ts';
import { gridDrawer } from './siting-jobs.ts';

export const designGridJob: SingleJob<GridRequest, GridDesign> = { form: 'single', run: designGrid };
export const nextProbesJob: SingleJob<NextProbesRequest, NextProbes> = {
  form: 'single',
  run: proposeNextProbes,
};

export const spacingCurveJob: SingleJob<SpacingCurveRequest, SpacingCurve> = {
  form: 'single',
  run: computeSpacingCurve,
};

export const nextByClassJob: SingleJob<NextByClassRequest, NextByClass> = {
  form: 'single',
  run: proposeNextByClass,
};

export interface PlanWalkInput {
  readonly startM: PositionM;
  readonly probes: readonly PositionM[];
  readonly pace: WorkPace;
  /** What is walked round; do not overlap. */
  readonly barriers: readonly PolygonM[];
}

export interface PlannedWalk {
  readonly route: Route;
  readonly work: SharedWork;
  /** The probes walked in the order given. */
  readonly asGiven: {
    /** Through the probes and back to the first, wherever the walk starts. */
    readonly roundM: number;
    readonly line: WalkLine;
    readonly cut: CutOrder;
  };
}

export const planWalkJob: SingleJob<PlanWalkInput, PlannedWalk> = {
  form: 'single',
  run({ startM, probes, pace, barriers }, context) {
    const ground = walkGround(barriers);
    const route = planRoute(startM, probes, context, ground);
    return {
      route,
      work: shareRoute(startM, probes, route, pace, context, ground),
      asGiven: {
        roundM: ground.line([...probes, ...probes.slice(0, 1)]).lengthM,
        line: ground.line([startM, ...probes, startM]),
        cut: cutOrder(startM, probes, pace, ground),
      },
    };
  },
};

export interface SearchPlacementsInput {
  readonly points: SurfacePoints;
  readonly surface: SurfaceMethod;
  readonly grid: GridSpec;
  /** Cells of the grid that have a surface, and their centres in the same order. */
  readonly cells: Int32Array;
  readonly cellsXy: Float64Array;
  readonly estimateKBqPerM3: Float64Array;
  readonly realisations: number;
  readonly commonURel: number;
  readonly request: Omit<PlacementSearchRequest, 'estimate' | 'ensemble' | 'fresh'>;
  readonly leastDifferenceKBqPerM3: number;
}

export interface SearchPlacementsOutput {
  readonly search: PlacementSearch;
  readonly comparison: PlacementComparison | null;
}

const MOST_COMPARED = 4;

/** Searched on one set of realisations, ranked and compared on another: the lowest of many flatters itself. */
export const searchPlacementsJob: SingleJob<SearchPlacementsInput, SearchPlacementsOutput> = {
  form: 'single',
  run(input, context) {
    const { request, grid } = input;
    const within = (from: number, to: number): JobContext => ({
      stopped: context.stopped,
      progress: (done, stage) => context.progress(from + (to - from) * done, stage),
    });
    const ensemble = draw(input, 2 * request.seed, within(0, 0.2));
    const fresh = draw(input, 2 * request.seed + 1, within(0.2, 0.4));
    const estimate = { grid, estimateKBqPerM3: input.estimateKBqPerM3 };
    const search = searchPlacements({ ...request, estimate, ensemble, fresh }, within(0.4, 1));
    const shown = [...(search.asDrawn === null ? [] : [search.asDrawn]), ...search.ranked].slice(
      0,
      MOST_COMPARED,
    );
    const names = shown.map((p, i) =>
      p === search.asDrawn ? 'the building as drawn' : `placement ${i + (search.asDrawn === null ? 1 : 0)}`,
    );
    const comparison =
      shown.length < 2
        ? null
        : comparePlacements(
            shown.map((p) => p.ring),
            names,
            fresh,
            { statistic: 'block-mean', leastDifferenceKBqPerM3: input.leastDifferenceKBqPerM3 },
          );
    return { search, comparison };
  },
};

function draw(input: SearchPlacementsInput, seed: number, context: JobContext): Ensemble {
  const { cells, cellsXy, grid, realisations } = input;
  const simulation = prepareSimulation(input.points, input.surface, {
    cellsXy,
    seed,
    realisations,
    commonURel: input.commonURel,
  });
  const values = new Float32Array(grid.columns * grid.rows * realisations).fill(Number.NaN);
  const drawRun = gridDrawer(simulation, grid, cells, values);
  const runs = runsByMember(simulation, REALISATIONS_PER_TILE);
  runs.forEach((run, k) => {
    throwIfStopped(context);
    context.progress(k / runs.length, 'drawing the ground');
    drawRun(run);
  });
  return { grid, count: realisations, values };
}
