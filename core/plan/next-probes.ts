// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Where the next probes tell most: positions that lower the kriging variance of a target area most. */

import type { PolygonM, PositionM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { polygonsArea } from '../geo/planar.ts';
import { totalSill } from '../geostat/models.ts';
import { type ModelMember, transformPoints } from '../geostat/plausible-models.ts';
import type { PointSet } from '../geostat/points.ts';
import { type JobContext, throwIfStopped } from '../jobs/job.ts';
import { median } from '../median.ts';
import { chooseGreedily, exchangePlaces } from './choose-places.ts';
import { labelProbes } from './grid-design.ts';
import { type GroundTest, gridPointsInside, prepareGround, stepForCount } from './ground-test.ts';
import {
  bestCandidate,
  type Criterion,
  type ExpectedVariance,
  expectedVariance,
  setSamples,
  type WeightedUpdate,
} from './variance-choice.ts';
import { prepareVarianceUpdate } from './variance-update.ts';

export interface NextProbesRequest {
  /** What is measured: positions, values and error variances. */
  readonly points: PointSet;
  /** One model, or several averaged by weight. */
  readonly members: readonly ModelMember[];
  readonly drift?: 'constant' | 'linear';
  /** How many to add; fixed before any is driven. */
  readonly count: number;
  /** Where probes may be driven. */
  readonly ground: readonly PolygonM[];
  /** The area whose variance counts, such as the lot or a footprint. */
  readonly target: readonly PolygonM[];
  readonly criterion: Criterion;
  /** All probes there are, also those without a value: none is added closer to them than `apartM`. */
  readonly occupied: readonly PositionM[];
  /** Default 1.5 m, the distance at which a failed probe is driven again (common practice). */
  readonly apartM?: number;
  readonly labels?: { readonly prefix: string; readonly taken: readonly string[] };
}

export interface AddedProbe {
  readonly label: string;
  readonly positionM: PositionM;
  /** Always true: a probe placed by the results so far, to be marked as such wherever it is shown. */
  readonly added: true;
  /** Expected once this one and those before it are driven. */
  readonly after: ExpectedVariance;
  /** Fall of the criterion by this probe, as a share of its value before any is added. */
  readonly gain: number;
}

export interface NextProbes {
  /** In the order in which each lowers the criterion most. */
  readonly added: readonly AddedProbe[];
  readonly criterion: Criterion;
  readonly before: ExpectedVariance;
  readonly after: ExpectedVariance;
  /** 'model': squared unit of what the models describe. 'share-of-sill': models of values and logarithms are mixed. */
  readonly unit: 'model' | 'share-of-sill';
  readonly candidateStepM: number;
  readonly targetStepM: number;
  readonly cautions: readonly string[];
}

export const CANDIDATES = 400;
const TARGETS = 400;
export const MOST_ADDED = 200;
export const DEFAULT_APART_M = 1.5;

export const ADDED_CAUTIONS: readonly string[] = [
  'The number of added probes is fixed before they are driven; drive all of them, whatever the first ones show.',
  'Added probes are marked, and the class is shown with and without them.',
  'The gain is expected under the variogram models given; it does not hang on what the probes will read.',
];

/**
 * Greedy choice from a grid of candidates, then exchanges of one probe at a time until none helps, then the same among
 * places four times finer around each. Variances are those of a value beside the probes, nugget included.
 * @throws AppError BAD_INPUT where nothing is measured yet, the number is not usable or has no room; as prepareKriging; CANCELLED
 */
export function proposeNextProbes(request: NextProbesRequest, context: JobContext): NextProbes {
  checkRequest(request);
  const { criterion, count, points } = request;
  const groundTest = prepareGround(request.ground);
  const candidateStepM = stepForCount(polygonsArea(request.ground), CANDIDATES);
  const targetStepM = stepForCount(polygonsArea(request.target), TARGETS);
  const targets = gridPointsInside(request.target, targetStepM);
  const coarse = freePlaces(gridPointsInside(request.ground, candidateStepM), request);
  if (coarse.length < count)
    throw new AppError(
      'BAD_INPUT',
      `There is room for about ${coarse.length} more probes on the allowed ground, ${apartOf(request)} m off all others; ${count} are asked for.`,
      { field: 'count' },
    );
  const members = prepareMembers(request, coarse, targets, context);
  const coarseChoice = { members, places: coarse, criterion, apartM: apartOf(request) };
  let chosen = chooseGreedily(coarseChoice, count, context, [0.3, 0.5]);
  chosen = exchangePlaces(coarseChoice, chosen, context, [0.5, 0.65]);
  const fine = finePlaces(
    chosen.map((c) => coarse[c]!),
    candidateStepM,
    groundTest,
    request,
  );
  context.progress(0.75, 'refining');
  const fineMembers = prepareMembers(request, fine.places, targets, context);
  const fineChoice = { ...coarseChoice, members: fineMembers, places: fine.places };
  chosen = exchangePlaces(fineChoice, fine.centres, context, [0.85, 1]);
  return report(request, fineMembers, fine.places, chosen, points, candidateStepM, targetStepM);
}

function apartOf(request: NextProbesRequest): number {
  return request.apartM ?? DEFAULT_APART_M;
}

function checkRequest(request: NextProbesRequest): void {
  const { count, points, members, apartM } = request;
  if (points.values.length === 0)
    throw new AppError(
      'BAD_INPUT',
      'Nothing is measured yet: lay out a grid first. Next probes are chosen from what is known.',
    );
  if (!Number.isInteger(count) || count < 1 || count > MOST_ADDED)
    throw new AppError('BAD_INPUT', `${count} more probes: give a whole number from 1 to ${MOST_ADDED}.`, {
      field: 'count',
    });
  if (members.length === 0 || !members.every((m) => m.weight > 0))
    throw new AppError('BAD_INPUT', 'At least one variogram model with a weight above 0 is needed.', {
      field: 'members',
    });
  if (apartM !== undefined && !(apartM >= 0))
    throw new AppError('BAD_INPUT', `Probes ${apartM} m apart: must be 0 m or more.`, { field: 'apartM' });
  for (const [field, polygons] of Object.entries({ ground: request.ground, target: request.target })) {
    if (!(polygonsArea(polygons) > 0))
      throw new AppError('BAD_INPUT', `The ${field} for the next probes is empty.`, { field });
  }
}

function prepareMembers(
  request: NextProbesRequest,
  candidates: readonly PositionM[],
  targets: readonly PositionM[],
  context: JobContext,
): WeightedUpdate[] {
  const total = request.members.reduce((sum, m) => sum + m.weight, 0);
  const relative = isMixed(request.members);
  return request.members.map((member) => {
    throwIfStopped(context);
    const data = transformPoints(request.points, member.transform);
    const noise = median(data.errorVariances ?? new Float64Array(1));
    const update = prepareVarianceUpdate(
      data,
      member.model,
      request.drift ?? 'constant',
      noise,
      candidates,
      targets,
    );
    return { update, weight: member.weight / total / (relative ? totalSill(member.model) : 1) };
  });
}

function isMixed(members: readonly ModelMember[]): boolean {
  return members.some((m) => m.transform !== members[0]?.transform);
}

function freePlaces(places: readonly PositionM[], request: NextProbesRequest): PositionM[] {
  return placesApartFrom(places, request.occupied, apartOf(request));
}

/** Those at least so far from every probe there is. */
export function placesApartFrom(
  places: readonly PositionM[],
  occupied: readonly PositionM[],
  apartM: number,
): PositionM[] {
  return places.filter((p) => occupied.every((q) => Math.hypot(p[0] - q[0], p[1] - q[1]) >= apartM));
}

/** Places around each chosen one, a quarter of the step apart; a chosen place itself is always among them. */
function finePlaces(
  chosen: readonly PositionM[],
  stepM: number,
  ground: GroundTest,
  request: NextProbesRequest,
): { places: PositionM[]; centres: number[] } {
  const places: PositionM[] = [];
  const centres: number[] = [];
  for (const [x, y] of chosen) {
    centres.push(places.length);
    places.push([x, y]);
    const around: PositionM[] = [];
    for (let i = -3; i <= 3; i++) {
      for (let j = -3; j <= 3; j++) {
        const place: PositionM = [x + (i * stepM) / 4, y + (j * stepM) / 4];
        if ((i !== 0 || j !== 0) && (i + j) % 2 === 0 && ground.contains(...place)) around.push(place);
      }
    }
    places.push(...freePlaces(around, request));
  }
  return { places, centres };
}

function report(
  request: NextProbesRequest,
  members: readonly WeightedUpdate[],
  places: readonly PositionM[],
  chosen: readonly number[],
  points: PointSet,
  candidateStepM: number,
  targetStepM: number,
): NextProbes {
  const { criterion } = request;
  setSamples(members, []);
  const before = expectedVariance(members);
  const order: { at: number; after: ExpectedVariance }[] = [];
  for (let left = chosen; left.length > 0; ) {
    const { at } = bestCandidate(members, left, criterion);
    for (const { update } of members) update.add(at);
    order.push({ at, after: expectedVariance(members) });
    left = left.filter((c) => c !== at);
  }
  const labelled = labelProbes(
    order.map((o) => places[o.at]!),
    request.labels ?? { prefix: 'A', taken: [] },
  );
  let last = before[criterion];
  const added = order.map((o, i): AddedProbe => {
    const gain = (last - o.after[criterion]) / before[criterion];
    last = o.after[criterion];
    return { ...labelled[i]!, added: true, after: o.after, gain };
  });
  const few =
    points.values.length < 10
      ? [
          `Only ${points.values.length} points are measured: the models, and with them the gains, are a guess.`,
        ]
      : [];
  return {
    added,
    criterion,
    before,
    after: added.at(-1)?.after ?? before,
    unit: isMixed(request.members) ? 'share-of-sill' : 'model',
    candidateStepM,
    targetStepM,
    cautions: [...ADDED_CAUTIONS, ...few],
  };
}
