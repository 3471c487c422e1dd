// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Kriging from all points: one factor for all cells, many cells at once through the kernels. */
import { TABLE_LENGTH } from '../kernels/correlation-table.ts';
import { fillToFour, packFactor, panelStart } from '../kernels/panels.ts';
import { reserveRoom, threadKernels } from '../kernels/thread.ts';
import { kernelModel } from './kernel-structures.ts';
import type { KrigingPredictor } from './krige.ts';
import { finishVariance, sharedNugget, targetOf } from './krige-target.ts';
import type { BlockNodes, GlobalSystem, KrigingState } from './kriging.ts';
import { addStructuredCovariances } from './models.ts';
import { dot } from './solve.ts';

/** Cells solved together: enough to reuse each number of the factor, few enough to stay in cache. */
const BATCH = 32;

const POINT_NODE: BlockNodes = { offsetsXy: new Float64Array(2), weights: Float64Array.of(1) };

export function globalPredictor(state: KrigingState, system: GlobalSystem): KrigingPredictor {
  const { compiled, driftColumns: p, offset } = state;
  const { n, xs, ys } = state.points;
  const { factor, dual, drift, whitenedDrift, driftFactor } = system;
  const target = targetOf(state);
  const { offsetsXy, weights } = state.block ?? POINT_NODE;
  const { structures, tables, others } = kernelModel(compiled);
  const rows = fillToFour(n);
  // four rows more below the covariances: the drift, of which the solution leaves what the points do not explain
  const stride = rows + 4;
  const groups = BATCH / 4;
  const sizes = [
    panelStart(stride / 4),
    n,
    n,
    n,
    8 * groups,
    4 * groups * stride,
    8 * n,
    4 * groups,
    4 * groups,
    TABLE_LENGTH * tables.length,
  ];
  const places = sizes.map((_, i) => sizes.slice(0, i).reduce((sum, size) => sum + size, 0));
  const room = reserveRoom(
    sizes.reduce((sum, size) => sum + size, 0),
    (memory, at) => {
      const [f, x, y, d] = places.map((place) => at + place) as [number, number, number, number];
      tables.forEach((table, i) => {
        memory.set(table, at + places.at(-1)! + i * TABLE_LENGTH);
      });
      packFactor(factor, n, memory, f);
      const last = f + panelStart(rows / 4);
      memory.fill(0, last, last + 4 * rows);
      for (let i = 0; i < n; i++)
        for (let c = 0; c < p; c++) memory[last + 4 * i + c] = whitenedDrift[i * p + c]!;
      memory.set(xs, x);
      memory.set(ys, y);
      memory.set(dual, d);
    },
  );
  const f = new Float64Array(3);
  const t = new Float64Array(3);
  const scratch = new Float64Array(3);

  return {
    state,
    predictInto(cellsXy, from, to, outEstimate, outVariance, outLagrange) {
      const kernels = threadKernels();
      const at = room.enter();
      const memory = kernels.memory();
      const [atFactor, atXs, atYs, atDual, atCells, b, atScratch, atEstimates, atSquares, atTables] =
        places.map((place) => at + place) as [
          number,
          number,
          number,
          number,
          number,
          number,
          number,
          number,
          number,
          number,
        ];
      const rowOf = (c: number, row: number) => b + 4 * ((c >> 2) * stride + row) + (c & 3);

      for (let start = from; start < to; start += BATCH) {
        const count = Math.min(BATCH, to - start);
        const used = (count + 3) >> 2;
        memory.fill(0, b, b + 4 * used * stride);
        for (let q = 0; q < weights.length; q++) {
          const weight = weights[q]!;
          for (let c = 0; c < 4 * used; c++) {
            // a group that is not full repeats the last cell
            const cell = start + Math.min(c, count - 1);
            const xM = cellsXy[2 * cell]! + offsetsXy[2 * q]!;
            const yM = cellsXy[2 * cell + 1]! + offsetsXy[2 * q + 1]!;
            memory[atCells + 8 * (c >> 2) + (c & 3)] = xM;
            memory[atCells + 8 * (c >> 2) + 4 + (c & 3)] = yM;
            addStructuredCovariances(others, xs, ys, 0, n, xM, yM, weight, memory, rowOf(c, 0), 4);
            const shared = sharedNugget(state, xM, yM);
            for (let i = shared.first; i < shared.first + shared.count; i++)
              memory[rowOf(c, i)] = memory[rowOf(c, i)]! + weight * shared.each;
          }
          for (const structure of structures) {
            const weighted = {
              ...structure,
              scale: weight * structure.scale,
              table: atTables + structure.table * TABLE_LENGTH,
            };
            kernels.addCovariances(weighted, atXs, atYs, n, atCells, used, stride, b, atScratch);
          }
        }
        kernels.project(atDual, n, b, used, stride, atEstimates);
        for (let c = 0; c < count; c++) {
          target.drift(cellsXy[2 * (start + c)]!, cellsXy[2 * (start + c) + 1]!, f, 0);
          for (let a = 0; a < p; a++) memory[rowOf(c, rows + a)] = f[a]!;
          outEstimate[start + c] = offset + dot(f, 0, drift, 0, p) + memory[atEstimates + c]!;
        }
        if (outVariance === null && outLagrange === undefined) continue;
        kernels.solvePanels(atFactor, rows, stride, b, used, stride);
        kernels.sumSquares(rows, b, used, stride, atSquares);
        for (let c = 0; c < count; c++) {
          const xM = cellsXy[2 * (start + c)]!;
          const yM = cellsXy[2 * (start + c) + 1]!;
          target.drift(xM, yM, f, 0);
          for (let a = 0; a < p; a++) t[a] = memory[rowOf(c, rows + a)]!;
          const squared = memory[atSquares + c]!;
          const done = finishVariance(target.prior(xM, yM), squared, t, f, driftFactor, p, scratch);
          if (outVariance !== null) outVariance[start + c] = done.variance;
          if (outLagrange !== undefined) outLagrange[start + c] = done.lagrange;
        }
      }
    },
  };
}
