/** The compiled kernels against their TypeScript twins, and both against arithmetic done otherwise. */
import { describe, expect, test } from 'vitest';
import { compileModel, structuredCovariance } from '../../../core/geostat/models.ts';
import { lookUpCorrelation, TABLE_LENGTH, tabulate } from '../../../core/kernels/correlation-table.ts';
import { kernelExp, kernelLog } from '../../../core/kernels/elementary.ts';
import { CORRELATION, type Kernels } from '../../../core/kernels/kernels.ts';
import {
  fillToFour,
  packFactor,
  packSymmetric,
  panelStart,
  unpackFactor,
} from '../../../core/kernels/panels.ts';
import { createPlainKernels } from '../../../core/kernels/plain.ts';
import { createWasmKernels } from '../../../core/kernels/wasm.ts';
import { seededUniform } from '../geostat/simulate.ts';

const wasm = createWasmKernels();

/** Runs the same on both with the same input laid out from the start; gives what both leave in memory. */
function both(
  length: number,
  fill: (m: Float64Array, at: number) => void,
  run: (k: Kernels, at: number) => void,
) {
  if (wasm === null) throw new Error('this Node has no SIMD');
  return [wasm, createPlainKernels()].map((kernels) => {
    kernels.require(kernels.start + length);
    const at = kernels.start;
    kernels.memory().fill(0, at, at + length);
    fill(kernels.memory(), at);
    run(kernels, at);
    return kernels.memory().slice(at, at + length);
  }) as [Float64Array, Float64Array];
}

/** A matrix with eigenvalues of at least 1, row-major. */
function positiveMatrix(n: number, seed: number): Float64Array {
  const uniform = seededUniform(seed);
  const half = Float64Array.from({ length: n * n }, () => uniform() - 0.5);
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      let sum = i === j ? 1 : 0;
      for (let k = 0; k < n; k++) sum += (half[i * n + k] as number) * (half[j * n + k] as number);
      out[i * n + j] = sum;
    }
  return out;
}

describe('exp and log', () => {
  test('exp agrees with the engine to 2 units in the last place, over its whole range', () => {
    for (let x = -699.9; x < 700; x += 0.0917)
      expect(Math.abs(kernelExp(x) / Math.exp(x) - 1)).toBeLessThan(5e-16);
    expect(kernelExp(0)).toBe(1);
    expect(kernelExp(-0)).toBe(1);
    expect(kernelExp(-701)).toBe(0);
    expect(kernelExp(Number.NEGATIVE_INFINITY)).toBe(0);
  });

  test('log agrees with the engine to 2 units in the last place', () => {
    for (let x = 1e-12; x < 1e15; x *= 1.0371) {
      const expected = Math.log(x);
      expect(Math.abs(kernelLog(x) - expected)).toBeLessThan(4.5e-16 * Math.max(Math.abs(expected), 0.05));
    }
    expect(kernelLog(1)).toBe(0);
  });
});

const table = tabulate((u) => Math.exp(-u) * (1 + u + (u * u) / 3));

describe('correlation tables', () => {
  test.each([0.4, 0.8, 1, 2, 3.5, 10])(
    'Matern of smoothness %d is met as closely as its Bessel functions are computed',
    (smoothness) => {
      const compiled = compileModel({
        nugget: 0,
        structures: [{ kind: 'matern', partialSill: 1, rangeM: 1, smoothness }],
      });
      const exact = (u: number) => structuredCovariance(compiled, u, 0);
      const tabulated = tabulate(exact);
      expect(lookUpCorrelation(tabulated, 0, 0)).toBe(1);
      let worst = 0;
      for (let u = 1e-20; u < 200; u *= 1.0173)
        worst = Math.max(worst, Math.abs(lookUpCorrelation(tabulated, 0, u * u) - exact(u)));
      expect(worst).toBeLessThan(2e-13);
    },
  );

  // Abramowitz and Stegun 10.2.17: half-integer orders are polynomials times exp(-u)
  test.each([
    ['2.5', (u: number) => Math.exp(-u) * (1 + u + (u * u) / 3)],
    ['3.5', (u: number) => Math.exp(-u) * (1 + u + 0.4 * u * u + u ** 3 / 15)],
  ])('smoothness %s in closed form is met to 2e-15', (_, exact) => {
    const tabulated = tabulate(exact);
    for (let u = 1e-9; u < 90; u *= 1.0371)
      expect(Math.abs(lookUpCorrelation(tabulated, 0, u * u) - exact(u))).toBeLessThan(2e-15);
  });
});

describe('compiled and plain kernels give the same bits', () => {
  test.each(Object.entries(CORRELATION))('covariances, %s', (_, kind) => {
    const n = 37;
    const groups = 3;
    const stride = 44;
    const uniform = seededUniform(kind + 1);
    for (const map of [
      { a: 0, b: 0.04, c: 0.04, d: -0 },
      { a: 0.021, b: 0.034, c: 0.07, d: -0.043 },
    ]) {
      const length = 2 * n + 8 * groups + 4 * groups * stride + 8 * n + TABLE_LENGTH;
      const values = Float64Array.from({ length }, (_v, i) => (i < 2 * n + 8 * groups ? 100 * uniform() : 0));
      // one cell on a point, one far away
      values[2 * n] = values[0] as number;
      values[2 * n + 4] = values[n] as number;
      values[2 * n + 1] = 1e5;
      const out = 2 * n + 8 * groups;
      const used = out + 4 * groups * stride;
      const [fast, plain] = both(
        length,
        (m, at) => {
          m.set(values, at);
          m.set(table, at + length - TABLE_LENGTH);
        },
        (k, at) =>
          k.addCovariances(
            { kind, scale: 1.7, ...map, table: at + length - TABLE_LENGTH },
            at,
            at + n,
            n,
            at + 2 * n,
            groups,
            stride,
            at + out,
            at + used,
          ),
      );
      expect(fast.subarray(0, used)).toEqual(plain.subarray(0, used));
      expect(plain[out]).toBeCloseTo(1.7, 14);
      expect(plain[out + 1]).toBe(0);
    }
  });

  test.each([1, 3, 4, 31, 64, 130])('factor of %i rows, which is the Cholesky factor', (n) => {
    const matrix = positiveMatrix(n, n);
    const rows = fillToFour(n);
    const size = panelStart(rows / 4);
    const status: number[] = [];
    const [fast, plain] = both(
      size + rows,
      (m, at) => {
        packSymmetric(matrix, n, m, at);
        for (let i = 0; i < rows; i++) m[at + size + i] = i < n ? (matrix[i * n + i] as number) : 1;
      },
      (k, at) => status.push(k.factorPanels(at, rows, at + size, 1e-12)),
    );
    expect(status).toEqual([-1, -1]);
    expect(fast).toEqual(plain);
    const l = new Float64Array(n * n);
    unpackFactor(fast, 0, n, l);
    for (let i = 0; i < n; i++)
      for (let j = 0; j <= i; j++) {
        let sum = 0;
        for (let k = 0; k <= j; k++) sum += (l[i * n + k] as number) * (l[j * n + k] as number);
        expect(Math.abs(sum - (matrix[i * n + j] as number))).toBeLessThan(1e-13 * n);
      }
    const packed = new Float64Array(size);
    packFactor(l, n, packed, 0);
    for (let i = 0; i < size; i++)
      if (packed[i] !== 0)
        expect(Math.abs((fast[i] as number) / (packed[i] as number) - 1)).toBeLessThan(1e-14);
  });

  test('a pivot that is nothing but rounding is named by its row', () => {
    const n = 6;
    const matrix = positiveMatrix(n, 3);
    for (let k = 0; k < n; k++) {
      matrix[4 * n + k] = matrix[1 * n + k] as number;
      matrix[k * n + 4] = matrix[k * n + 1] as number;
    }
    matrix[4 * n + 4] = matrix[1 * n + 1] as number;
    const status: number[] = [];
    both(
      panelStart(2) + 8,
      (m, at) => {
        packSymmetric(matrix, n, m, at);
        for (let i = 0; i < 8; i++) m[at + panelStart(2) + i] = matrix[i * n + i] ?? 1;
      },
      (k, at) => status.push(k.factorPanels(at, 8, at + panelStart(2), 1e-12)),
    );
    expect(status).toEqual([4, 4]);
  });

  test.each([
    [4, 8],
    [76, 76],
    [132, 136],
  ])('%i rows solved, reduced to %i', (rows, wanted) => {
    const groups = 3;
    const uniform = seededUniform(rows);
    const matrix = positiveMatrix(wanted, rows);
    const factor = new Float64Array(panelStart(wanted / 4));
    const l = matrix.map((v, i) => (i % wanted > Math.floor(i / wanted) ? 0 : v));
    for (let i = 0; i < wanted; i++) l[i * wanted + i] = wanted;
    packFactor(l, wanted, factor, 0);
    const right = Float64Array.from({ length: 4 * groups * wanted }, () => uniform() - 0.5);
    const weights = Float64Array.from({ length: rows }, () => uniform() - 0.5);
    const atRight = factor.length;
    const atWeights = atRight + right.length;
    const atOut = atWeights + rows;
    const [fast, plain] = both(
      atOut + 8 * groups,
      (m, at) => {
        m.set(factor, at);
        m.set(right, at + atRight);
        m.set(weights, at + atWeights);
      },
      (k, at) => {
        k.solvePanels(at, rows, wanted, at + atRight, groups, wanted);
        k.project(at + atWeights, rows, at + atRight, groups, wanted, at + atOut);
        k.sumSquares(rows, at + atRight, groups, wanted, at + atOut + 4 * groups);
      },
    );
    expect(fast).toEqual(plain);
    for (let cell = 0; cell < 4 * groups; cell++) {
      const at = (i: number) => 4 * ((cell >> 2) * wanted + i) + (cell & 3);
      let squares = 0;
      let projected = 0;
      for (let i = 0; i < wanted; i++) {
        let sum = 0;
        for (let k = 0; k < Math.min(i + 1, rows); k++)
          sum += (l[i * wanted + k] as number) * (fast[atRight + at(k)] as number);
        if (i >= rows) sum += fast[atRight + at(i)] as number;
        else {
          squares += (fast[atRight + at(i)] as number) ** 2;
          projected += (weights[i] as number) * (fast[atRight + at(i)] as number);
        }
        expect(Math.abs(sum - (right[at(i)] as number))).toBeLessThan(1e-12);
      }
      expect(fast[atOut + cell]).toBeCloseTo(projected, 13);
      expect(fast[atOut + 4 * groups + cell]).toBeCloseTo(squares, 13);
    }
  });

  test.each([
    { exponent: -1, softening: 0, isRow: false },
    { exponent: -1, softening: 2, isRow: true },
    { exponent: -1.5, softening: 0, isRow: false },
    { exponent: -0.35, softening: 0.3, isRow: true },
  ])('inverse distances, %o', (weighing) => {
    const n = 23;
    const groups = 2;
    const uniform = seededUniform(8);
    const out = 3 * n + 8 * groups;
    const length = out + 8 * groups + 4 * n + 4;
    const values = Float64Array.from({ length }, (_, i) => (i < out ? 100 * uniform() : 0));
    if (weighing.isRow)
      for (let g = 0; g < groups; g++) values.fill(44, 3 * n + 8 * g + 4, 3 * n + 8 * g + 8);
    const used = out + 8 * groups;
    const [fast, plain] = both(
      length,
      (m, at) => m.set(values, at),
      (k, at) =>
        k.sumInverseDistances(
          { xs: at, ys: at + n, values: at + 2 * n, n },
          weighing,
          at + 3 * n,
          groups,
          at + out,
          at + out + 4 * groups,
          at + used,
        ),
    );
    expect(fast.subarray(0, used)).toEqual(plain.subarray(0, used));
    for (let cell = 0; cell < 4 * groups; cell++) {
      const x = values[3 * n + 8 * (cell >> 2) + (cell & 3)] as number;
      const y = values[3 * n + 8 * (cell >> 2) + 4 + (cell & 3)] as number;
      let weights = 0;
      let sums = 0;
      for (let i = 0; i < n; i++) {
        const d2 = ((values[i] as number) - x) ** 2 + ((values[n + i] as number) - y) ** 2;
        const w = (d2 + weighing.softening) ** weighing.exponent;
        weights += w;
        sums += w * (values[2 * n + i] as number);
      }
      expect(Math.abs((fast[out + cell] as number) / weights - 1)).toBeLessThan(1e-13);
      expect(Math.abs((fast[out + 4 * groups + cell] as number) / sums - 1)).toBeLessThan(1e-13);
    }
  });
});
