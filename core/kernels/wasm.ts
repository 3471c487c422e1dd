import { readFileSync } from 'node:fs';
import { resourcePath } from '../resources.ts';
import type { Kernels } from './kernels.ts';

interface Memory {
  readonly buffer: ArrayBuffer;
  grow(pages: number): number;
}

/** What is used of the engine's global; the types of the language alone do not have it. */
declare const WebAssembly: {
  validate(bytes: Uint8Array): boolean;
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object) => { readonly exports: unknown };
};

/** Addresses are bytes. */
interface Exports {
  readonly memory: Memory;
  covariances(
    kind: number,
    scale: number,
    a: number,
    b: number,
    c: number,
    d: number,
    table: number,
    xs: number,
    ys: number,
    n: number,
    cells: number,
    groups: number,
    rows: number,
    out: number,
    scratch: number,
  ): void;
  solvePanels(factor: number, rows: number, wanted: number, b: number, groups: number, stride: number): void;
  factorPanels(factor: number, rows: number, diagonal: number, tolerance: number): number;
  project(weights: number, rows: number, b: number, groups: number, stride: number, out: number): void;
  sumSquares(rows: number, b: number, groups: number, stride: number, out: number): void;
  inverseSquareDistance(
    xs: number,
    ys: number,
    values: number,
    n: number,
    softening: number,
    cells: number,
    groups: number,
    isRow: number,
    outWeights: number,
    outSums: number,
    scratch: number,
  ): void;
  inverseDistance(
    xs: number,
    ys: number,
    values: number,
    n: number,
    softening: number,
    exponent: number,
    cells: number,
    groups: number,
    outWeights: number,
    outSums: number,
    scratch: number,
  ): void;
  peak(rounds: number): number;
}

const PAGE_NUMBERS = 65_536 / Float64Array.BYTES_PER_ELEMENT;
/** The module's constants lie below. */
const START = 512;

/** @returns null where the engine cannot run 128-bit SIMD */
function loadKernelExports(): Exports | null {
  const bytes = readFileSync(resourcePath('core', 'kernels', 'kernels.wasm'));
  if (!WebAssembly.validate(bytes)) return null;
  return new WebAssembly.Instance(new WebAssembly.Module(bytes)).exports as Exports;
}

/** @returns null where the engine cannot run 128-bit SIMD */
export function createWasmKernels(): Kernels | null {
  const loaded = loadKernelExports();
  if (loaded === null) return null;
  const wasm = loaded;
  let memory = new Float64Array(wasm.memory.buffer);
  return {
    start: START,
    memory: () => memory,
    require(length) {
      if (length <= memory.length) return;
      wasm.memory.grow(Math.ceil((length - memory.length) / PAGE_NUMBERS));
      memory = new Float64Array(wasm.memory.buffer);
    },
    addCovariances({ kind, scale, a, b, c, d, table }, xs, ys, n, cells, groups, stride, out, scratch) {
      wasm.covariances(
        kind,
        scale,
        a,
        b,
        c,
        d,
        table * 8,
        xs * 8,
        ys * 8,
        n,
        cells * 8,
        groups,
        stride,
        out * 8,
        scratch * 8,
      );
    },
    solvePanels(factor, rows, wanted, b, groups, stride) {
      wasm.solvePanels(factor * 8, rows, wanted, b * 8, groups, stride);
    },
    factorPanels: (factor, rows, diagonal, tolerance) =>
      wasm.factorPanels(factor * 8, rows, diagonal * 8, tolerance),
    project(weights, rows, b, groups, stride, out) {
      wasm.project(weights * 8, rows, b * 8, groups, stride, out * 8);
    },
    sumSquares(rows, b, groups, stride, out) {
      wasm.sumSquares(rows, b * 8, groups, stride, out * 8);
    },
    sumInverseDistances({ xs, ys, values, n }, weighing, cells, groups, outWeights, outSums, scratch) {
      const { softening, exponent, isRow } = weighing;
      if (exponent === -1)
        wasm.inverseSquareDistance(
          xs * 8,
          ys * 8,
          values * 8,
          n,
          softening,
          cells * 8,
          groups,
          isRow ? 1 : 0,
          outWeights * 8,
          outSums * 8,
          scratch * 8,
        );
      else
        wasm.inverseDistance(
          xs * 8,
          ys * 8,
          values * 8,
          n,
          softening,
          exponent,
          cells * 8,
          groups,
          outWeights * 8,
          outSums * 8,
          scratch * 8,
        );
    },
  };
}

/**
 * Runs the probe kernel, which does nothing but multiply and add as fast as the machine can.
 * @returns how many operations it did
 */
export function kernelPeak(rounds: number): number {
  probe ??= loadKernelExports();
  // twelve sums of two numbers, a multiplication and an addition each
  return Number.isFinite(probe?.peak(rounds)) ? 48 * rounds : 0;
}

let probe: Exports | null = null;
