/** Times by their least: what else runs on the machine only ever adds. */
import { spawnSync } from 'node:child_process';
import { cpus, loadavg } from 'node:os';
import { kernelPeak } from '../../core/kernels/wasm.ts';

export interface Times {
  /** Elapsed, milliseconds. */
  readonly wallMs: number;
  /** Processor time of all threads of the process, milliseconds. */
  readonly cpuMs: number;
}

const cpuMs = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

/** The least elapsed and the least processor time of several runs. */
export async function measure(runs: number, work: () => unknown): Promise<Times> {
  const least = { wallMs: Number.POSITIVE_INFINITY, cpuMs: Number.POSITIVE_INFINITY };
  for (let i = 0; i < runs; i++) {
    const cpu = cpuMs();
    const wall = performance.now();
    await work();
    least.wallMs = Math.min(least.wallMs, performance.now() - wall);
    least.cpuMs = Math.min(least.cpuMs, cpuMs() - cpu);
  }
  return least;
}

/** @returns whether the program can be run; says how to get it where not */
export function findProgram(command: string, args: readonly string[], install: string): boolean {
  const { status, error } = spawnSync(command, args, { stdio: 'ignore' });
  if (error === undefined && status === 0) return true;
  console.log(`SKIPPED: ${command} is not there or lacks a package. On Debian: ${install}`);
  return false;
}

/** Machine, load and the most its WebAssembly SIMD gives on one thread, measured now. */
export function describeMachine(): string {
  const { model = 'unknown processor' } = cpus()[0] ?? {};
  const load = loadavg()[0] as number;
  return `${model.trim()}, ${cpus().length} cores, Node ${process.versions.node}, load ${load.toFixed(1)} at the start`;
}

/** Billions of double-precision operations a second of the probe kernel, the best of many short runs. */
export function measurePeak(): number {
  const rounds = 20_000;
  let best = 0;
  const until = performance.now() + 500;
  while (performance.now() < until) {
    const start = performance.now();
    const operations = kernelPeak(rounds);
    best = Math.max(best, operations / (performance.now() - start) / 1e6);
  }
  return best;
}

export function table(rows: readonly (readonly string[])[]): void {
  const widths = (rows[0] as readonly string[]).map((_, c) =>
    Math.max(...rows.map((row) => (row[c] ?? '').length)),
  );
  for (const row of rows) console.log(row.map((cell, c) => cell.padStart(widths[c] as number)).join('  '));
}

/** Numbers in [0, 1) that are the same on every run: mulberry32 (public domain, T. Ettinger). */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Centres of the cells of a square grid of `size` x `size` cells of 1 m, rows of equal y. */
export function gridCells(size: number): Float64Array {
  const out = new Float64Array(2 * size * size);
  for (let i = 0; i < size * size; i++) {
    out[2 * i] = (i % size) + 0.5;
    out[2 * i + 1] = Math.floor(i / size) + 0.5;
  }
  return out;
}

/** Invented readings on invented ground of `size` x `size` metres. */
export function inventPoints(n: number, size: number, seed = 1): { xy: Float64Array; values: Float64Array } {
  const uniform = seeded(seed);
  const xy = Float64Array.from({ length: 2 * n }, () => uniform() * size);
  const values = Float64Array.from({ length: n }, (_, i) => {
    const [x, y] = [(xy[2 * i] as number) / size, (xy[2 * i + 1] as number) / size];
    return 20 + 5 * Math.sin(7 * x) + 4 * Math.cos(9 * y + 2 * x) + uniform();
  });
  return { xy, values };
}
