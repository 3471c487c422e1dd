// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Inverse distances over rows of cells. Seen along a short piece of a row, what the far points add up to is so smooth
 * that its values at 16 Chebyshev nodes give it to 13 digits; only the near points are summed cell by cell. The pieces
 * are cut by absolute coordinates and the points' own spacing, so that a cell's result depends on nothing but its place.
 */
import { reserveRoom, threadKernels } from '../kernels/thread.ts';
import type { OrderedPoints } from './points.ts';

/** Nodes on a piece; with points no nearer than FAR half lengths they leave an error of about FAR_RATE^-16 = 4e-14. */
const NODES = 16;
const FAR = 3.5;
/** Length of a piece in typical spacings of the points: near and far points then cost about the same. */
const PIECE_SPACINGS = 4.3;
/** With fewer cells on a piece the nodes cost more than they save. */
const LEAST_CELLS_ON_PIECE = 24;
const LEAST_POINTS = 256;
/** Longest run of cells handed to the kernel. */
const BATCH = 256;
/** Numbers that the sorted copies of the points may take. */
const COPIES_BUDGET = 2_000_000;

/** Chebyshev nodes of the first kind on [-1, 1] and their barycentric weights. */
const NODE_PLACES = Array.from({ length: NODES }, (_, q) => Math.cos(((2 * q + 1) * Math.PI) / (2 * NODES)));
const NODE_WEIGHTS = Array.from(
  { length: NODES },
  (_, q) => (q % 2 === 0 ? 1 : -1) * Math.sin(((2 * q + 1) * Math.PI) / (2 * NODES)),
);

/** Length of the pieces for these points; 0 where they are too few, or on a line, for pieces to pay. */
export function pieceLengthM({ n, xs, ys }: OrderedPoints): number {
  if (n < LEAST_POINTS) return 0;
  const [minX, maxX] = [xs[0]!, xs[n - 1]!];
  let [minY, maxY] = [ys[0]!, ys[0]!];
  for (const y of ys) {
    if (y < minY) minY = y;
    if (y > maxY) maxY = y;
  }
  return PIECE_SPACINGS * Math.sqrt(((maxX - minX) * (maxY - minY)) / n);
}

/** Whether the cells, all of them together, are close enough in rows: looked up at 64 places. */
export function areRowsDense(cellsXy: Float64Array, lengthM: number): boolean {
  const cells = cellsXy.length / 2;
  if (!(lengthM > 0) || cells < 64) return false;
  let dense = 0;
  for (let s = 0; s < 64; s++) {
    const c = Math.floor((s * (cells - 1)) / 64);
    const step = Math.abs(cellsXy[2 * c + 2]! - cellsXy[2 * c]!);
    if (cellsXy[2 * c + 1] === cellsXy[2 * c + 3] && step * LEAST_CELLS_ON_PIECE <= lengthM) dense++;
  }
  return dense > 32;
}

/** Sums of weights, and of weights times values, for cells of a row of equal y. */
export interface RowSums {
  readonly weights: Float64Array;
  readonly sums: Float64Array;
  /**
   * Fills the first numbers of `weights` and `sums` for cells from `start` on.
   * @returns the first cell that is not of the same piece of the same row
   */
  addUp(cellsXy: Float64Array, start: number, to: number): number;
}

export function rowSums(
  points: OrderedPoints,
  lengthM: number,
  weighing: { readonly softening: number; readonly exponent: number },
): RowSums {
  const { n, xs, ys, values } = points;
  const kernels = threadKernels();
  const half = lengthM / 2;
  const slots = Math.min(64, Math.max(8, Math.floor(COPIES_BUDGET / (3 * n))));
  const sizes = [3 * n * slots, 2 * NODES, 2 * BATCH, 2 * NODES, 2 * BATCH, 4 * n + 4];
  const places = sizes.map((_, i) => sizes.slice(0, i).reduce((sum, size) => sum + size, 0));
  const pieceOf = new Float64Array(slots).fill(Number.NaN);
  const bandOf = new Float64Array(slots).fill(Number.NaN);
  const nearOf = new Int32Array(slots);
  const room = reserveRoom(
    sizes.reduce((sum, size) => sum + size, 0),
    () => pieceOf.fill(Number.NaN),
  );
  const weights = new Float64Array(BATCH);
  const sums = new Float64Array(BATCH);
  const nodes = new Float64Array(NODES);

  /** Puts the points near a piece's rows in a band of half a length first, the others after them. */
  const sortPoints = (memory: Float64Array, at: number, piece: number, band: number): number => {
    const centre = (piece + 0.5) * lengthM;
    const reach = FAR * half;
    const low = band * half;
    const high = low + half;
    const isNear = (i: number): boolean => {
      const dx = xs[i]! - centre;
      const y = ys[i]!;
      const dy = y < low ? low - y : y > high ? y - high : 0;
      return dx * dx + dy * dy < reach * reach;
    };
    let near = 0;
    for (let i = 0; i < n; i++) if (isNear(i)) near++;
    let [nextNear, nextFar] = [0, near];
    for (let i = 0; i < n; i++) {
      const to = isNear(i) ? nextNear++ : nextFar++;
      memory[at + to] = xs[i]!;
      memory[at + n + to] = ys[i]!;
      memory[at + 2 * n + to] = values[i]!;
    }
    return near;
  };

  return {
    weights,
    sums,
    addUp(cellsXy, start, to) {
      const at = room.enter();
      const memory = kernels.memory();
      const [atCopies, atNodes, atCells, nodeSums, cellSums, scratch] = places.map((place) => at + place) as [
        number,
        number,
        number,
        number,
        number,
        number,
      ];
      const y = cellsXy[2 * start + 1]!;
      const piece = Math.floor(cellsXy[2 * start]! / lengthM);
      const band = Math.floor(y / half);
      let end = start + 1;
      const most = Math.min(to, start + BATCH);
      while (end < most && cellsXy[2 * end + 1] === y && Math.floor(cellsXy[2 * end]! / lengthM) === piece)
        end++;
      const slot = ((piece % slots) + slots) % slots;
      const copy = atCopies + 3 * n * slot;
      if (pieceOf[slot] !== piece || bandOf[slot] !== band) {
        nearOf[slot] = sortPoints(memory, copy, piece, band);
        pieceOf[slot] = piece;
        bandOf[slot] = band;
      }
      const near = nearOf[slot]!;

      const groups = (end - start + 3) >> 2;
      for (let c = 0; c < 4 * groups; c++) {
        // a group that is not full repeats the last cell
        memory[atCells + 8 * (c >> 2) + (c & 3)] = cellsXy[2 * Math.min(start + c, end - 1)]!;
        memory[atCells + 8 * (c >> 2) + 4 + (c & 3)] = y;
      }
      for (let q = 0; q < NODES; q++) {
        nodes[q] = (piece + 0.5) * lengthM + half * NODE_PLACES[q]!;
        memory[atNodes + 8 * (q >> 2) + (q & 3)] = nodes[q]!;
        memory[atNodes + 8 * (q >> 2) + 4 + (q & 3)] = y;
      }
      const how = { ...weighing, isRow: true };
      const nearPoints = { xs: copy, ys: copy + n, values: copy + 2 * n, n: near };
      kernels.sumInverseDistances(nearPoints, how, atCells, groups, cellSums, cellSums + BATCH, scratch);
      const farPoints = { xs: copy + near, ys: copy + n + near, values: copy + 2 * n + near, n: n - near };
      kernels.sumInverseDistances(farPoints, how, atNodes, NODES / 4, nodeSums, nodeSums + NODES, scratch);

      for (let c = 0; c < end - start; c++) {
        const x = cellsXy[2 * (start + c)]!;
        let whole = 0;
        let weight = 0;
        let sum = 0;
        for (let q = 0; q < NODES; q++) {
          const away = x - nodes[q]!;
          if (away === 0) {
            whole = 1;
            weight = memory[nodeSums + q]!;
            sum = memory[nodeSums + NODES + q]!;
            break;
          }
          const share = NODE_WEIGHTS[q]! / away;
          whole += share;
          weight += share * memory[nodeSums + q]!;
          sum += share * memory[nodeSums + NODES + q]!;
        }
        weights[c] = memory[cellSums + c]! + weight / whole;
        sums[c] = memory[cellSums + BATCH + c]! + sum / whole;
      }
      return end;
    },
  };
}
