// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Gaussian fields without data, of mean 0, at cells of a regular grid and at any number of other places.
 *
 * Few places: one Cholesky factor of all. Many: a coarse part of the grid that way, then from coarse to fine each
 * place given its nearest earlier ones (Vecchia, J. Royal Stat. Soc. B 50, 1988), the places off the grid last. On a
 * grid nearly all neighbourhoods are alike, so few systems are solved, and unlike a periodic embedding the method
 * does not care how long the range is and reaches places off the grid.
 */
import { AppError } from '../errors.ts';
import { addStructuredCovariances, structuredCovariance } from './models.ts';
import type { Allocate } from './points.ts';
import { dot, factorCholesky, solveLower, solveUpper } from './solve.ts';

/** Up to this many places are simulated by one factor, without approximation. */
const ALL_AT_ONCE = 500;
/** The coarse part of a grid has at least this many places (about four times as many at most). */
const COARSE = 120;
const NEIGHBOURS = 32;
/** Neighbours on the grid are looked for this many steps of the current coarseness away. */
const REACH = 8;
const NEIGHBOURS_OFF_GRID = 44;
/** Added to the diagonal of the first factor, as a share of the sill: less than shows in any figure. */
const FIRST_RIDGE = 1e-9;
/**
 * And to those of the steps after it: the field is then 1 % of its deviation rougher, and what coarse steps leave out is not
 * blown up by a very smooth model.
 */
const STEP_RIDGE = 1e-4;

/** Where a field is wanted and in what order it is made: the same for all models. Flat arrays, may be shared. */
export interface FieldPlan {
  /** Number of different places. */
  readonly n: number;
  /** Positions in the order of simulation. */
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  /** Place of each cell and of each point in that order. */
  readonly cellPlaces: Int32Array;
  readonly pointPlaces: Int32Array;
  /** So many first places are simulated together. */
  readonly dense: number;
  /** Neighbours of place k >= dense: neighbours[starts[k - dense]] to neighbours[starts[k - dense + 1] - 1]. */
  readonly starts: Int32Array;
  readonly neighbours: Int32Array;
  /** Neighbourhoods that are alike have the same number; `examples` names a place for each. */
  readonly patterns: Int32Array;
  readonly examples: Int32Array;
}

/** What a model makes of a plan. */
export interface FieldFactors {
  /** Lower Cholesky factor of the dense part, row-major. */
  readonly factor: Float64Array;
  readonly weightStarts: Int32Array;
  readonly weights: Float64Array;
  /** Standard deviation of a place given its neighbours, by pattern. */
  readonly deviations: Float64Array;
}

/**
 * @param cellsXy centres of cells of one regular grid (any part of it), interleaved metres
 * @param pointXs, pointYs further places, anywhere
 * @throws AppError BAD_INPUT where there are too many places and the cells are not on one grid
 */
export function planField(cellsXy: Float64Array, pointXs: Float64Array, pointYs: Float64Array): FieldPlan {
  const cells = cellsXy.length / 2;
  const cellXs = Float64Array.from({ length: cells }, (_, i) => cellsXy[2 * i]!);
  const cellYs = Float64Array.from({ length: cells }, (_, i) => cellsXy[2 * i + 1]!);
  const lattice = cells + pointXs.length <= ALL_AT_ONCE ? null : findLattice(cellXs, cellYs);
  const xs: number[] = lattice === null ? [] : [...lattice.xs];
  const ys: number[] = lattice === null ? [] : [...lattice.ys];
  const onGrid = xs.length;
  const known = new Map(xs.map((x, k) => [`${x},${ys[k]!}`, k]));
  const place = (x: number, y: number): number => {
    const key = `${x},${y}`;
    const found = known.get(key);
    if (found !== undefined) return found;
    known.set(key, xs.length);
    xs.push(x);
    ys.push(y);
    return xs.length - 1;
  };
  const cellPlaces =
    lattice === null ? Int32Array.from(cellXs, (x, i) => place(x, cellYs[i]!)) : lattice.ofCells;
  const pointPlaces = Int32Array.from(pointXs, (x, i) => place(x, pointYs[i]!));
  const base = {
    n: xs.length,
    xs: Float64Array.from(xs),
    ys: Float64Array.from(ys),
    cellPlaces,
    pointPlaces,
  };
  if (lattice === null) {
    const none = new Int32Array(0);
    return {
      ...base,
      dense: base.n,
      starts: new Int32Array(1),
      neighbours: none,
      patterns: none,
      examples: none,
    };
  }
  return { ...base, ...findNeighbours(base, onGrid, lattice) };
}

/**
 * Nodes of the grid from coarse to fine: the finest only where there are cells, the coarser ones all around them, so that
 * every finer node lies between coarser ones (beyond the last, errors of a smooth model would grow).
 */
interface Lattice {
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  readonly columns: Int32Array;
  readonly rows: Int32Array;
  /** Coarseness of each node: it is on the grid of step 2^level. */
  readonly levels: Int32Array;
  readonly coarsest: number;
  /** Node of each cell. */
  readonly ofCells: Int32Array;
}

/** Nodes around a few cells that lie very far apart would fill the memory. */
const MOST_NODES = 4_000_000;

function findLattice(xs: Float64Array, ys: Float64Array): Lattice {
  const across = toSteps(xs);
  const along = toSteps(ys);
  if (across === null || along === null)
    throw new AppError(
      'BAD_INPUT',
      `Simulation: ${xs.length} cells that are not on one regular grid are too many (at most ${ALL_AT_ONCE} with the points)`,
    );
  const most = (steps: Int32Array) => steps.reduce((m, s) => Math.max(m, s), 0);
  const [lastColumn, lastRow] = [most(across.steps), most(along.steps)];
  const count = (last: number, level: number) => Math.ceil(last / 2 ** level) + 1;
  let coarsest = 0;
  while (count(lastColumn, coarsest + 1) * count(lastRow, coarsest + 1) >= COARSE) coarsest++;
  const size = 2 ** coarsest;
  const width = (count(lastColumn, coarsest) - 1) * size + 1;
  const height = (count(lastRow, coarsest) - 1) * size + 1;
  if (width * height > MOST_NODES)
    throw new AppError(
      'BAD_INPUT',
      `Simulation: the cells span ${width} x ${height} of their steps, too many`,
    );
  const cellAt = new Int32Array(width * height).fill(-1);
  for (let i = xs.length - 1; i >= 0; i--) cellAt[along.steps[i]! * width + across.steps[i]!] = i;
  const trailing = (v: number) => (v === 0 ? 30 : 31 - Math.clz32(v & -v));
  const levelOf = (node: number) =>
    Math.min(coarsest, trailing(node % width), trailing(Math.floor(node / width)));
  const rank = (node: number, level: number) => {
    const bit = 1 << level;
    return ((node % width) & bit) !== 0 && (Math.floor(node / width) & bit) !== 0 ? 0 : 1;
  };
  const nodes: number[] = [];
  for (let level = coarsest; level >= 0; level--) {
    // within a level, nodes between four of the coarser level come before those between two: they surround them
    for (const wanted of [0, 1])
      for (let row = 0; row < height; row += 1 << level)
        for (let column = 0; column < width; column += 1 << level) {
          const node = row * width + column;
          if (levelOf(node) !== level || rank(node, level) !== wanted) continue;
          if (level > 0 || cellAt[node]! >= 0) nodes.push(node);
        }
  }
  const order = new Int32Array(width * height).fill(-1);
  nodes.forEach((node, k) => {
    order[node] = k;
  });
  return {
    xs: Float64Array.from(nodes, (node) => {
      const cell = cellAt[node]!;
      return cell >= 0 ? xs[cell]! : across.low + (node % width) * across.step;
    }),
    ys: Float64Array.from(nodes, (node) => {
      const cell = cellAt[node]!;
      return cell >= 0 ? ys[cell]! : along.low + Math.floor(node / width) * along.step;
    }),
    columns: Int32Array.from(nodes, (node) => node % width),
    rows: Int32Array.from(nodes, (node) => Math.floor(node / width)),
    levels: Int32Array.from(nodes, levelOf),
    coarsest,
    ofCells: Int32Array.from(across.steps, (column, i) => order[along.steps[i]! * width + column]!),
  };
}

/** Whole steps from the lowest; null where the values are not on one. */
function toSteps(
  values: Float64Array,
): { readonly steps: Int32Array; readonly low: number; readonly step: number } | null {
  const sorted = values.slice().sort();
  const low = sorted[0]!;
  const span = sorted.at(-1)! - low;
  let gap = Number.POSITIVE_INFINITY;
  for (let i = 1; i < sorted.length; i++) {
    const next = sorted[i]! - sorted[i - 1]!;
    // two cells of one column may differ by rounding
    if (next > 1e-7 * span) gap = Math.min(gap, next);
  }
  if (!Number.isFinite(gap)) return { steps: new Int32Array(values.length), low, step: 1 };
  const step = span / Math.round(span / gap);
  const steps = Int32Array.from(values, (v) => Math.round((v - low) / step));
  return values.every((v, i) => Math.abs(v - low - steps[i]! * step) < 1e-3 * step)
    ? { steps, low, step }
    : null;
}

function findNeighbours(
  plan: Pick<FieldPlan, 'n' | 'xs' | 'ys'>,
  onGrid: number,
  { columns, rows, levels, coarsest }: Lattice,
): Pick<FieldPlan, 'dense' | 'starts' | 'neighbours' | 'patterns' | 'examples'> {
  const width = columns.reduce((m, c) => Math.max(m, c), 0) + 1;
  const height = rows.reduce((m, r) => Math.max(m, r), 0) + 1;
  const placeAt = new Int32Array(width * height).fill(-1);
  for (let k = 0; k < onGrid; k++) placeAt[rows[k]! * width + columns[k]!] = k;
  let dense = 0;
  while (dense < onGrid && levels[dense] === coarsest) dense++;
  const around = offsetsByDistance(REACH);
  const starts = new Int32Array(plan.n - dense + 1);
  const neighbours: number[] = [];
  const patterns = new Int32Array(plan.n - dense);
  const examples: number[] = [];
  const seen = new Map<string, number>();
  for (let k = dense; k < onGrid; k++) {
    const step = 1 << levels[k]!;
    let key = `${step}`;
    let count = 0;
    for (let o = 0; o < around.length && count < NEIGHBOURS; o += 2) {
      const c = columns[k]! + step * around[o]!;
      const r = rows[k]! + step * around[o + 1]!;
      if (c < 0 || c >= width || r < 0 || r >= height) continue;
      const other = placeAt[r * width + c]!;
      if (other < 0 || other >= k) continue;
      neighbours.push(other);
      key += `,${o}`;
      count++;
    }
    starts[k - dense + 1] = neighbours.length;
    const pattern = seen.get(key) ?? examples.length;
    if (pattern === examples.length) {
      seen.set(key, pattern);
      examples.push(k);
    }
    patterns[k - dense] = pattern;
  }
  for (let k = onGrid; k < plan.n; k++) {
    neighbours.push(...nearestEarlier(plan, k, NEIGHBOURS_OFF_GRID));
    starts[k - dense + 1] = neighbours.length;
    patterns[k - dense] = examples.length;
    examples.push(k);
  }
  return {
    dense,
    starts,
    neighbours: Int32Array.from(neighbours),
    patterns,
    examples: Int32Array.from(examples),
  };
}

/** Offsets (dx, dy) within `reach`, nearest first, without (0, 0). */
function offsetsByDistance(reach: number): Int32Array {
  const all: [number, number][] = [];
  for (let dy = -reach; dy <= reach; dy++)
    for (let dx = -reach; dx <= reach; dx++)
      if ((dx !== 0 || dy !== 0) && dx * dx + dy * dy <= reach * reach) all.push([dx, dy]);
  all.sort((a, b) => a[0] ** 2 + a[1] ** 2 - b[0] ** 2 - b[1] ** 2 || a[1] - b[1] || a[0] - b[0]);
  return Int32Array.from(all.flat());
}

function nearestEarlier({ xs, ys }: Pick<FieldPlan, 'xs' | 'ys'>, k: number, wanted: number): number[] {
  const found: number[] = [];
  const distances: number[] = [];
  for (let j = 0; j < k; j++) {
    const d = (xs[j]! - xs[k]!) ** 2 + (ys[j]! - ys[k]!) ** 2;
    if (found.length === wanted && !(d < distances[wanted - 1]!)) continue;
    let at = found.length === wanted ? wanted - 1 : found.length;
    for (; at > 0 && distances[at - 1]! > d; at--) {
      found[at] = found[at - 1]!;
      distances[at] = distances[at - 1]!;
    }
    found[at] = j;
    distances[at] = d;
  }
  return found;
}

/** @param compiled see `compileModel`; its nugget is left out. @throws AppError SINGULAR, which no valid model causes */
export function factorField(plan: FieldPlan, compiled: Float64Array, allocate: Allocate): FieldFactors {
  const { dense, examples, starts, neighbours, xs, ys } = plan;
  const sill = structuredCovariance(compiled, 0, 0);
  const factor = allocate(dense * dense);
  factorSteadily(factor, dense, FIRST_RIDGE, () => {
    for (let i = 0; i < dense; i++) {
      factor.fill(0, i * dense, i * dense + i);
      addStructuredCovariances(compiled, xs, ys, 0, i, xs[i]!, ys[i]!, 1, factor, i * dense, 1);
      factor[i * dense + i] = sill;
    }
  });
  const weightStarts = new Int32Array(examples.length + 1);
  examples.forEach((k, e) => {
    weightStarts[e + 1] = weightStarts[e]! + starts[k - dense + 1]! - starts[k - dense]!;
  });
  const weights = allocate(weightStarts.at(-1)!);
  const deviations = allocate(examples.length);
  const most = Math.max(NEIGHBOURS, NEIGHBOURS_OFF_GRID);
  const nearXs = new Float64Array(most);
  const nearYs = new Float64Array(most);
  const matrix = new Float64Array(most * most);
  const right = new Float64Array(most);
  examples.forEach((k, e) => {
    const from = starts[k - dense]!;
    const m = starts[k - dense + 1]! - from;
    for (let j = 0; j < m; j++) {
      // relative to the place itself, so that a pattern has the same weights wherever its example lies
      nearXs[j] = xs[neighbours[from + j]!]! - xs[k]!;
      nearYs[j] = ys[neighbours[from + j]!]! - ys[k]!;
    }
    const ridge = factorSteadily(matrix, m, STEP_RIDGE, () => {
      for (let i = 0; i < m; i++) {
        matrix.fill(0, i * m, i * m + i);
        addStructuredCovariances(compiled, nearXs, nearYs, 0, i, nearXs[i]!, nearYs[i]!, 1, matrix, i * m, 1);
        matrix[i * m + i] = sill;
      }
    });
    right.fill(0, 0, m);
    addStructuredCovariances(compiled, nearXs, nearYs, 0, m, 0, 0, 1, right, 0, 1);
    const w = weights.subarray(weightStarts[e]!, weightStarts[e + 1]!);
    w.set(right.subarray(0, m));
    solveLower(matrix, m, w);
    solveUpper(matrix, m, w);
    const left = sill - dot(w, 0, right, 0, m) - ridge * dot(w, 0, w, 0, m);
    deviations[e] = Math.sqrt(Math.max(0, left));
  });
  return { factor, weightStarts, weights, deviations };
}

/** Factors what `fill` writes, with as little added to the diagonal as a smooth model needs. @returns what was added */
function factorSteadily(matrix: Float64Array, n: number, least: number, fill: () => void): number {
  for (let share = least; share < 1e-2; share *= 10) {
    fill();
    const ridge = share * (matrix[0] ?? 0);
    for (let i = 0; i < n; i++) matrix[i * n + i] = matrix[i * n + i]! + ridge;
    if (factorCholesky(matrix, n) < 0) return ridge;
  }
  throw new AppError('SINGULAR', `Simulation: the covariance of ${n} places cannot be factored`);
}

/** One field into `out`, in the plan's order of places. @param normal standard normal deviates, one a place */
export function drawField(
  plan: FieldPlan,
  factors: FieldFactors,
  normal: () => number,
  out: Float64Array,
): void {
  const { n, dense, starts, neighbours, patterns } = plan;
  const { factor, weightStarts, weights, deviations } = factors;
  for (let k = 0; k < n; k++) out[k] = normal();
  for (let i = dense - 1; i >= 0; i--) out[i] = dot(factor, i * dense, out, 0, i + 1);
  for (let k = dense; k < n; k++) {
    const pattern = patterns[k - dense]!;
    const from = starts[k - dense]!;
    const to = starts[k - dense + 1]!;
    let w = weightStarts[pattern]!;
    let sum = out[k]! * deviations[pattern]!;
    for (let j = from; j < to; j++) sum += weights[w++]! * out[neighbours[j]!]!;
    out[k] = sum;
  }
}
