// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Conditional simulation: fields that are as rough as the ground and agree with the points. A realisation is the kriged
 * surface of the points plus a field without data less that field kriged from its own values at the points (Journel,
 * Econ. Geology 69, 1974). With ordinary and drift kriging the doubt of the mean is in it: the difference has exactly
 * the kriging variance.
 *
 * Realisation r depends on the seed and r alone, not on how many are made nor on who makes them.
 */
import { type RandomStream, randomStream } from '../classify/random.ts';
import { AppError } from '../errors.ts';
import { prepareBounded, reweigh, transformBounds } from './bound-members.ts';
import { krigingPredictor } from './krige.ts';
import { addKriged, type DualSystem, pointsAtCells } from './krige-many.ts';
import { type KrigingOptions, type KrigingState, prepareKriging, solveDual } from './kriging.ts';
import {
  type BoundedTruth,
  checkLowerBounds,
  drawTruth,
  logProbabilityOfBounds,
  type SurfacePoints,
} from './lower-bounds.ts';
import { structuredSill } from './models.ts';
import { type ModelMember, transformPoints } from './plausible-models.ts';
import { type Allocate, allocatePlain, countAt } from './points.ts';
import type { SurfaceMethod } from './predict-surface.ts';
import { drawField, type FieldFactors, type FieldPlan, factorField, planField } from './random-field.ts';

export interface SimulationRequest {
  /** Centres of the cells, interleaved metres; many cells must lie on one regular grid (any part of it). */
  readonly cellsXy: Float64Array;
  readonly seed: number;
  readonly realisations: number;
  /** Relative standard uncertainty common to all values (calibration): one factor for each whole realisation. */
  readonly commonURel?: number;
}

interface SimulationMember extends ModelMember {
  readonly state: KrigingState;
  /** Null where no place has only a lower bound. */
  readonly truth: BoundedTruth | null;
}

/** All that realisations need, as plain data and flat arrays that threads may share. */
export interface Simulation {
  readonly cellsXy: Float64Array;
  readonly seed: number;
  readonly commonURel: number;
  readonly errorFactor: number;
  readonly members: readonly SimulationMember[];
  /** Which member each realisation is of. */
  readonly memberOf: Int32Array;
  readonly plan: FieldPlan;
}

/** One realisation takes a few operations a cell for each of this many points at most. */
const MOST_POINTS = 4000;

/**
 * @param points as for `predictSurface`
 * @param step called before each model with the share that is done; may throw to stop
 * @throws AppError BAD_INPUT for inverse distances (they have no error to draw from), a block, too many points or cells
 *   that are not on a grid; as prepareKriging
 */
export function prepareSimulation(
  points: SurfacePoints,
  surface: SurfaceMethod,
  request: SimulationRequest,
  allocate: Allocate = allocatePlain,
  step: (done: number) => void = () => {},
): Simulation {
  const { cellsXy, seed, realisations, commonURel = 0 } = request;
  if (surface.method === 'idw')
    throw new AppError(
      'BAD_INPUT',
      'Simulation: inverse distances state no error, so there is nothing to draw',
    );
  if (surface.options.block !== undefined)
    throw new AppError('BAD_INPUT', 'Simulation: a block was given; simulate its cells and take their mean');
  if (points.values.length > MOST_POINTS)
    throw new AppError(
      'BAD_INPUT',
      `Simulation: ${points.values.length} points are too many (at most ${MOST_POINTS})`,
    );
  if (!(Number.isInteger(realisations) && realisations >= 1))
    throw new AppError('BAD_INPUT', `Simulation: ${realisations} realisations`);
  const { neighbourhood: _local, ...options } = surface.options;
  const members = prepareMembers(points, surface, { ...options, allocate }, seed, step);
  const { xs, ys } = members[0]!.state.points;
  return {
    cellsXy,
    seed,
    commonURel,
    errorFactor: surface.errorFactor ?? 1,
    members,
    memberOf: shareOut(members, realisations, seed),
    plan: planField(cellsXy, xs, ys),
  };
}

function prepareMembers(
  points: SurfacePoints,
  surface: SurfaceMethod & { method: 'kriging' },
  options: KrigingOptions,
  seed: number,
  step: (done: number) => void,
): SimulationMember[] {
  const { lowerBounds } = points;
  if (lowerBounds !== undefined) checkLowerBounds(lowerBounds);
  const logs: number[] = [];
  const members = surface.members.map((member, m): SimulationMember => {
    step(m / surface.members.length);
    const data = transformPoints(points, member.transform);
    const bounds = lowerBounds === undefined ? null : transformBounds(lowerBounds, member);
    if (bounds === null || bounds.bounds.length === 0) {
      logs.push(0);
      return { ...member, state: prepareKriging(data, member.model, options), truth: null };
    }
    const { state, truth } = prepareBounded(data, bounds, member, options, surface.errorFactor ?? 1);
    logs.push(logProbabilityOfBounds(truth, seed));
    return { ...member, state, truth };
  });
  return reweigh(members, logs);
}

const GOLDEN = (Math.sqrt(5) - 1) / 2;

/** Members in proportion to their weights in any run of realisations: steps of the golden ratio from a seeded start. */
function shareOut(members: readonly ModelMember[], realisations: number, seed: number): Int32Array {
  const start = randomStream(seed, -1).uniform();
  return Int32Array.from({ length: realisations }, (_, r) => {
    let left = (start + r * GOLDEN) % 1;
    for (let m = 0; m < members.length - 1; m++) {
      left -= members[m]!.weight;
      if (left < 0) return m;
    }
    return members.length - 1;
  });
}

/**
 * Realisations `from`..`to` (exclusive) into out[(r - from) * cells + cell], in the unit of the values.
 * The truth is drawn: nugget included, error variances of the points filtered out.
 */
export function simulateInto(simulation: Simulation, from: number, to: number, out: Float64Array): void {
  const cells = simulation.cellsXy.length / 2;
  const draw = simulator(simulation);
  simulation.members.forEach((_, m) => {
    const mine: number[] = [];
    for (let r = from; r < to; r++) if (simulation.memberOf[r] === m) mine.push(r);
    if (mine.length > 0) draw(mine, (r) => out.subarray((r - from) * cells, (r - from + 1) * cells));
  });
}

/** All realisations in runs of one member each, of at most so many: quicker to draw than in their own order. */
export function runsByMember({ members, memberOf }: Simulation, most: number): number[][] {
  return members.flatMap((_, m) => {
    const mine = [...memberOf.keys()].filter((r) => memberOf[r] === m);
    return Array.from({ length: Math.ceil(mine.length / most) }, (_, k) =>
      mine.slice(k * most, (k + 1) * most),
    );
  });
}

/** Draws realisations that are all of one member; `target` says where each goes. */
export type Simulator = (realisations: readonly number[], target: (r: number) => Float64Array) => void;

/** With this thread's own scratch; quickest where calls for one member follow each other. */
export function simulator(simulation: Simulation): Simulator {
  let last = -1;
  let drawOfLast: Simulator | null = null;
  return (realisations, target) => {
    const m = simulation.memberOf[realisations[0]!]!;
    if (m !== last || drawOfLast === null) drawOfLast = memberSimulator(simulation, simulation.members[m]!);
    last = m;
    drawOfLast(realisations, target);
  };
}

function memberSimulator(simulation: Simulation, member: SimulationMember): Simulator {
  const { cellsXy, plan, seed, errorFactor, commonURel } = simulation;
  const { state, transform, truth } = member;
  const { points, compiled, driftColumns: p, offset } = state;
  const { n } = points;
  const cells = cellsXy.length / 2;
  const nugget = Math.sqrt(compiled[0]!);
  const factors = structuredSill(compiled) > 0 ? factorField(plan, compiled, allocatePlain) : null;
  const atPoint = pointsAtCells(state, cellsXy);
  const recentre = transform === 'log' && errorFactor !== 1 ? recentring(state, cellsXy, errorFactor) : null;
  const common = (stream: RandomStream) => Math.max(0, 1 + commonURel * stream.normal());
  return (realisations, target) => {
    const sets = realisations.map(
      (): DualSystem => ({ dual: new Float64Array(n), drift: new Float64Array(p) }),
    );
    const scales = new Float64Array(realisations.length);
    const targets = realisations.map(target);
    realisations.forEach((r, k) => {
      const stream = randomStream(seed, r);
      scales[k] = commonURel > 0 ? common(stream) : 1;
      const field = drawUnconditional(plan, factors, stream.normal);
      const ownNuggets = Float64Array.from({ length: n }, () => nugget * stream.normal());
      const values = truth === null ? points.values : withTruth(points.values, truth, stream);
      const residuals = values.map((v, i) => {
        const error = Math.sqrt(points.errorVariances[i]!);
        const noise = error > 0 ? error * stream.normal() : 0;
        return v - errorFactor * (field[plan.pointPlaces[i]!]! + ownNuggets[i]! + noise);
      });
      const out = targets[k]!;
      for (let c = 0; c < cells; c++) {
        const first = atPoint[c]!;
        const e = first < 0 ? nugget * stream.normal() : meanAt(state, ownNuggets, first);
        out[c] = errorFactor * (field[plan.cellPlaces[c]!]! + e);
      }
      const { factor, whitenedDrift, driftFactor } = state.system!;
      solveDual(residuals, offset, factor, whitenedDrift, driftFactor, n, p, sets[k]!.dual, sets[k]!.drift);
    });
    addKriged(state, cellsXy, atPoint, offset, sets, targets);
    targets.forEach((out, k) => {
      for (let c = 0; c < cells; c++) {
        const y = out[c]! - (recentre === null ? 0 : recentre[c]!);
        out[c] = scales[k]! * (transform === 'log' ? Math.exp(y) : y);
      }
    });
  };
}

function drawUnconditional(
  plan: FieldPlan,
  factors: FieldFactors | null,
  normal: () => number,
): Float64Array {
  const field = new Float64Array(plan.n);
  if (factors !== null) drawField(plan, factors, normal, field);
  return field;
}

function withTruth(values: Float64Array, truth: BoundedTruth, stream: RandomStream): Float64Array {
  const out = values.slice();
  const drawn = drawTruth(truth, stream);
  truth.rows.forEach((row, k) => {
    out[row] = drawn[k]!;
  });
  return out;
}

function meanAt(state: KrigingState, values: Float64Array, first: number): number {
  const count = countAt(state.points, first);
  let sum = 0;
  for (let i = first; i < first + count; i++) sum += values[i]!;
  return sum / count;
}

/** Wider errors of a logarithm would raise the mean of the value: what to take off so that they do not. */
function recentring(state: KrigingState, cellsXy: Float64Array, errorFactor: number): Float64Array {
  const cells = cellsXy.length / 2;
  const variance = new Float64Array(cells);
  krigingPredictor(state).predictInto(cellsXy, 0, cells, new Float64Array(cells), variance);
  return variance.map((v) => ((errorFactor ** 2 - 1) * v) / 2);
}
