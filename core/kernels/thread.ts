import type { Kernels } from './kernels.ts';
import { createPlainKernels } from './plain.ts';
import { createWasmKernels } from './wasm.ts';

let kernels: Kernels | null = null;

/** The kernels of this thread: WebAssembly where the engine has 128-bit SIMD, else the same in TypeScript. */
export function threadKernels(): Kernels {
  kernels ??= createWasmKernels() ?? createPlainKernels();
  return kernels;
}

/** Room in the kernels' memory that several users share. Any reservation may end all earlier ones. */
const BUDGET_NUMBERS = 8 * 1024 * 1024;
let generation = 0;
let used = 0;

/** A user's place in the kernels' memory. */
export interface Room {
  /**
   * Where the room begins. What was put there is still there unless it had to make way for others in between; then
   * `fill` is called first, once, with the new place.
   */
  enter(): number;
}

/**
 * A room of `length` numbers for one user. At 64 MB together (or one user's need where that is more) all rooms are
 * given up and taken anew as their users come back.
 */
export function reserveRoom(length: number, fill: (memory: Float64Array, at: number) => void): Room {
  let at = -1;
  let takenIn = -1;
  return {
    enter() {
      if (takenIn === generation) return at;
      const { start, require, memory } = threadKernels();
      if (used > 0 && used + length > BUDGET_NUMBERS) {
        generation++;
        used = 0;
      }
      at = start + used;
      // whole cache lines, so that no room shares one with another
      used += (length + 7) & ~7;
      takenIn = generation;
      require(start + used);
      fill(memory(), at);
      return at;
    },
  };
}

/** Room for the work of one call, behind all reserved rooms; anyone's next reservation or loan may overwrite it. */
export function borrowRoom(length: number): number {
  const { start, require } = threadKernels();
  require(start + used + length);
  return start + used;
}
