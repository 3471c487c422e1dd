// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Where the next probes lower the doubt about the class most. The class of ground is where its own statistic (as the
 * scheme asks for one of the points, here of all the ground) lies among the scheme's limits. Each conditional realisation
 * gives that statistic and what a probe would read at each candidate; of both together, the variance of the statistic
 * that is expected to be left once the probes have been read follows by linear regression (Bayes linear: exact where they
 * are jointly normal). That variance is lowered, not the class: what the probes will read does not enter.
 */

import { quantile } from '../classify/quantile.ts';
import type { PolygonM, PositionM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { boundingBox, polygonsArea } from '../geo/planar.ts';
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import { normalCdf, normalQuantile } from '../geostat/normal.ts';
import { transformPoints } from '../geostat/plausible-models.ts';
import type { SurfaceMethod } from '../geostat/predict-surface.ts';
import { prepareSimulation, runsByMember, simulator } from '../geostat/simulate.ts';
import { type JobContext, throwIfStopped } from '../jobs/job.ts';
import { median } from '../median.ts';
import { chooseGreedily, exchangePlaces } from './choose-places.ts';
import { labelProbes } from './grid-design.ts';
import { type GroundTest, prepareGround, stepForCount } from './ground-test.ts';
import { ADDED_CAUTIONS, CANDIDATES, DEFAULT_APART_M, MOST_ADDED, placesApartFrom } from './next-probes.ts';
import { bestCandidate } from './variance-choice.ts';
import { updateFrom, type VarianceUpdate } from './variance-update.ts';

/** What the scheme takes from its points. */
export type GroundStatistic =
  | { readonly kind: 'quantile'; readonly p: number }
  | { readonly kind: 'maximum' }
  | { readonly kind: 'mean' };

export interface NextByClassRequest {
  readonly points: SurfacePoints;
  readonly surface: SurfaceMethod;
  readonly count: number;
  /** Where probes may be driven. */
  readonly ground: readonly PolygonM[];
  /** The ground whose class is in doubt. */
  readonly target: readonly PolygonM[];
  readonly statistic: GroundStatistic;
  /** Limits between the classes, rising, in the unit of the values; empty where none is in force. */
  readonly limits: readonly number[];
  readonly occupied: readonly PositionM[];
  readonly apartM?: number;
  readonly labels?: { readonly prefix: string; readonly taken: readonly string[] };
  readonly seed: number;
  /** Of each of two sets: places are chosen by the first, their gain is told by the second. Default 1500. */
  readonly realisations?: number;
}

export interface NextByClass {
  /** In the order in which each lowers the doubt most. */
  readonly added: readonly {
    readonly label: string;
    readonly positionM: PositionM;
    /** Fall of the statistic's variance by this probe, as a share of what it is before any. */
    readonly gain: number;
  }[];
  /** Standard deviation of the statistic, of its logarithm where `isLog`. */
  readonly sdBefore: number;
  readonly sdAfter: number;
  readonly isLog: boolean;
  /** Chance that the ground's class is another than the likeliest one, now and expected after; null without limits. */
  readonly doubtBefore: number | null;
  readonly doubtAfter: number | null;
  readonly realisations: number;
  readonly candidateStepM: number;
  readonly cautions: readonly string[];
}

const DEFAULT_REALISATIONS = 1500;
const LEAST_TARGETS = 120;
const MOST_TARGETS = 600;

export const CLASS_DOUBT_CAUTIONS: readonly string[] = [
  'The doubt meant is that of the ground as the model sees it; the class itself comes from the measured points alone.',
  'Places are chosen for what they tell, high or low: none is chosen to bring the class down, and a low value is no reason to leave the others undriven.',
];

/**
 * @throws AppError BAD_INPUT where nothing is measured, there is no room, or the surface has no error; CANCELLED
 */
export function proposeNextByClass(request: NextByClassRequest, context: JobContext): NextByClass {
  const { count, points, apartM = DEFAULT_APART_M } = request;
  if (points.values.length === 0)
    throw new AppError(
      'BAD_INPUT',
      'Nothing is measured yet: lay out a grid first. Next probes are chosen from what is known.',
    );
  if (!Number.isInteger(count) || count < 1 || count > MOST_ADDED)
    throw new AppError('BAD_INPUT', `${count} more probes: give a whole number from 1 to ${MOST_ADDED}.`, {
      field: 'count',
    });
  const layout = layOut(request, apartM);
  const { candidates } = layout;
  if (candidates.length < count)
    throw new AppError(
      'BAD_INPUT',
      `There is room for about ${candidates.length} more probes on the allowed ground, ${apartM} m off all others; ${count} are asked for.`,
      { field: 'count' },
    );
  const first = drawReadings(request, layout, request.seed, within(context, 0, 0.4));
  const choice = {
    members: [{ update: updateOf(first), weight: 1 }],
    places: candidates,
    criterion: 'mean' as const,
    apartM,
  };
  let chosen = chooseGreedily(choice, count, context, [0.4, 0.5]);
  chosen = exchangePlaces(choice, chosen, context, [0.5, 0.6]);
  // The best of many flatters itself: what it is worth is read off realisations that did not choose it.
  const second = drawReadings(request, layout, request.seed + 1, within(context, 0.6, 1));
  return report(request, layout, second, chosen);
}

function within(context: JobContext, from: number, to: number): JobContext {
  return {
    stopped: context.stopped,
    progress: (done, stage) => context.progress(from + (to - from) * done, stage),
  };
}

interface Layout {
  /** Centres of cells of one regular grid: the candidates first, then those of the target. */
  readonly cellsXy: Float64Array;
  readonly candidates: readonly PositionM[];
  readonly targets: number;
  readonly candidateStepM: number;
}

/** One regular grid for both, as realisations need it; candidates are every few cells of it. */
function layOut(request: NextByClassRequest, apartM: number): Layout {
  for (const [field, polygons] of Object.entries({ ground: request.ground, target: request.target }))
    if (!(polygonsArea(polygons) > 0))
      throw new AppError('BAD_INPUT', `The ${field} for the next probes is empty.`, { field });
  const coarseM = stepForCount(polygonsArea(request.ground), CANDIDATES);
  const targetM2 = polygonsArea(request.target);
  const stepM = Math.max(
    stepForCount(targetM2, MOST_TARGETS),
    Math.min(coarseM, stepForCount(targetM2, LEAST_TARGETS)),
  );
  const every = Math.max(1, Math.round(coarseM / stepM));
  const ground = prepareGround(request.ground);
  const target = prepareGround(request.target);
  const box = boundingBox([...request.ground, ...request.target].flatMap((polygon) => polygon[0] ?? []));
  const at = (column: number, row: number): PositionM => [
    box.minX + (column + 0.5) * stepM,
    box.minY + (row + 0.5) * stepM,
  ];
  const columns = Math.max(1, Math.ceil((box.maxX - box.minX) / stepM));
  const rows = Math.max(1, Math.ceil((box.maxY - box.minY) / stepM));
  const middle = Math.floor(every / 2);
  const cells = (holds: GroundTest, isMeant: (column: number, row: number) => boolean): PositionM[] => {
    const out: PositionM[] = [];
    for (let row = 0; row < rows; row++)
      for (let column = 0; column < columns; column++)
        if (isMeant(column, row) && holds.contains(...at(column, row))) out.push(at(column, row));
    return out;
  };
  const targets = cells(target, () => true);
  const isEvery = (column: number, row: number) => column % every === middle && row % every === middle;
  const candidates = placesApartFrom(cells(ground, isEvery), request.occupied, apartM);
  return {
    cellsXy: Float64Array.from([...candidates, ...targets].flat()),
    candidates,
    targets: targets.length,
    candidateStepM: every * stepM,
  };
}

interface Readings {
  readonly realisations: number;
  /** Centred, realisation by realisation: the truth at each candidate. */
  readonly atCandidates: Float64Array;
  readonly candidates: number;
  /** Centred. */
  readonly statistic: Float64Array;
  readonly meanStatistic: number;
  /** Variance of a new probe's own error. */
  readonly noise: number;
  readonly isLog: boolean;
}

const RUN = 50;

function drawReadings(
  request: NextByClassRequest,
  layout: Layout,
  seed: number,
  context: JobContext,
): Readings {
  const { points, surface, statistic, realisations = DEFAULT_REALISATIONS } = request;
  const { cellsXy, candidates, targets } = layout;
  const cells = cellsXy.length / 2;
  const nc = candidates.length;
  // A common error of calibration would be in the new readings too: no probe lowers it, and it is left out.
  const simulation = prepareSimulation(points, surface, { cellsXy, seed, realisations });
  const isLog = surface.method === 'kriging' && surface.members.every((m) => m.transform === 'log');
  const scale = (value: number) => (isLog ? Math.log(value) : value);
  const atCandidates = new Float64Array(realisations * nc);
  const values = new Float64Array(realisations);
  const scratch = new Float64Array(RUN * cells);
  const own = (k: number) => scratch.subarray(k * cells, (k + 1) * cells);
  const draw = simulator(simulation);
  const runs = runsByMember(simulation, RUN);
  runs.forEach((run, done) => {
    throwIfStopped(context);
    context.progress(done / runs.length, 'drawing the ground');
    draw(run, (r) => own(run.indexOf(r)));
    run.forEach((r, k) => {
      const drawn = own(k);
      for (let c = 0; c < nc; c++) atCandidates[r * nc + c] = scale(drawn[c]!);
      values[r] = scale(statisticOf(drawn.subarray(nc, nc + targets), statistic));
    });
  });
  for (let c = 0; c < nc; c++) centre(atCandidates, c, nc, realisations);
  const meanStatistic = centre(values, 0, 1, realisations);
  const { errorVariances } = transformPoints(points, isLog ? 'log' : 'none');
  return {
    realisations,
    atCandidates,
    candidates: nc,
    statistic: values,
    meanStatistic,
    noise: median(errorVariances ?? new Float64Array(1)),
    isLog,
  };
}

function statisticOf(values: Float64Array, statistic: GroundStatistic): number {
  if (statistic.kind === 'quantile') return quantile(values, statistic.p, 'linear-n-1');
  if (statistic.kind === 'maximum') return values.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  return values.reduce((a, b) => a + b, 0) / values.length;
}

/** @returns the mean taken off */
function centre(values: Float64Array, start: number, stride: number, count: number): number {
  let sum = 0;
  for (let r = 0; r < count; r++) sum += values[start + r * stride]!;
  const mean = sum / count;
  for (let r = 0; r < count; r++) values[start + r * stride] = values[start + r * stride]! - mean;
  return mean;
}

/** Covariances over the realisations, of the candidates given, with the statistic as the only target. */
function updateOf(readings: Readings, among: readonly number[] | null = null): VarianceUpdate {
  const { realisations, atCandidates, candidates: all, statistic, noise } = readings;
  const picked = among ?? Array.from({ length: all }, (_, c) => c);
  const nc = picked.length;
  const within = new Float64Array(nc * nc);
  const cross = new Float64Array(nc);
  let variance = 0;
  const row = new Float64Array(nc);
  for (let r = 0; r < realisations; r++) {
    const s = statistic[r]!;
    variance += s * s;
    for (let i = 0; i < nc; i++) row[i] = atCandidates[r * all + picked[i]!]!;
    for (let i = 0; i < nc; i++) {
      const z = row[i]!;
      cross[i] = cross[i]! + z * s;
      for (let j = 0, at = i * nc; j <= i; j++, at++) within[at] = within[at]! + z * row[j]!;
    }
  }
  const divisor = realisations - 1;
  for (let i = 0; i < nc; i++) {
    cross[i] = cross[i]! / divisor;
    for (let j = 0; j <= i; j++) {
      const value = within[i * nc + j]! / divisor;
      within[i * nc + j] = value;
      within[j * nc + i] = value;
    }
  }
  // What a cell has of its own is in its variance already, so that nothing is left over as nugget.
  const base = { candidates: nc, nugget: 0, within, cross, variance: Float64Array.of(variance / divisor) };
  return updateFrom(base, noise);
}

function report(
  request: NextByClassRequest,
  layout: Layout,
  readings: Readings,
  chosen: readonly number[],
): NextByClass {
  const update = updateOf(readings, chosen);
  const members = [{ update, weight: 1 }];
  const before = update.targetVariance[0]!;
  const order: { readonly at: number; readonly gain: number }[] = [];
  for (let left = chosen.map((_, k) => k); left.length > 0; ) {
    const was = update.targetVariance[0]!;
    const { at } = bestCandidate(members, left, 'mean');
    update.add(at);
    order.push({ at, gain: (was - update.targetVariance[0]!) / before });
    left = left.filter((k) => k !== at);
  }
  const after = update.targetVariance[0]!;
  const labelled = labelProbes(
    order.map(({ at }) => layout.candidates[chosen[at]!]!),
    request.labels ?? { prefix: 'A', taken: [] },
  );
  const limits = request.limits.map((limit) => (readings.isLog ? Math.log(limit) : limit));
  const doubt = (left: number) =>
    limits.length === 0 ? null : expectedDoubt(readings.meanStatistic, before, left, limits);
  const few =
    request.points.values.length < 10
      ? [
          `Only ${request.points.values.length} points are measured: the models, and with them the gains, are a guess.`,
        ]
      : [];
  return {
    added: labelled.map((probe, i) => ({ ...probe, gain: order[i]!.gain })),
    sdBefore: Math.sqrt(before),
    sdAfter: Math.sqrt(after),
    isLog: readings.isLog,
    doubtBefore: doubt(before),
    doubtAfter: doubt(after),
    realisations: readings.realisations,
    candidateStepM: layout.candidateStepM,
    cautions: [...ADDED_CAUTIONS, ...CLASS_DOUBT_CAUTIONS, ...few],
  };
}

const OUTCOMES = 400;

/**
 * Expected chance that the statistic lies in another class than the likeliest one, once its variance has fallen from
 * `before` to `left`: what will then be taken for its mean is itself normal, with the variance taken off.
 */
export function expectedDoubt(mean: number, before: number, left: number, limits: readonly number[]): number {
  const sd = Math.sqrt(left);
  const spread = Math.sqrt(Math.max(0, before - left));
  let sum = 0;
  for (let k = 0; k < OUTCOMES; k++) {
    const centreOfLeft = mean + spread * normalQuantile((k + 0.5) / OUTCOMES);
    const under = limits.map((limit) => normalCdf((limit - centreOfLeft) / sd));
    let likeliest = 0;
    for (let c = 0; c <= under.length; c++)
      likeliest = Math.max(likeliest, (under[c] ?? 1) - (under[c - 1] ?? 0));
    sum += 1 - likeliest;
  }
  return sum / OUTCOMES;
}
