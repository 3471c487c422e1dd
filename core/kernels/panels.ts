// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Triangular factors in panels of four rows. Panel p holds columns 0..4p-1, each as the four numbers of its rows, then
 * its own 4 x 4 triangle in sixteen places: 1/d0, l10, l20, l30, 1/d1, l21, l31, -, 1/d2, l32, -, -, 1/d3, -, -, -.
 * Rows are filled up to a multiple of four with those of the identity. So stored, what a tile of four rows reads lies
 * in one piece, and the panel of a factor is a group of four right sides at the same time.
 */

/** The least multiple of four that is not below `n`. */
export function fillToFour(n: number): number {
  return (n + 3) & ~3;
}

/** Where panel p begins, in numbers; also how many numbers p panels take. */
export function panelStart(p: number): number {
  return 8 * p * (p + 1);
}

/** Puts a row-major lower factor (n x n) in panels at out[at..]. */
export function packFactor(factor: Float64Array, n: number, out: Float64Array, at: number): void {
  const rows = fillToFour(n);
  for (let row = 0; row < rows; row++) {
    const panel = at + panelStart(row >> 2);
    const lane = row & 3;
    const first = row - lane;
    if (row >= n) {
      for (let k = 0; k < first; k++) out[panel + 4 * k + lane] = 0;
      for (let k = first; k < row; k++) out[panel + triangleAt(first, k - first, lane)] = 0;
      out[panel + triangleAt(first, lane, lane)] = 1;
      continue;
    }
    for (let k = 0; k < first; k++) out[panel + 4 * k + lane] = factor[row * n + k]!;
    for (let k = first; k < row; k++) out[panel + triangleAt(first, k - first, lane)] = factor[row * n + k]!;
    out[panel + triangleAt(first, lane, lane)] = 1 / factor[row * n + row]!;
  }
}

/** Place of element (row, column) of a panel's own triangle; the diagonal holds inverses. */
function triangleAt(first: number, column: number, row: number): number {
  return 4 * first + 4 * column + (row - column);
}

/** Puts the lower triangle of a symmetric matrix (n x n, row-major) in panels, ready to be factored in place. */
export function packSymmetric(matrix: Float64Array, n: number, out: Float64Array, at: number): void {
  const rows = fillToFour(n);
  for (let row = 0; row < rows; row++) {
    const panel = at + panelStart(row >> 2);
    const lane = row & 3;
    const first = row - lane;
    for (let k = 0; k < first; k++) out[panel + 4 * k + lane] = row < n ? matrix[row * n + k]! : 0;
    const own = panel + 4 * first + 4 * lane;
    for (let k = 0; k < 4; k++) {
      const column = first + k;
      if (column > row) out[own + k] = 0;
      else if (row < n) out[own + k] = matrix[row * n + column]!;
      else out[own + k] = column === row ? 1 : 0;
    }
  }
}

/** The lower factor back from panels at panels[at..] into `out` (n x n, row-major); the upper half is left alone. */
export function unpackFactor(panels: Float64Array, at: number, n: number, out: Float64Array): void {
  for (let row = 0; row < n; row++) {
    const panel = at + panelStart(row >> 2);
    const lane = row & 3;
    const first = row - lane;
    for (let k = 0; k < first; k++) out[row * n + k] = panels[panel + 4 * k + lane]!;
    for (let k = first; k < row; k++) out[row * n + k] = panels[panel + triangleAt(first, k - first, lane)]!;
    out[row * n + row] = 1 / panels[panel + triangleAt(first, lane, lane)]!;
  }
}
