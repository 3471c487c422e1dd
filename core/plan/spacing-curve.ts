/** What a number of probes buys: map error against hours of work, under a guessed variogram. */
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { polygonsArea } from '../geo/planar.ts';
import { krige } from '../geostat/krige.ts';
import { totalSill, type VariogramModel } from '../geostat/models.ts';
import { type JobContext, throwIfStopped } from '../jobs/job.ts';
import { designGrid } from './grid-design.ts';
import type { GridPattern, GridRequest } from './grid-types.ts';
import { gridPointsInside, stepForCount } from './ground-test.ts';
import { checkPace, shareRoute, type WorkPace } from './split-route.ts';
import { walkGround } from './walk-ground.ts';
import { planRoute } from './walking-order.ts';

export interface SpacingCurveRequest {
  readonly pattern: Exclude<GridPattern, 'along-footprint'>;
  readonly sizes: readonly ({ readonly spacingM: number } | { readonly count: number })[];
  readonly ground: readonly PolygonM[];
  readonly stand?: GridRequest['stand'];
  readonly footprint: RingM | null;
  readonly around: GridRequest['around'];
  /** The area whose map error counts. */
  readonly target: readonly PolygonM[];
  /** A guess: nothing is measured yet. */
  readonly model: VariogramModel;
  /** Of a test's own error, in the squared unit of the model; 0 where not known. */
  readonly errorVariance: number;
  /** Where the walk starts and ends. */
  readonly start: PositionM;
  /** What is walked round; do not overlap. */
  readonly barriers: readonly PolygonM[];
  readonly pace: WorkPace;
  /** Unpacking, blanks, closing background: once a day, for each instrument. */
  readonly dailyMinutes: number;
}

export interface CurvePoint {
  readonly probes: number;
  readonly spacingM: number;
  readonly worstGapM: number;
  /** Kriging variance over the target, of a value beside the probes, nugget included. */
  readonly meanVariance: number;
  readonly worstVariance: number;
  /** Square root of `meanVariance`: the error of the map in its own unit. */
  readonly mapError: number;
  /** Share of the sill that stays unexplained: 1 tells nothing, the nugget's share is the least possible. */
  readonly unexplained: number;
  /** Of all instruments and days together. */
  readonly hoursOfWork: number;
  /** Of the longest day of one instrument. */
  readonly longestDayHours: number;
  readonly walkM: number;
}

export interface SpacingCurve {
  /** By rising number of probes; equal numbers once. */
  readonly points: readonly CurvePoint[];
  /** Index into `points`; null where fewer than three points or no bend toward less work. */
  readonly elbow: number | null;
  readonly elbowRule: string;
  readonly cautions: readonly string[];
}

const TARGETS = 300;
const ELBOW_RULE =
  'The elbow is the point farthest below the straight line from the fewest to the most probes, hours and map error each scaled from 0 to 1.';

/** @throws AppError as designGrid, planRoute and prepareKriging; BAD_INPUT for no size; CANCELLED */
export function computeSpacingCurve(request: SpacingCurveRequest, context: JobContext): SpacingCurve {
  const { sizes, target, pace, dailyMinutes } = request;
  checkPace(pace);
  if (sizes.length === 0)
    throw new AppError('BAD_INPUT', 'No spacing and no number of probes is given.', { field: 'sizes' });
  if (!(dailyMinutes >= 0))
    throw new AppError('BAD_INPUT', `${dailyMinutes} minutes a day beside the tests: must be 0 or more.`, {
      field: 'dailyMinutes',
    });
  const targets = gridPointsInside(target, stepForCount(polygonsArea(target), TARGETS));
  const cells = Float64Array.from(targets.flat());
  const byCount = new Map<number, CurvePoint>();
  sizes.forEach((size, i) => {
    throwIfStopped(context);
    const within: JobContext = {
      stopped: context.stopped,
      progress: (done, stage) => context.progress((i + done) / sizes.length, stage),
    };
    const point = curvePoint(request, size, cells, within);
    const known = byCount.get(point.probes);
    if (known === undefined || point.meanVariance < known.meanVariance) byCount.set(point.probes, point);
  });
  const points = [...byCount.values()].sort((a, b) => a.probes - b.probes);
  return {
    points,
    elbow: findElbow(points.map((p) => [p.hoursOfWork, p.mapError] as const)),
    elbowRule: ELBOW_RULE,
    cautions: [
      'The variogram is a guess: the shape of the curve is telling, its level is not.',
      'The scheme’s minimum number, depth and place hold whatever the curve says.',
    ],
  };
}

function curvePoint(
  request: SpacingCurveRequest,
  size: SpacingCurveRequest['sizes'][number],
  cells: Float64Array,
  context: JobContext,
): CurvePoint {
  const { pattern, ground, stand = ground, footprint, around, model, pace } = request;
  const design = designGrid({ pattern, size, ground, stand, footprint, around }, context);
  const positions = design.probes.map((p) => p.positionM);
  const n = positions.length;
  const points = {
    xy: Float64Array.from(positions.flat()),
    values: new Float64Array(n),
    errorVariances: new Float64Array(n).fill(request.errorVariance),
  };
  const { variance } = krige(points, model, cells);
  const meanVariance = variance.reduce((sum, v) => sum + v, 0) / variance.length;
  const walk = walkGround(request.barriers);
  const route = planRoute(request.start, positions, context, walk);
  const work = shareRoute(request.start, positions, route, pace, context, walk);
  const parts = work.parts.length;
  return {
    probes: n,
    spacingM: design.spacingM,
    worstGapM: design.worstGapM,
    meanVariance,
    worstVariance: variance.reduce((a, b) => Math.max(a, b), 0),
    mapError: Math.sqrt(meanVariance),
    unexplained: meanVariance / totalSill(model),
    hoursOfWork: (work.totalMinutes + parts * request.dailyMinutes) / 60,
    longestDayHours: (work.longestMinutes + request.dailyMinutes) / 60,
    walkM: work.parts.reduce((sum, p) => sum + p.route.lengthM, 0),
  };
}

/**
 * Index of the point farthest below the chord of a falling curve, both axes scaled to 0..1. Null where none is below.
 * @param curve [effort, error], effort rising
 */
export function findElbow(curve: readonly (readonly [number, number])[]): number | null {
  const first = curve[0];
  const last = curve.at(-1);
  if (first === undefined || last === undefined || curve.length < 3) return null;
  const width = last[0] - first[0];
  const fall = first[1] - last[1];
  if (!(width > 0) || !(fall > 0)) return null;
  let best = { at: -1, below: 1e-9 };
  curve.forEach(([effort, error], at) => {
    const below = 1 - (effort - first[0]) / width - (error - last[1]) / fall;
    if (below > best.below) best = { at, below };
  });
  return best.at < 0 ? null : best.at;
}
