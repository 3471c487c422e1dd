/**
 * What share of the machine's WebAssembly SIMD peak each kernel reaches on one thread, and how much faster it is than
 * its twin in TypeScript. Peak is what a probe kernel of nothing but multiplications and additions does in the same
 * run. Counted are additions, multiplications, divisions and roots; the last two take several times as long.
 */
import { CORRELATION, type Kernels } from '../../core/kernels/kernels.ts';
import { fillToFour, panelStart } from '../../core/kernels/panels.ts';
import { createPlainKernels } from '../../core/kernels/plain.ts';
import { createWasmKernels } from '../../core/kernels/wasm.ts';
import { describeMachine, measurePeak, seeded, table } from './measure.ts';

const wasm = createWasmKernels();
if (wasm === null) throw new Error('this Node has no SIMD');
const GROUPS = 8;

interface Case {
  readonly name: string;
  /** Numbers it needs from the start on. */
  readonly length: number;
  readonly operations: number;
  /** Brings back what a run spoils; in the measured time, small against the run. */
  readonly prepare?: (memory: Float64Array, at: number) => void;
  readonly run: (kernels: Kernels, at: number) => void;
}

function solveCase(n: number): Case {
  const rows = fillToFour(n);
  const b = panelStart(rows / 4);
  return {
    name: `triangular solve, n = ${n}`,
    length: b + 4 * GROUPS * rows,
    operations: rows * rows * 4 * GROUPS,
    run: (k, at) => k.solvePanels(at, rows, rows, at + b, GROUPS, rows),
  };
}

function factorCase(n: number): Case {
  const size = panelStart(n / 4);
  return {
    name: `Cholesky factor, n = ${n}`,
    length: size + n,
    operations: n ** 3 / 3,
    prepare(memory, at) {
      memory.fill(1e-4, at, at + size);
      memory.fill(1, at + size, at + size + n);
      for (let i = 0; i < n; i++) memory[at + panelStart(i >> 2) + 4 * (i & ~3) + 5 * (i & 3)] = 1;
    },
    run: (k, at) => k.factorPanels(at, n, at + size, 1e-12),
  };
}

function covarianceCase(name: keyof typeof CORRELATION, each: number): Case {
  const n = 200;
  const cells = 2 * n;
  const out = cells + 8 * GROUPS;
  const scratch = out + 4 * GROUPS * n;
  const structure = { kind: CORRELATION[name], scale: 1, a: 0, b: 0.01, c: 0.01, d: 0, table: 0 };
  return {
    name: `covariances, ${name}`,
    length: scratch + 8 * n,
    operations: each * n * 4 * GROUPS,
    run: (k, at) => k.addCovariances(structure, at, at + n, n, at + cells, GROUPS, n, at + out, at + scratch),
  };
}

function distanceCase(exponent: number, each: number): Case {
  const n = 2000;
  const cells = 3 * n;
  const weights = cells + 8 * GROUPS;
  const sums = weights + 4 * GROUPS;
  return {
    name: `inverse distances, power ${-2 * exponent}`,
    length: sums + 4 * GROUPS + 4 * n + 4,
    operations: each * n * 4 * GROUPS,
    run: (k, at) =>
      k.sumInverseDistances(
        { xs: at, ys: at + n, values: at + 2 * n, n },
        { softening: 1, exponent, isRow: true },
        at + cells,
        GROUPS,
        at + weights,
        at + sums,
        at + sums + 4 * GROUPS,
      ),
  };
}

const CASES: readonly Case[] = [
  solveCase(60),
  solveCase(200),
  solveCase(1000),
  factorCase(1000),
  covarianceCase('spherical', 14),
  covarianceCase('exponential', 46),
  covarianceCase('gaussian', 44),
  distanceCase(-1, 8.5),
  distanceCase(-1.5, 72),
];

/** Least milliseconds of one run. */
function time(kernels: Kernels, { length, prepare, run }: Case, forMs: number): number {
  kernels.require(kernels.start + length);
  const memory = kernels.memory();
  const uniform = seeded(3);
  for (let i = 0; i < length; i++) memory[kernels.start + i] = 0.001 + 0.001 * uniform();
  const once = () => {
    prepare?.(memory, kernels.start);
    const start = performance.now();
    run(kernels, kernels.start);
    return performance.now() - start;
  };
  let least = Number.POSITIVE_INFINITY;
  const until = performance.now() + forMs;
  while (performance.now() < until) least = Math.min(least, once());
  return least;
}

console.log(describeMachine());
const peak = measurePeak();
console.log(`Probe kernel: ${peak.toFixed(1)} thousand million operations a second. Goal: half of it.`);
const plain = createPlainKernels();
const rows = [['kernel', 'operations a ns', 'of peak', 'times faster than the twin']];
for (const one of CASES) {
  const ms = time(wasm, one, 600);
  rows.push([
    one.name,
    (one.operations / ms / 1e6).toFixed(1),
    `${((100 * one.operations) / ms / 1e6 / peak).toFixed(0)} %`,
    (time(plain, one, 600) / ms).toFixed(1),
  ]);
}
table(rows);
