// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * The kernels in TypeScript: the reference for the ones in WebAssembly, which do the same operations in the same order,
 * and what runs where an engine has no SIMD.
 */
import { lookUpCorrelation } from './correlation-table.ts';
import { kernelExp, kernelLog } from './elementary.ts';
import { CORRELATION, type Kernels } from './kernels.ts';
import { panelStart } from './panels.ts';

export function createPlainKernels(): Kernels {
  let m = new Float64Array(8192);

  /** Element (row, column) of a panel's own triangle, the diagonal as its inverse. */
  const inTriangle = (triangle: number, row: number, column: number): number =>
    m[triangle + 4 * column + (row - column)]!;

  /** acc[i][j] -= sum over k of l[k][i] x b[k][j]: four rows and four cells. */
  const reduceTile = (l: number, b: number, acc: number, count: number): void => {
    for (let i = 0; i < 4; i++) {
      for (let j = 0; j < 4; j++) {
        let sum = m[acc + 4 * i + j]!;
        for (let k = 0; k < count; k++) sum -= m[l + 4 * k + i]! * m[b + 4 * k + j]!;
        m[acc + 4 * i + j] = sum;
      }
    }
  };

  const finishTile = (triangle: number, acc: number): void => {
    for (let j = 0; j < 4; j++) {
      for (let i = 0; i < 4; i++) {
        let sum = m[acc + 4 * i + j]!;
        for (let k = 0; k < i; k++) sum -= inTriangle(triangle, i, k) * m[acc + 4 * k + j]!;
        m[acc + 4 * i + j] = sum * inTriangle(triangle, i, i);
      }
    }
  };

  /** Turns the lower half of 4 x 4 rows into a panel's triangle. */
  const factorTriangle = (at: number, diagonal: number, tolerance: number): number => {
    const l = new Float64Array(16);
    const inverse = new Float64Array(4);
    for (let i = 0; i < 4; i++) {
      for (let j = 0; j < i; j++) {
        let sum = m[at + 4 * i + j]!;
        for (let k = 0; k < j; k++) sum -= l[4 * i + k]! * l[4 * j + k]!;
        l[4 * i + j] = sum * inverse[j]!;
      }
      let pivot = m[at + 4 * i + i]!;
      for (let k = 0; k < i; k++) pivot -= l[4 * i + k]! * l[4 * i + k]!;
      if (!(pivot > tolerance * m[diagonal + i]!)) return i;
      inverse[i] = 1 / Math.sqrt(pivot);
    }
    for (let j = 0; j < 4; j++) {
      m[at + 4 * j] = inverse[j]!;
      for (let i = j + 1; i < 4; i++) m[at + 4 * j + (i - j)] = l[4 * i + j]!;
    }
    return -1;
  };

  return {
    start: 0,
    memory: () => m,
    require(length) {
      if (length <= m.length) return;
      const grown = new Float64Array(length);
      grown.set(m);
      m = grown;
    },

    addCovariances({ kind, scale, a, b, c, d, table }, xs, ys, n, cells, groups, stride, out) {
      for (let g = 0; g < groups; g++) {
        for (let i = 0; i < n; i++) {
          for (let j = 0; j < 4; j++) {
            const dx = m[xs + i]! - m[cells + 8 * g + j]!;
            const dy = m[ys + i]! - m[cells + 8 * g + 4 + j]!;
            const major = a * dx + b * dy;
            const minor = c * dx + d * dy;
            const at = out + 4 * (g * stride + i) + j;
            const squared = major * major + minor * minor;
            const correlation =
              kind === CORRELATION.tabulated
                ? lookUpCorrelation(m, table, squared)
                : correlate(kind, squared);
            m[at] = m[at]! + scale * correlation;
          }
        }
      }
    },

    solvePanels(factor, rows, wanted, b, groups, stride) {
      for (let g = 0; g < groups; g++) {
        const group = b + 4 * g * stride;
        for (let row = 0; row < wanted; row += 4) {
          const panel = factor + panelStart(row >> 2);
          reduceTile(panel, group, group + 4 * row, Math.min(row, rows));
          if (row < rows) finishTile(panel + 4 * row, group + 4 * row);
        }
      }
    },

    factorPanels(factor, rows, diagonal, tolerance) {
      for (let row = 0; row < rows; row += 4) {
        const panel = factor + panelStart(row >> 2);
        for (let column = 0; column < row; column += 4) {
          const above = factor + panelStart(column >> 2);
          reduceTile(above, panel, panel + 4 * column, column);
          finishTile(above + 4 * column, panel + 4 * column);
        }
        reduceTile(panel, panel, panel + 4 * row, row);
        const failed = factorTriangle(panel + 4 * row, diagonal + row, tolerance);
        if (failed >= 0) return row + failed;
      }
      return -1;
    },

    project(weights, rows, b, groups, stride, out) {
      for (let g = 0; g < groups; g++) {
        for (let j = 0; j < 4; j++) {
          let sum = 0;
          for (let i = 0; i < rows; i++) sum += m[weights + i]! * m[b + 4 * (g * stride + i) + j]!;
          m[out + 4 * g + j] = sum;
        }
      }
    },

    sumSquares(rows, b, groups, stride, out) {
      for (let g = 0; g < groups; g++) {
        for (let j = 0; j < 4; j++) {
          const strands = [0, 0, 0, 0];
          for (let i = 0; i < rows; i++) {
            const v = m[b + 4 * (g * stride + i) + j]!;
            strands[i & 3] = strands[i & 3]! + v * v;
          }
          m[out + 4 * g + j] = strands[0]! + strands[1]! + (strands[2]! + strands[3]!);
        }
      }
    },

    sumInverseDistances({ xs, ys, values, n }, { softening, exponent }, cells, groups, outWeights, outSums) {
      for (let g = 0; g < groups; g++) {
        for (let j = 0; j < 4; j++) {
          const cx = m[cells + 8 * g + j]!;
          const cy = m[cells + 8 * g + 4 + j]!;
          const softened = (i: number): number => {
            const dx = m[xs + i]! - cx;
            const dy = m[ys + i]! - cy;
            return dx * dx + (dy * dy + softening);
          };
          let weights = 0;
          let sums = 0;
          const full = exponent === -1 ? n - (n % 4) : 0;
          // four points share one division
          for (let i = 0; i < full; i += 4) {
            const a = softened(i);
            const b = softened(i + 1);
            const c = softened(i + 2);
            const d = softened(i + 3);
            const ab = a * b;
            const cd = c * d;
            const share = 1 / (ab * cd);
            const left = m[values + i]! * b + m[values + i + 1]! * a;
            const right = m[values + i + 2]! * d + m[values + i + 3]! * c;
            weights += ((a + b) * cd + (c + d) * ab) * share;
            sums += (left * cd + right * ab) * share;
          }
          for (let i = full; i < n; i++) {
            const w = exponent === -1 ? 1 / softened(i) : kernelExp(exponent * kernelLog(softened(i)));
            weights += w;
            sums += w * m[values + i]!;
          }
          m[outWeights + 4 * g + j] = weights;
          m[outSums + 4 * g + j] = sums;
        }
      }
    },
  };
}

function correlate(kind: number, squared: number): number {
  if (kind === CORRELATION.gaussian) return kernelExp(-squared);
  const u = Math.sqrt(squared);
  if (kind === CORRELATION.spherical) return u < 1 ? 1 - u * (1.5 - 0.5 * squared) : 0;
  if (kind === CORRELATION.exponential) return kernelExp(-u);
  return kernelExp(-u) * (1 + u + u * u * (kind === CORRELATION.matern25 ? 1 / 3 : 0));
}
