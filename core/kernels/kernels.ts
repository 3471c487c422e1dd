/** What the number kernels compute; `plain.ts` and `wasm.ts` do it, bit for bit the same. */

/** What the covariance kernel can compute; Matern by its smoothness, any by a table of `correlation-table.ts`. */
export const CORRELATION = {
  spherical: 0,
  exponential: 1,
  gaussian: 2,
  matern15: 3,
  matern25: 4,
  tabulated: 5,
} as const;

/** A structure's correlation, a factor, and the 2 x 2 map [a b; c d] from (dx, dy) to a vector of length u. */
export interface KernelStructure {
  readonly kind: number;
  readonly scale: number;
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly d: number;
  /** Where its table is, for kind `tabulated`. */
  readonly table: number;
}

/**
 * All arrays lie in `memory()`, named by the index of their first number. Cells and right sides come in groups of four:
 * cells as x, x, x, x, y, y, y, y, right sides as rows of four. Results do not depend on the number of groups nor on a
 * cell's place in them. Triangular factors are in the form of `panels.ts`.
 */
export interface Kernels {
  /** Another array after `require`. */
  memory(): Float64Array;
  /** Makes room for `length` numbers; what is there stays. */
  require(length: number): void;
  /** First place that is the caller's. */
  readonly start: number;
  /**
   * Adds the covariances of `n` points at xs, ys with each cell to rows 0..n-1 of its group at `out`, groups `stride`
   * rows apart. `scratch` holds 8 n.
   */
  addCovariances(
    structure: KernelStructure,
    xs: number,
    ys: number,
    n: number,
    cells: number,
    groups: number,
    stride: number,
    out: number,
    scratch: number,
  ): void;
  /**
   * Solves L Y = B in place for rows 0..`rows`-1 of each group; rows from there to `wanted` become B2 - L2 Y, with L2 the
   * factor's rows below. `rows`, `wanted`: multiples of four.
   */
  solvePanels(factor: number, rows: number, wanted: number, b: number, groups: number, stride: number): void;
  /**
   * Cholesky factor in place. `diagonal` is where the matrix's diagonal is, `rows` numbers.
   * @returns -1, or the first row whose pivot is not above tolerance x its diagonal (all is then spoiled)
   */
  factorPanels(factor: number, rows: number, diagonal: number, tolerance: number): number;
  /** Sum over rows of weight x b for each cell, four per group to `out`. */
  project(weights: number, rows: number, b: number, groups: number, stride: number, out: number): void;
  /** Sum over rows of b squared for each cell; `rows` is a multiple of four. */
  sumSquares(rows: number, b: number, groups: number, stride: number, out: number): void;
  /**
   * Sums over the points of w and w x value for each cell, w = (d^2 + softening)^exponent. `isRow` promises that all
   * cells have the same y. `scratch` holds 4 n + 4. Wrong where a w or the product of four leaves 1e-240 to 1e240.
   */
  sumInverseDistances(
    points: { readonly xs: number; readonly ys: number; readonly values: number; readonly n: number },
    weighing: { readonly softening: number; readonly exponent: number; readonly isRow: boolean },
    cells: number,
    groups: number,
    outWeights: number,
    outSums: number,
    scratch: number,
  ): void;
}
