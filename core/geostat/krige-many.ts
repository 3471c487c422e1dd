// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Estimates for many sets of values at the same points: covariances are computed once for all. */
import { fillDrift, type KrigingState } from './kriging.ts';
import { addStructuredCovariances } from './models.ts';
import { countAt, findAt } from './points.ts';

/** What `solveDual` makes of one set of values. */
export interface DualSystem {
  readonly dual: Float64Array;
  readonly drift: Float64Array;
}

/** Cells whose covariances with the points are held at once. */
const CHUNK = 128;

/** First of the points at each cell's very place, or -1. */
export function pointsAtCells(state: KrigingState, cellsXy: Float64Array): Int32Array {
  return Int32Array.from({ length: cellsXy.length / 2 }, (_, c) =>
    findAt(state.points, cellsXy[2 * c]!, cellsXy[2 * c + 1]!),
  );
}

/** Adds offset + f . drift + k . dual of each set of values to its target, cell by cell. Blocks are left out of account. */
export function addKriged(
  state: KrigingState,
  cellsXy: Float64Array,
  atPoint: Int32Array,
  offset: number,
  sets: readonly DualSystem[],
  targets: readonly Float64Array[],
): void {
  const { points, compiled, driftColumns: p, driftFrame } = state;
  const { n, xs, ys } = points;
  const cells = cellsXy.length / 2;
  const rows = new Float64Array(Math.min(CHUNK, cells) * n);
  const f = new Float64Array(3 * CHUNK);
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
    for (let k = 0; k < sets.length; k += 4) {
      // four sets share each covariance read; a last group that is not full repeats its last
      const at = (j: number) => Math.min(k + j, sets.length - 1);
      const [a, b, d, e] = [0, 1, 2, 3].map((j) => sets[at(j)]!.dual) as [
        Float64Array,
        Float64Array,
        Float64Array,
        Float64Array,
      ];
      const sums = new Float64Array(4);
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
        sums[0] = sa;
        sums[1] = sb;
        sums[2] = sd;
        sums[3] = se;
        for (let j = 0; j < 4 && k + j < sets.length; j++) {
          const { drift } = sets[k + j]!;
          let mean = offset;
          for (let q = 0; q < p; q++) mean += f[3 * c + q]! * drift[q]!;
          const out = targets[k + j]!;
          out[start + c] = out[start + c]! + mean + sums[j]!;
        }
      }
    }
  }
}
