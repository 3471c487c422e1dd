// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Searches all placements of a footprint on the building ground and ranks the best few on realisations not searched on. */
import { randomStream } from '../classify/random.ts';
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import type { GridSpec } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import {
  boundingBox,
  distanceToRing,
  intersectPolygons,
  pointInPolygon,
  polygonsArea,
  validateLot,
} from '../geo/planar.ts';
import { type JobContext, throwIfStopped } from '../jobs/job.ts';
import {
  centroidAt,
  findAnyPose,
  posesOf,
  stancesOf,
  TURN_STEP_DEG,
  type TurnChoice,
} from './candidate-poses.ts';
import { prepareContainment } from './containment.ts';
import { explainNothingFits, extentsOf, type GroundLayers, type NothingFits } from './nothing-fits.ts';
import { distanceMovedM, type Pose, placeRing } from './placement.ts';
import { firstOf, isBetter, type Objective, type Score, scoreOn } from './placement-score.ts';
import {
  checkEnsemble,
  type Ensemble,
  type EstimateOnGrid,
  statisticsUnder,
  type UnderFootprint,
} from './statistics-under.ts';

export interface PlacementSearchRequest {
  /** As drawn: where it stands before it is moved. */
  readonly footprint: RingM;
  readonly layers: GroundLayers;
  readonly turns: TurnChoice;
  readonly estimate: EstimateOnGrid;
  /** Searched on. */
  readonly ensemble: Ensemble;
  /** Ranked on: drawn apart from `ensemble`, since the lowest of many flatters itself. */
  readonly fresh: Ensemble;
  readonly objective: Objective;
  readonly limitsKBqPerM3: readonly number[];
  /** A placement is ranked only with at least so many of these probes (valid, measured) in or within a distance of it. */
  readonly evidence: {
    readonly probes: readonly PositionM[];
    readonly withinM: number;
    readonly atLeast: number;
  };
  /** Most placements to return in each list. */
  readonly wanted: number;
  /** Two placements are distinct where they share no more than this part of the footprint; 0: none at all. */
  readonly mostOverlap: number;
  readonly seed: number;
}

export interface FoundPlacement {
  readonly pose: Pose;
  readonly ring: RingM;
  readonly distanceMovedM: number;
  /** By the search; flatters. */
  readonly searched: Score;
  /** On the fresh realisations; null where it lies off the surface. */
  readonly judged: Score | null;
  readonly statistics: UnderFootprint;
  readonly probesNear: number;
}

export interface PlacementSearch {
  /** Best first by `judged`. */
  readonly ranked: readonly FoundPlacement[];
  /** With too few probes near them: what stands there is the model's guess. Best first by `searched`. */
  readonly unranked: readonly (FoundPlacement & { readonly why: string })[];
  /** The footprint where it is drawn, where that is allowed ground. */
  readonly asDrawn: FoundPlacement | null;
  /** Lowest statistic of any placement whose centroid lies in the cell; NaN where none does. */
  readonly suitability: { readonly grid: GridSpec; readonly lowest: Float64Array } | null;
  readonly nothingFits: NothingFits | null;
  readonly posesTried: number;
  readonly stepM: number;
  readonly turnStepDeg: number;
  readonly choiceRule: string;
  readonly cautions: readonly string[];
}

interface Scored {
  readonly pose: Pose;
  readonly score: Score;
}

/** Most poses of the first look, by what one of them costs. */
const POSE_BUDGET = { estimate: 15_000, 'block-mean': 12_000, 'upper-quartile': 6_000 };
const STEPS_ACROSS = 8;
const FIRST_LOOK_REALISATIONS = 60;
const FINEST_STEP_M = 0.05;

export const SITING_CAUTIONS: readonly string[] = [
  'This is a model of the ground, not a class: a class needs enough valid measured points in the footprint and its surroundings.',
  'A better place does not make protection against radon needless; the scheme and local code decide.',
];

/**
 * Coarse grid of shifts (offset drawn from the seed) at even turns and along the edges of the ground, then halving steps
 * from the best. The same request gives the same answer.
 * @throws AppError BAD_INPUT for a footprint that is no ring, or data that do not fit together; CANCELLED
 */
export function searchPlacements(request: PlacementSearchRequest, context: JobContext): PlacementSearch {
  const search = prepareSearch(request, context);
  const { footprint, stepM } = search;
  const scored = lookCoarsely(request, search, context);
  const nothing = scored.length === 0;
  const asDrawnPose: Pose = { dxM: 0, dyM: 0, turnDeg: 0, mirrored: false };
  const detail = (s: Scored) => describePlacement(request, footprint, s);
  const asDrawnScore = search.score(asDrawnPose, request.ensemble);
  const asDrawn = asDrawnScore === null ? null : detail({ pose: asDrawnPose, score: asDrawnScore });
  const base = {
    asDrawn,
    posesTried: search.tried(),
    stepM,
    turnStepDeg: TURN_STEP_DEG,
    choiceRule: `From the best on, a placement is taken unless it shares more than ${(100 * request.mostOverlap).toFixed(0)} % of its area with one already taken.`,
    cautions: SITING_CAUTIONS,
  };
  if (nothing) {
    const somewhere = search.anyPose !== null;
    return {
      ...base,
      ranked: [],
      unranked: [],
      suitability: null,
      nothingFits: somewhere ? null : explainNothingFits(footprint, request.layers, request.turns, context),
      cautions: somewhere
        ? [
            ...base.cautions,
            'The footprint fits only where there is no surface: nothing can be said of it there.',
          ]
        : base.cautions,
    };
  }
  const suitability = suitabilityField(footprint, request.layers.ground, scored, stepM);
  const { atLeast, withinM } = request.evidence;
  const near = (pose: Pose) => probesNear(placeRing(footprint, pose), request);
  context.progress(0.6, 'refining placements');
  const enough: Scored[] = [];
  const few: Scored[] = [];
  for (const s of scored) (near(s.pose) >= atLeast ? enough : few).push(s);
  const taken: RingM[] = [];
  const ranked = takeDistinct(enough, request, search, taken, (pose) => near(pose) >= atLeast, context).map(
    detail,
  );
  const unranked = takeDistinct(few, request, search, taken, (pose) => near(pose) < atLeast, context).map(
    detail,
  );
  ranked.sort((a, b) => compareJudged(a, b));
  return {
    ...base,
    posesTried: search.tried(),
    ranked,
    unranked: unranked.map((p) => ({
      ...p,
      why: `${p.probesNear} measured probes lie in it or within ${withinM} m; ${atLeast} are needed to rank it.`,
    })),
    suitability,
    nothingFits: null,
  };
}

interface Search {
  readonly footprint: RingM;
  readonly stepM: number;
  readonly anyPose: Pose | null;
  readonly coarse: readonly Pose[];
  /** Null where it does not fit or lies off the surface. */
  score(pose: Pose, ensemble: Ensemble): Score | null;
  tried(): number;
}

function prepareSearch(request: PlacementSearchRequest, context: JobContext): Search {
  const { ring: footprint } = validateLot(request.footprint, {}, 'footprint');
  const { estimate, ensemble, fresh, objective, layers, turns, wanted, mostOverlap } = request;
  checkEnsemble(ensemble, estimate);
  checkEnsemble(fresh, estimate);
  if (!(objective.perMetreMoved >= 0))
    throw new AppError(
      'BAD_INPUT',
      `A price of ${objective.perMetreMoved} per metre moved: must be 0 or more.`,
      {
        field: 'perMetreMoved',
      },
    );
  if (!Number.isInteger(wanted) || wanted < 1)
    throw new AppError('BAD_INPUT', `${wanted} placements wanted: must be a whole number from 1.`, {
      field: 'wanted',
    });
  if (!(mostOverlap >= 0 && mostOverlap < 1))
    throw new AppError('BAD_INPUT', `An overlap of ${mostOverlap}: must be from 0 to below 1.`, {
      field: 'mostOverlap',
    });
  const { ground } = layers;
  const containment = prepareContainment(ground);
  const stances = stancesOf(footprint, ground, turns);
  const random = randomStream(request.seed, 0);
  const offset = [random.uniform(), random.uniform()] as const;
  const posesAt = (step: number) =>
    stances.flatMap((stance) => posesOf(footprint, stance, ground, containment, { stepM: step, offset }));
  let stepM = Math.max(estimate.grid.cellM, extentsOf(footprint).widthM / STEPS_ACROSS);
  let coarse = posesAt(stepM);
  const budget = objective.kind === 'lowest-estimate' ? POSE_BUDGET.estimate : POSE_BUDGET[objective.of];
  while (coarse.length > budget) {
    stepM *= Math.max(1.1, Math.sqrt(coarse.length / budget));
    coarse = posesAt(stepM);
  }
  const anyPose = coarse[0] ?? findAnyPose(footprint, ground, turns, context);
  if (coarse.length === 0 && anyPose !== null) coarse = [anyPose];
  let tried = 0;
  return {
    footprint,
    stepM,
    anyPose,
    coarse,
    tried: () => tried,
    score(pose, on) {
      tried++;
      const ring = placeRing(footprint, pose);
      return containment.holds(ring) ? scoreOn(ring, pose, objective, estimate, on) : null;
    },
  };
}

/** All coarse poses that fit, best first. */
function lookCoarsely(request: PlacementSearchRequest, search: Search, context: JobContext): Scored[] {
  const on = firstOf(request.ensemble, FIRST_LOOK_REALISATIONS);
  const scored: Scored[] = [];
  search.coarse.forEach((pose, i) => {
    if (i % 20 === 0) {
      throwIfStopped(context);
      context.progress((0.6 * i) / search.coarse.length, 'trying placements');
    }
    const score = search.score(pose, on);
    if (score !== null) scored.push({ pose, score });
  });
  return scored.sort((a, b) => (isBetter(a.score, b.score) ? -1 : isBetter(b.score, a.score) ? 1 : 0));
}

/** Best first, each refined, none overlapping one in `taken` by more than allowed; `taken` grows. */
function takeDistinct(
  scored: readonly Scored[],
  request: PlacementSearchRequest,
  search: Search,
  taken: RingM[],
  mayBe: (pose: Pose) => boolean,
  context: JobContext,
): Scored[] {
  const out: Scored[] = [];
  const areaM2 = polygonsArea([[search.footprint]]);
  const reachM = extentsOf(search.footprint).lengthM;
  const isDistinct = (ring: RingM) =>
    taken.every((other) => !overlaps(ring, other, request.mostOverlap * areaM2, reachM));
  for (const start of scored) {
    if (out.length === request.wanted) break;
    throwIfStopped(context);
    if (!isDistinct(placeRing(search.footprint, start.pose))) continue;
    const full = search.score(start.pose, request.ensemble);
    if (full === null) continue;
    const may = (pose: Pose) => mayBe(pose) && isDistinct(placeRing(search.footprint, pose));
    const best = refine({ pose: start.pose, score: full }, request, search, may, context);
    taken.push(placeRing(search.footprint, best.pose));
    out.push(best);
  }
  return out;
}

function overlaps(a: RingM, b: RingM, mostM2: number, reachM: number): boolean {
  const [p, q] = [boundingBox(a), boundingBox(b)];
  if (Math.abs(p.minX + p.maxX - q.minX - q.maxX) > 2 * reachM) return false;
  if (p.minX >= q.maxX || q.minX >= p.maxX || p.minY >= q.maxY || q.minY >= p.maxY) return false;
  return polygonsArea(intersectPolygons([[a]], [[b]])) > mostM2 + 1e-6;
}

function refine(
  start: Scored,
  request: PlacementSearchRequest,
  search: Search,
  may: (pose: Pose) => boolean,
  context: JobContext,
): Scored {
  let best = start;
  let turnDeg = request.turns.mayTurn ? TURN_STEP_DEG / 2 : 0;
  for (let stepM = search.stepM / 2; stepM >= FINEST_STEP_M; stepM /= 2, turnDeg /= 2) {
    for (let moved = true; moved; ) {
      moved = false;
      throwIfStopped(context);
      for (const [x, y, turn] of MOVES) {
        if (turn !== 0 && turnDeg === 0) continue;
        const pose: Pose = {
          ...best.pose,
          dxM: best.pose.dxM + x * stepM,
          dyM: best.pose.dyM + y * stepM,
          turnDeg: best.pose.turnDeg + turn * turnDeg,
        };
        const score = search.score(pose, request.ensemble);
        if (score === null || !isBetter(score, best.score) || !may(pose)) continue;
        best = { pose, score };
        moved = true;
      }
    }
  }
  return { ...best, pose: { ...best.pose, turnDeg: ((best.pose.turnDeg % 360) + 360) % 360 } };
}

const MOVES = [
  [1, 0, 0],
  [-1, 0, 0],
  [0, 1, 0],
  [0, -1, 0],
  [1, 1, 0],
  [-1, 1, 0],
  [1, -1, 0],
  [-1, -1, 0],
  [0, 0, 1],
  [0, 0, -1],
] as const;

function describePlacement(request: PlacementSearchRequest, footprint: RingM, found: Scored): FoundPlacement {
  const { pose, score } = found;
  const { estimate, fresh, objective, limitsKBqPerM3 } = request;
  const ring = placeRing(footprint, pose);
  return {
    pose,
    ring,
    distanceMovedM: distanceMovedM(pose),
    searched: score,
    judged: judge(ring, pose, objective, fresh, request),
    statistics: statisticsUnder(ring, estimate, fresh, limitsKBqPerM3),
    probesNear: probesNear(ring, request),
  };
}

/** On fresh realisations the estimate is their own block mean, not the surface that was searched. */
function judge(
  ring: RingM,
  pose: Pose,
  objective: Objective,
  fresh: Ensemble,
  request: PlacementSearchRequest,
): Score | null {
  const score = scoreOn(ring, pose, objective, request.estimate, fresh);
  if (score === null || objective.kind !== 'lowest-estimate') return score;
  const mean = statisticsUnder(ring, request.estimate, fresh, []).blockMeanKBqPerM3?.mean;
  if (mean === undefined) return null;
  const value = mean + objective.perMetreMoved * distanceMovedM(pose);
  return { statistic: mean, value, tieBreak: value };
}

function compareJudged(a: FoundPlacement, b: FoundPlacement): number {
  if (a.judged === null || b.judged === null) return Number(a.judged === null) - Number(b.judged === null);
  return isBetter(a.judged, b.judged) ? -1 : isBetter(b.judged, a.judged) ? 1 : 0;
}

function probesNear(ring: RingM, request: PlacementSearchRequest): number {
  const { probes, withinM } = request.evidence;
  return probes.filter((p) => pointInPolygon(p, [ring]) || distanceToRing(p, ring) <= withinM).length;
}

function suitabilityField(
  footprint: RingM,
  ground: readonly PolygonM[],
  scored: readonly Scored[],
  stepM: number,
): PlacementSearch['suitability'] {
  const box = boundingBox(ground.flatMap((polygon) => polygon[0] ?? []));
  const columns = Math.max(1, Math.ceil((box.maxX - box.minX) / stepM));
  const rows = Math.max(1, Math.ceil((box.maxY - box.minY) / stepM));
  const lowest = new Float64Array(columns * rows).fill(Number.NaN);
  for (const { pose, score } of scored) {
    const [x, y] = centroidAt(footprint, pose);
    const c = Math.floor((x - box.minX) / stepM);
    const r = Math.floor((y - box.minY) / stepM);
    if (c < 0 || r < 0 || c >= columns || r >= rows) continue;
    const at = r * columns + c;
    if (!(lowest[at]! <= score.statistic)) lowest[at] = score.statistic;
  }
  const grid = { x0M: box.minX + stepM / 2, y0M: box.minY + stepM / 2, cellM: stepM, columns, rows };
  return { grid, lowest };
}
