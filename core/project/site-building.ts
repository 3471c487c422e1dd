import type { ProjectView } from '../contract/model.ts';
import type { PlacementView, SiteRequest, SiteResult } from '../contract/planning.ts';
import { AppError } from '../errors.ts';
import { bufferPolygons } from '../geo/planar.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { groundForBuilding } from '../plan/allowed-ground.ts';
import { layoutRulesOf } from '../plan/layout-rules.ts';
import type { FoundPlacement } from '../site/search-placements.ts';
import type { RequestContext } from './engine.ts';
import { modelGround } from './model-ground.ts';
import { schemeOf } from './schemes.ts';

export const REALISATIONS = 300;
/** Ranked only with at least so many valid probes in or near it (own assumption: fewer, and the model speaks alone). */
const LEAST_PROBES_NEAR = 3;
/** Placements sharing more of the footprint than this are one (own choice). */
const MOST_OVERLAP = 0.5;
/** Differences under this are not worth moving a building for (own assumption, kBq/m3). */
export const LEAST_DIFFERENCE_KBQ_PER_M3 = 2;

/**
 * Ranked places for the footprint on the lot less setback and keep-outs. A model, not a class; siting does not replace
 * protection.
 * @throws AppError BAD_INPUT without lot, footprint or values, or where the surface has no error (IDW); CANCELLED
 */
export async function searchSite(
  view: ProjectView,
  jobs: JobRunner,
  request: SiteRequest,
  context: RequestContext,
): Promise<SiteResult> {
  if (view.footprint === null)
    throw new AppError('BAD_INPUT', 'There is no footprint to place: set it first.');
  const part = (from: number, to: number) => ({
    signal: context.signal,
    onProgress: (done: number, stage: string) => context.onProgress(from + (to - from) * done, stage),
  });
  const ground = await modelGround(view, jobs, part(0, 0.2));
  const { plan, commonURel } = ground;
  const limit = request.limitKBqPerM3 ?? plan.limits.at(-1);
  if (request.objective === 'lowest-probability' && limit === undefined) {
    throw new AppError(
      'BAD_INPUT',
      'No limit is in force on this lot (its permeability is not known): give one.',
      {
        field: 'limitKBqPerM3',
      },
    );
  }
  const { search, comparison } = await jobs.run(
    'search-placements',
    {
      points: ground.points,
      surface: ground.surface,
      grid: ground.grid,
      cells: ground.cells,
      cellsXy: ground.cellsXy,
      estimateKBqPerM3: ground.estimateKBqPerM3,
      realisations: REALISATIONS,
      commonURel,
      leastDifferenceKBqPerM3: LEAST_DIFFERENCE_KBQ_PER_M3,
      request: {
        footprint: view.footprint.drawnRing,
        layers: {
          lot: plan.lot,
          withinSetback:
            request.setbackM > 0 ? bufferPolygons([[plan.lot]], -request.setbackM) : [[plan.lot]],
          ground: groundForBuilding({ lot: plan.lot, keepOuts: view.keepOuts }, request.setbackM).polygons,
        },
        turns: { mayTurn: request.mayTurn, mayMirror: request.mayMirror },
        objective:
          request.objective === 'lowest-estimate'
            ? { kind: 'lowest-estimate', perMetreMoved: request.perMetreMoved }
            : {
                kind: 'lowest-probability',
                limitKBqPerM3: limit ?? 0,
                of: 'block-mean',
                perMetreMoved: request.perMetreMoved,
              },
        limitsKBqPerM3: plan.limits,
        evidence: {
          probes: plan.used.map((p) => p.positionM),
          withinM: layoutRulesOf(schemeOf(view)).surroundingsM.value,
          atLeast: LEAST_PROBES_NEAR,
        },
        wanted: request.wanted,
        mostOverlap: MOST_OVERLAP,
        seed: request.seed,
      },
    },
    part(0.2, 1),
  );
  return {
    ranked: search.ranked.map((p) => placementView(p, null)),
    unranked: search.unranked.map((p) => placementView(p, p.why)),
    asDrawn: search.asDrawn === null ? null : placementView(search.asDrawn, null),
    suitability: search.suitability,
    nothingFits: search.nothingFits?.message ?? null,
    differences: comparison?.differences.map((d) => d.message) ?? [],
    choiceRule: search.choiceRule,
    posesTried: search.posesTried,
    cautions: search.cautions,
  };
}

function placementView(found: FoundPlacement, why: string | null): PlacementView {
  const { pose, ring, judged, statistics, probesNear } = found;
  return {
    pose,
    ring,
    distanceMovedM: found.distanceMovedM,
    judged: judged?.statistic ?? null,
    statistics,
    probesNear,
    why,
  };
}
