// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Dense symmetric positive definite systems over row-major Float64Arrays; the large ones are factored by the kernels. */
import { fillToFour, packSymmetric, panelStart, unpackFactor } from '../kernels/panels.ts';
import { borrowRoom, threadKernels } from '../kernels/thread.ts';

/** A pivot below this share of its diagonal means the row follows from the ones before, within rounding. */
export const PIVOT_TOLERANCE = 1e-12;

/** Sum over k < count of a[aAt + k] * b[bAt + k]. */
export function dot(a: Float64Array, aAt: number, b: Float64Array, bAt: number, count: number): number {
  let sum = 0;
  for (let k = 0; k < count; k++) sum += a[aAt + k]! * b[bAt + k]!;
  return sum;
}

/** From this size on, the way to the kernels and back costs less than they save. */
const KERNEL_SIZE = 24;

/**
 * Cholesky factor in place: on entry the lower triangle of a (n x n, row-major), on exit L with a = L L'.
 * The upper triangle is left as it was.
 * @returns -1, or the first row whose pivot fell under PIVOT_TOLERANCE of its diagonal (a is then spoiled)
 */
export function factorCholesky(a: Float64Array, n: number, tolerance = PIVOT_TOLERANCE): number {
  return n < KERNEL_SIZE ? factorSmall(a, n, tolerance) : factorByKernel(a, n, tolerance);
}

function factorSmall(a: Float64Array, n: number, tolerance: number): number {
  for (let j = 0; j < n; j++) {
    const pivot = a[j * n + j]! - dot(a, j * n, a, j * n, j);
    if (!(pivot > tolerance * a[j * n + j]!)) return j;
    const root = Math.sqrt(pivot);
    a[j * n + j] = root;
    for (let i = j + 1; i < n; i++) a[i * n + j] = (a[i * n + j]! - dot(a, i * n, a, j * n, j)) / root;
  }
  return -1;
}

function factorByKernel(a: Float64Array, n: number, tolerance: number): number {
  const kernels = threadKernels();
  const rows = fillToFour(n);
  const size = panelStart(rows / 4);
  const at = borrowRoom(size + rows);
  const memory = kernels.memory();
  packSymmetric(a, n, memory, at);
  for (let i = 0; i < rows; i++) memory[at + size + i] = i < n ? a[i * n + i]! : 1;
  const failed = kernels.factorPanels(at, rows, at + size, tolerance);
  if (failed < 0) unpackFactor(memory, at, n, a);
  return failed;
}

/** Solves L y = b in place for one right side starting at b[at]. */
export function solveLower(factor: Float64Array, n: number, b: Float64Array, at = 0): void {
  for (let i = 0; i < n; i++) b[at + i] = (b[at + i]! - dot(factor, i * n, b, at, i)) / factor[i * n + i]!;
}

/** Solves L' x = b in place for one right side starting at b[at]. */
export function solveUpper(factor: Float64Array, n: number, b: Float64Array, at = 0): void {
  for (let i = n - 1; i >= 0; i--) {
    const x = b[at + i]! / factor[i * n + i]!;
    b[at + i] = x;
    const row = i * n;
    for (let k = 0; k < i; k++) b[at + k] = b[at + k]! - factor[row + k]! * x;
  }
}

/** Inverse of L L' as a full symmetric n x n matrix. */
export function invertFromFactor(factor: Float64Array, n: number): Float64Array {
  // L^-1 by columns of the identity, kept as rows so that the product below reads rows only
  const inverseRows = new Float64Array(n * n);
  for (let j = 0; j < n; j++) {
    const at = j * n;
    inverseRows[at + j] = 1 / factor[j * n + j]!;
    for (let i = j + 1; i < n; i++) {
      let sum = 0;
      for (let k = j; k < i; k++) sum -= factor[i * n + k]! * inverseRows[at + k]!;
      inverseRows[at + i] = sum / factor[i * n + i]!;
    }
  }
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      const value = dot(inverseRows, i * n + i, inverseRows, j * n + i, n - i);
      out[i * n + j] = value;
      out[j * n + i] = value;
    }
  }
  return out;
}
