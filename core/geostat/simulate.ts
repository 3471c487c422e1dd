// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Conditional simulation: fields that are as rough as the ground and agree with the points. A realisation is the kriged
 * surface of the points plus a field without data less that field kriged from its own values at the points (Journel,
 * Econ. Geology 69, 1974). With ordinary and drift kriging the doubt of the mean is in it: the difference has exactly
 * the kriging variance.
 *
 * Realisation r depends on the seed and r alone, not on how many are made nor on who makes them.
 */
import { randomStream } from '../classify/random.ts';
import { AppError } from '../errors.ts';
import { krigingPredictor } from './krige.ts';
import { fillDrift, type KrigingState, prepareKriging, solveDual } from './kriging.ts';
import { addStructuredCovariances, structuredSill } from './models.ts';
import { type ModelMember, transformPoints } from './plausible-models.ts';
import { type Allocate, allocatePlain, countAt, findAt, type PointSet } from './points.ts';
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
/** Cells whose covariances with the points are held at once. */
const CHUNK = 128;

/**
 * @param points as for `predictSurface`
 * @throws AppError BAD_INPUT for inverse distances (they have no error to draw from), a block, too many points or cells
 *   that are not on a grid; as prepareKriging
 */
export function prepareSimulation(
  points: PointSet,
  surface: SurfaceMethod,
  request: SimulationRequest,
  allocate: Allocate = allocatePlain,
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
  const members = surface.members.map((member) => ({
    ...member,
    state: prepareKriging(transformPoints(points, member.transform), member.model, { ...options, allocate }),
  }));
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
  const { state, transform } = member;
  const { points, compiled, driftColumns: p, offset } = state;
  const { n } = points;
  const cells = cellsXy.length / 2;
  const nugget = Math.sqrt(compiled[0]!);
  const factors = structuredSill(compiled) > 0 ? factorField(plan, compiled, allocatePlain) : null;
  const atPoint = pointsAtCells(state, cellsXy);
  const recentre = transform === 'log' && errorFactor !== 1 ? recentring(state, cellsXy, errorFactor) : null;
  const common = (stream: { normal(): number }) => Math.max(0, 1 + commonURel * stream.normal());
  return (realisations, target) => {
    const duals = realisations.map(() => new Float64Array(n));
    const drifts = realisations.map(() => new Float64Array(p));
    const scales = new Float64Array(realisations.length);
    const targets = realisations.map(target);
    realisations.forEach((r, k) => {
      const stream = randomStream(seed, r);
      scales[k] = commonURel > 0 ? common(stream) : 1;
      const field = drawUnconditional(plan, factors, stream.normal);
      const ownNuggets = Float64Array.from({ length: n }, () => nugget * stream.normal());
      const residuals = points.values.map((v, i) => {
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
      solveDual(residuals, offset, factor, whitenedDrift, driftFactor, n, p, duals[k]!, drifts[k]!);
    });
    addKriged(state, cellsXy, atPoint, duals, drifts, targets);
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

/** First of the points at each cell's very place, or -1. */
function pointsAtCells(state: KrigingState, cellsXy: Float64Array): Int32Array {
  return Int32Array.from({ length: cellsXy.length / 2 }, (_, c) =>
    findAt(state.points, cellsXy[2 * c]!, cellsXy[2 * c + 1]!),
  );
}

function meanAt(state: KrigingState, values: Float64Array, first: number): number {
  const count = countAt(state.points, first);
  let sum = 0;
  for (let i = first; i < first + count; i++) sum += values[i]!;
  return sum / count;
}

/** Adds offset + f . drift + k . dual at each cell, for all right sides at once. */
function addKriged(
  state: KrigingState,
  cellsXy: Float64Array,
  atPoint: Int32Array,
  duals: readonly Float64Array[],
  drifts: readonly Float64Array[],
  targets: readonly Float64Array[],
): void {
  const { points, compiled, driftColumns: p, driftFrame, offset } = state;
  const { n, xs, ys } = points;
  const cells = cellsXy.length / 2;
  const rows = new Float64Array(CHUNK * n);
  const f = new Float64Array(CHUNK * 3);
  for (let start = 0; start < cells; start += CHUNK) {
    const count = Math.min(CHUNK, cells - start);
    rows.fill(0);
    for (let c = 0; c < count; c++) {
      const x = cellsXy[2 * (start + c)]!;
      const y = cellsXy[2 * (start + c) + 1]!;
      addStructuredCovariances(compiled, xs, ys, 0, n, x, y, 1, rows, c * n, 1);
      const first = atPoint[start + c]!;
      const shared = first < 0 ? 0 : countAt(points, first);
      for (let i = first; i < first + shared; i++) rows[c * n + i] = rows[c * n + i]! + compiled[0]! / shared;
      fillDrift(driftFrame, p, x, y, f, 3 * c);
    }
    for (let k = 0; k < targets.length; k += 4) {
      // four right sides share each covariance read; a last group that is not full repeats its last
      const at = (j: number) => Math.min(k + j, targets.length - 1);
      const [a, b, d, e] = [duals[at(0)]!, duals[at(1)]!, duals[at(2)]!, duals[at(3)]!];
      for (let c = 0; c < count; c++) {
        let [sa, sb, sd, se] = [0, 0, 0, 0];
        const row = c * n;
        for (let i = 0; i < n; i++) {
          const covariance = rows[row + i]!;
          sa += covariance * a[i]!;
          sb += covariance * b[i]!;
          sd += covariance * d[i]!;
          se += covariance * e[i]!;
        }
        const sums = [sa, sb, sd, se];
        for (let j = 0; j < 4 && k + j < targets.length; j++) {
          let mean = offset;
          for (let q = 0; q < p; q++) mean += f[3 * c + q]! * drifts[k + j]![q]!;
          const out = targets[k + j]!;
          out[start + c] = out[start + c]! + mean + sums[j]!;
        }
      }
    }
  }
}

/** Wider errors of a logarithm would raise the mean of the value: what to take off so that they do not. */
function recentring(state: KrigingState, cellsXy: Float64Array, errorFactor: number): Float64Array {
  const cells = cellsXy.length / 2;
  const variance = new Float64Array(cells);
  krigingPredictor(state).predictInto(cellsXy, 0, cells, new Float64Array(cells), variance);
  return variance.map((v) => ((errorFactor ** 2 - 1) * v) / 2);
}
