/** Compiles core/kernels/assembly into core/kernels/kernels.wasm, which is committed. */
import { writeFileSync } from 'node:fs';
import { enter } from './lib/enter.mjs';
import { compileKernels, KERNELS_WASM } from './lib/kernels.mjs';
import { giveUp, say } from './lib/say.mjs';

await enter('build', import.meta.url);
await compileKernels()
  .then((bytes) => {
    writeFileSync(KERNELS_WASM, bytes);
    say(`core/kernels/kernels.wasm: ${bytes.length} bytes`);
  })
  .catch(giveUp);
