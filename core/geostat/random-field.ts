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
/** The coarse part of a grid has at least this many places (fewer than four times as many). */
const COARSE = 64;
const NEIGHBOURS = 32;
/** Neighbours on the grid are looked for this many steps of the current coarseness away. */
const REACH = 8;
const NEIGHBOURS_OFF_GRID = 44;
/**
 * Added to diagonals, as a share of the sill: the field is then 0.3 % of its deviation rougher, and errors of the
 * coarse steps are not blown up where a very smooth model reaches beyond its neighbours.
 */
const RIDGE = 1e-5;

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
  const xs: number[] = [];
  const ys: number[] = [];
  const known = new Map<string, number>();
  const place = (x: number, y: number): number => {
    const key = `${x},${y}`;
    const found = known.get(key);
    if (found !== undefined) return found;
    known.set(key, xs.length);
    xs.push(x);
    ys.push(y);
    return xs.length - 1;
  };
  const few = cells + pointXs.length <= ALL_AT_ONCE;
  const lattice = few ? null : findLattice(cellXs, cellYs);
  const order = lattice === null ? Int32Array.from(cellXs.keys()) : coarseToFine(lattice);
  const cellPlaces = new Int32Array(cells);
  for (const i of order) cellPlaces[i] = place(cellXs[i]!, cellYs[i]!);
  const onGrid = xs.length;
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
  return { ...base, ...findNeighbours(base, onGrid, lattice, order) };
}

interface Lattice {
  readonly columns: Int32Array;
  readonly rows: Int32Array;
  /** Coarseness of each cell: it is on the grid of step 2^level. */
  readonly levels: Int32Array;
  readonly coarsest: number;
}

function findLattice(xs: Float64Array, ys: Float64Array): Lattice {
  const columns = toSteps(xs);
  const rows = toSteps(ys);
  if (columns === null || rows === null)
    throw new AppError(
      'BAD_INPUT',
      `Simulation: ${xs.length} cells that are not on one regular grid are too many (at most ${ALL_AT_ONCE} with the points)`,
    );
  const trailing = (v: number) => (v === 0 ? 30 : 31 - Math.clz32(v & -v));
  const levels = columns.map((c, i) => Math.min(trailing(c), trailing(rows[i]!)));
  let coarsest = 0;
  const countFrom = (level: number) => levels.reduce((count, l) => count + (l >= level ? 1 : 0), 0);
  while (coarsest < 29 && countFrom(coarsest + 1) >= COARSE) coarsest++;
  return { columns, rows, levels: levels.map((l) => Math.min(l, coarsest)), coarsest };
}

/** Whole steps from the lowest; null where the values are not on one. */
function toSteps(values: Float64Array): Int32Array | null {
  const sorted = values.slice().sort();
  const low = sorted[0]!;
  const span = sorted.at(-1)! - low;
  let step = Number.POSITIVE_INFINITY;
  for (let i = 1; i < sorted.length; i++) {
    const gap = sorted[i]! - sorted[i - 1]!;
    // two cells of one column may differ by rounding
    if (gap > 1e-7 * span) step = Math.min(step, gap);
  }
  if (!Number.isFinite(step)) return new Int32Array(values.length);
  const steps = Int32Array.from(values, (v) => Math.round((v - low) / step));
  const most = steps.reduce((m, s) => Math.max(m, s), 0);
  const even = span / most;
  return values.every((v, i) => Math.abs(v - low - steps[i]! * even) < 1e-3 * even) ? steps : null;
}

/** Within a level, cells between four of the coarser level come before those between two: they surround them. */
function coarseToFine({ columns, rows, levels }: Lattice): Int32Array {
  const rank = (i: number) => {
    const bit = 1 << levels[i]!;
    return (columns[i]! & bit) !== 0 && (rows[i]! & bit) !== 0 ? 0 : 1;
  };
  return Int32Array.from(columns.keys()).sort(
    (a, b) =>
      levels[b]! - levels[a]! ||
      rank(a) - rank(b) ||
      rows[a]! - rows[b]! ||
      columns[a]! - columns[b]! ||
      a - b,
  );
}

function findNeighbours(
  plan: Pick<FieldPlan, 'n' | 'xs' | 'ys'>,
  onGrid: number,
  lattice: Lattice,
  order: Int32Array,
): Pick<FieldPlan, 'dense' | 'starts' | 'neighbours' | 'patterns' | 'examples'> {
  const { columns, rows, levels, coarsest } = lattice;
  const width = columns.reduce((m, c) => Math.max(m, c), 0) + 1;
  const height = rows.reduce((m, r) => Math.max(m, r), 0) + 1;
  // place of a grid node, or -1; cells given twice have one place only, in the order of their first
  const placeAt = new Int32Array(width * height).fill(-1);
  const cellOf = new Int32Array(onGrid);
  let places = 0;
  for (const i of order) {
    const node = rows[i]! * width + columns[i]!;
    if (placeAt[node] !== -1) continue;
    cellOf[places] = i;
    placeAt[node] = places++;
  }
  let dense = 0;
  while (dense < places && levels[cellOf[dense]!] === coarsest) dense++;
  const around = offsetsByDistance(REACH);
  const starts = new Int32Array(plan.n - dense + 1);
  const neighbours: number[] = [];
  const patterns = new Int32Array(plan.n - dense);
  const examples: number[] = [];
  const seen = new Map<string, number>();
  for (let k = dense; k < places; k++) {
    const i = cellOf[k]!;
    const step = 1 << levels[i]!;
    let key = `${step}`;
    let count = 0;
    for (let o = 0; o < around.length && count < NEIGHBOURS; o += 2) {
      const c = columns[i]! + step * around[o]!;
      const r = rows[i]! + step * around[o + 1]!;
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
  for (let k = places; k < plan.n; k++) {
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
  factorSteadily(factor, dense, () => {
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
    const ridge = factorSteadily(matrix, m, () => {
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
function factorSteadily(matrix: Float64Array, n: number, fill: () => void): number {
  for (let share = RIDGE; share < 1e-2; share *= 10) {
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
