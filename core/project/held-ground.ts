/**
 * Realisations of the open project's ground, held by the engine while a place is moved over it. They are drawn once from
 * a fixed seed, never written and never sent to a window; a change of what they come from lets them go.
 */
import type { PositionM, ProjectView, RingM } from '../contract/model.ts';
import type { PlaceAsked, PreparedGround } from '../contract/siting.ts';
import { AppError, toWire } from '../errors.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { toShared } from '../jobs/shared.ts';
import { placeRing } from '../site/placement.ts';
import type { Ensemble, EstimateOnGrid } from '../site/statistics-under.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { RequestContext } from './engine.ts';
import { validPlaces } from './footprint-class.ts';
import { modelGround } from './model-ground.ts';
import { planSurface } from './plan-surface.ts';
import { REALISATIONS } from './site-building.ts';
import { buildView } from './view.ts';

/** Above any seed of a placement search, which draws from twice its seed and one more. */
export const HELD_SEED = 2_000_003;

export interface HeldGround {
  readonly key: string;
  readonly ensemble: Ensemble;
  readonly estimate: EstimateOnGrid;
  readonly limitsKBqPerM3: readonly number[];
  readonly prepared: PreparedGround;
}

/** What a question about a place needs of the project, found once for each revision. */
export interface PlaceFacts {
  readonly view: ProjectView;
  /** Places of the valid points of the project's scheme. */
  readonly valid: readonly PositionM[];
  /** Names all that the realisations come from; null where there can be none. */
  readonly key: string | null;
}

export interface GroundKeeper {
  facts(store: ReadableStore): PlaceFacts;
  /** Null until they are drawn for the project as it stands. */
  held(store: ReadableStore): HeldGround | null;
  /** @throws AppError BAD_INPUT where no surface with an error can be had; CANCELLED */
  prepare(store: ReadableStore, context: RequestContext): Promise<HeldGround>;
  drop(): void;
}

export function createGroundKeeper(jobs: JobRunner): GroundKeeper {
  let known: { readonly store: ReadableStore; readonly revision: number; readonly facts: PlaceFacts } | null =
    null;
  let ground: HeldGround | null = null;
  let drawing: { readonly key: string; readonly abort: AbortController } | null = null;

  function facts(store: ReadableStore): PlaceFacts {
    if (known === null || known.store !== store || known.revision !== store.revision) {
      known = { store, revision: store.revision, facts: findFacts(store) };
      if (ground !== null && ground.key !== known.facts.key) ground = null;
    }
    return known.facts;
  }

  function held(store: ReadableStore): HeldGround | null {
    const { key } = facts(store);
    return key !== null && ground?.key === key ? ground : null;
  }

  async function prepare(store: ReadableStore, context: RequestContext): Promise<HeldGround> {
    const there = held(store);
    if (there !== null) return there;
    const { view } = facts(store);
    const { key } = planSurface(view);
    // What was begun for other inputs is of no use to anybody.
    drawing?.abort.abort();
    const abort = new AbortController();
    const mine = { key, abort };
    drawing = mine;
    const signal = AbortSignal.any([context.signal, abort.signal]);
    try {
      const drawn = await drawGround(view, key, jobs, { ...context, signal });
      if (drawing === mine && facts(store).key === key) ground = drawn;
      return drawn;
    } finally {
      if (drawing === mine) drawing = null;
    }
  }

  return {
    facts,
    held,
    prepare,
    drop() {
      drawing?.abort.abort();
      drawing = null;
      known = null;
      ground = null;
    },
  };
}

function findFacts(store: ReadableStore): PlaceFacts {
  const view = buildView(store);
  return {
    view,
    valid: validPlaces(view),
    key: keyOf(view),
  };
}

function keyOf(view: ProjectView): string | null {
  try {
    return planSurface(view).key;
  } catch (error) {
    if (toWire(error).code !== 'BAD_INPUT') throw error;
    return null;
  }
}

async function drawGround(
  view: ProjectView,
  key: string,
  jobs: JobRunner,
  context: RequestContext,
): Promise<HeldGround> {
  const started = performance.now();
  const part = (from: number, to: number) => ({
    signal: context.signal,
    onProgress: (done: number, stage: string) => context.onProgress(from + (to - from) * done, stage),
  });
  const ground = await modelGround(view, jobs, part(0, 0.3));
  const { points, surface, grid, cells, cellsXy, commonURel, plan } = ground;
  const ensemble = await jobs.run(
    'draw-ensemble',
    { points, surface, grid, cells, cellsXy, commonURel, realisations: REALISATIONS, seed: HELD_SEED },
    part(0.3, 1),
  );
  return {
    key,
    ensemble,
    estimate: { grid, estimateKBqPerM3: toShared(ground.estimateKBqPerM3) },
    limitsKBqPerM3: plan.limits,
    prepared: {
      realisations: ensemble.count,
      cells: cells.length,
      seed: HELD_SEED,
      seconds: (performance.now() - started) / 1000,
    },
  };
}

/** @throws AppError BAD_INPUT for a pose where there is no footprint */
export function ringOfPlace({ footprint }: ProjectView, place: PlaceAsked): RingM {
  if ('ring' in place) return place.ring;
  if (footprint === null) throw new AppError('BAD_INPUT', 'There is no footprint to place: set it first.');
  return placeRing(footprint.drawnRing, place.pose);
}
