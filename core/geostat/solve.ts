// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Dense symmetric positive definite systems over row-major Float64Arrays. Tiles of 4 x 4 keep sixteen sums in flight,
 * so that each number fetched is used four times.
 */

/** A pivot below this share of its diagonal means the row follows from the ones before, within rounding. */
export const PIVOT_TOLERANCE = 1e-12;

/** Sum over k < count of a[aAt + k] * b[bAt + k]. */
export function dot(a: Float64Array, aAt: number, b: Float64Array, bAt: number, count: number): number {
  let sum = 0;
  for (let k = 0; k < count; k++) sum += a[aAt + k]! * b[bAt + k]!;
  return sum;
}

/**
 * Cholesky factor in place: on entry the lower triangle of a (n x n, row-major), on exit L with a = L L'.
 * The upper triangle is left as it was.
 * @returns -1, or the first row whose pivot fell under PIVOT_TOLERANCE of its diagonal (a is then spoiled)
 */
export function factorCholesky(a: Float64Array, n: number, tolerance = PIVOT_TOLERANCE): number {
  for (let j0 = 0; j0 < n; j0 += 4) {
    const jEnd = Math.min(j0 + 4, n);
    for (let j = j0; j < jEnd; j++) {
      for (let i = j; i < jEnd; i++) {
        const value = a[i * n + j]! - dot(a, i * n, a, j * n, j);
        if (i === j) {
          if (!(value > tolerance * a[j * n + j]!)) return j;
          a[j * n + j] = Math.sqrt(value);
        } else a[i * n + j] = value / a[j * n + j]!;
      }
    }
    let i = jEnd;
    if (jEnd - j0 === 4) for (; i + 4 <= n; i += 4) updateTile(a, n, i, j0);
    for (; i < n; i++) {
      for (let j = j0; j < jEnd; j++)
        a[i * n + j] = (a[i * n + j]! - dot(a, i * n, a, j * n, j)) / a[j * n + j]!;
    }
  }
  return -1;
}

/** Columns j0..j0+3 of rows i0..i0+3 of the factor, once the rows j0..j0+3 are done. */
function updateTile(a: Float64Array, n: number, i0: number, j0: number): void {
  const r0 = i0 * n;
  const r1 = r0 + n;
  const r2 = r1 + n;
  const r3 = r2 + n;
  const q0 = j0 * n;
  const q1 = q0 + n;
  const q2 = q1 + n;
  const q3 = q2 + n;
  let s00 = a[r0 + j0]!;
  let s01 = a[r0 + j0 + 1]!;
  let s02 = a[r0 + j0 + 2]!;
  let s03 = a[r0 + j0 + 3]!;
  let s10 = a[r1 + j0]!;
  let s11 = a[r1 + j0 + 1]!;
  let s12 = a[r1 + j0 + 2]!;
  let s13 = a[r1 + j0 + 3]!;
  let s20 = a[r2 + j0]!;
  let s21 = a[r2 + j0 + 1]!;
  let s22 = a[r2 + j0 + 2]!;
  let s23 = a[r2 + j0 + 3]!;
  let s30 = a[r3 + j0]!;
  let s31 = a[r3 + j0 + 1]!;
  let s32 = a[r3 + j0 + 2]!;
  let s33 = a[r3 + j0 + 3]!;
  for (let k = 0; k < j0; k++) {
    const b0 = a[q0 + k]!;
    const b1 = a[q1 + k]!;
    const b2 = a[q2 + k]!;
    const b3 = a[q3 + k]!;
    let x = a[r0 + k]!;
    s00 -= x * b0;
    s01 -= x * b1;
    s02 -= x * b2;
    s03 -= x * b3;
    x = a[r1 + k]!;
    s10 -= x * b0;
    s11 -= x * b1;
    s12 -= x * b2;
    s13 -= x * b3;
    x = a[r2 + k]!;
    s20 -= x * b0;
    s21 -= x * b1;
    s22 -= x * b2;
    s23 -= x * b3;
    x = a[r3 + k]!;
    s30 -= x * b0;
    s31 -= x * b1;
    s32 -= x * b2;
    s33 -= x * b3;
  }
  const d0 = a[q0 + j0]!;
  const l10 = a[q1 + j0]!;
  const d1 = a[q1 + j0 + 1]!;
  const l20 = a[q2 + j0]!;
  const l21 = a[q2 + j0 + 1]!;
  const d2 = a[q2 + j0 + 2]!;
  const l30 = a[q3 + j0]!;
  const l31 = a[q3 + j0 + 1]!;
  const l32 = a[q3 + j0 + 2]!;
  const d3 = a[q3 + j0 + 3]!;
  const finish = (at: number, t0: number, t1: number, t2: number, t3: number) => {
    const y0 = t0 / d0;
    const y1 = (t1 - y0 * l10) / d1;
    const y2 = (t2 - y0 * l20 - y1 * l21) / d2;
    a[at] = y0;
    a[at + 1] = y1;
    a[at + 2] = y2;
    a[at + 3] = (t3 - y0 * l30 - y1 * l31 - y2 * l32) / d3;
  };
  finish(r0 + j0, s00, s01, s02, s03);
  finish(r1 + j0, s10, s11, s12, s13);
  finish(r2 + j0, s20, s21, s22, s23);
  finish(r3 + j0, s30, s31, s32, s33);
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

/**
 * Solves L Y = B in place for `columns` right sides at once; B is n x stride, row-major, its first `columns` columns used.
 * `columns` and `stride` must be multiples of 4 (pad with anything finite).
 */
export function solveLowerMany(
  factor: Float64Array,
  n: number,
  b: Float64Array,
  stride: number,
  columns: number,
): void {
  const full = n - (n % 4);
  for (let i0 = 0; i0 < full; i0 += 4)
    for (let c = 0; c < columns; c += 4) solveTile(factor, n, b, stride, i0, c);
  for (let i = full; i < n; i++) {
    const row = i * n;
    const inverse = 1 / factor[row + i]!;
    for (let c = 0; c < columns; c++) {
      let sum = b[i * stride + c]!;
      for (let k = 0; k < i; k++) sum -= factor[row + k]! * b[k * stride + c]!;
      b[i * stride + c] = sum * inverse;
    }
  }
}

function solveTile(l: Float64Array, n: number, b: Float64Array, stride: number, i0: number, c: number): void {
  const r0 = i0 * n;
  const r1 = r0 + n;
  const r2 = r1 + n;
  const r3 = r2 + n;
  const o0 = i0 * stride + c;
  const o1 = o0 + stride;
  const o2 = o1 + stride;
  const o3 = o2 + stride;
  for (let half = 0; half < 4; half += 2) {
    let s00 = b[o0 + half]!;
    let s01 = b[o0 + half + 1]!;
    let s10 = b[o1 + half]!;
    let s11 = b[o1 + half + 1]!;
    let s20 = b[o2 + half]!;
    let s21 = b[o2 + half + 1]!;
    let s30 = b[o3 + half]!;
    let s31 = b[o3 + half + 1]!;
    let at = c + half;
    for (let k = 0; k < i0; k++) {
      const y0 = b[at]!;
      const y1 = b[at + 1]!;
      at += stride;
      const l0 = l[r0 + k]!;
      const l1 = l[r1 + k]!;
      const l2 = l[r2 + k]!;
      const l3 = l[r3 + k]!;
      s00 -= l0 * y0;
      s01 -= l0 * y1;
      s10 -= l1 * y0;
      s11 -= l1 * y1;
      s20 -= l2 * y0;
      s21 -= l2 * y1;
      s30 -= l3 * y0;
      s31 -= l3 * y1;
    }
    const d0 = l[r0 + i0]!;
    s00 /= d0;
    s01 /= d0;
    let m = l[r1 + i0]!;
    const d1 = l[r1 + i0 + 1]!;
    s10 = (s10 - m * s00) / d1;
    s11 = (s11 - m * s01) / d1;
    m = l[r2 + i0]!;
    let m1 = l[r2 + i0 + 1]!;
    const d2 = l[r2 + i0 + 2]!;
    s20 = (s20 - m * s00 - m1 * s10) / d2;
    s21 = (s21 - m * s01 - m1 * s11) / d2;
    m = l[r3 + i0]!;
    m1 = l[r3 + i0 + 1]!;
    const m2 = l[r3 + i0 + 2]!;
    const d3 = l[r3 + i0 + 3]!;
    b[o0 + half] = s00;
    b[o0 + half + 1] = s01;
    b[o1 + half] = s10;
    b[o1 + half + 1] = s11;
    b[o2 + half] = s20;
    b[o2 + half + 1] = s21;
    b[o3 + half] = (s30 - m * s00 - m1 * s10 - m2 * s20) / d3;
    b[o3 + half + 1] = (s31 - m * s01 - m1 * s11 - m2 * s21) / d3;
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
