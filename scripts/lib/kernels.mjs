/** Compiles the number kernels. */
import { readFileSync } from 'node:fs';
import { inRoot, root } from './paths.mjs';
import { Stop } from './say.mjs';

/** Where the compiled kernels lie, and their sources. */
export const KERNELS_WASM = inRoot('core', 'kernels', 'kernels.wasm');
const ENTRY = 'core/kernels/assembly/index.ts';

/**
 * @returns {Promise<Uint8Array>} the module, the same bytes from the same sources and compiler
 * @throws {Stop} with what the compiler says
 */
export async function compileKernels() {
  const { default: asc } = await import('assemblyscript/asc');
  /** @type {Uint8Array | undefined} */
  let bytes;
  const { error, stderr } = await asc.main(
    [ENTRY, '--outFile', 'kernels.wasm', '--runtime', 'stub', '--noAssert', '-O3', '--enable', 'simd'],
    {
      readFile(name, folder) {
        try {
          return readFileSync(inRoot(folder ?? root, name), 'utf8');
        } catch {
          return null;
        }
      },
      writeFile(name, contents) {
        if (name.endsWith('.wasm') && typeof contents !== 'string') bytes = contents;
      },
      listFiles: () => [],
    },
  );
  if (error !== null || bytes === undefined) throw new Stop(`${stderr.toString()}\n${error?.message ?? ''}`);
  return bytes;
}
