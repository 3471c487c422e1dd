import { readFileSync } from 'node:fs';
import binaryen from 'binaryen';
import { expect, test } from 'vitest';
import { compileKernels, KERNELS_WASM } from '../../../scripts/lib/kernels.mjs';

test('the committed module is what its sources compile to, byte for byte', async () => {
  const compiled = await compileKernels();
  expect(Buffer.from(compiled).equals(readFileSync(KERNELS_WASM))).toBe(true);
}, 120_000);

test('it uses no relaxed instruction, imports nothing and stays small', () => {
  const text = binaryen.readBinary(readFileSync(KERNELS_WASM)).emitText();
  expect(text).toContain('f64x2.mul');
  expect(text).not.toContain('relaxed');
  const module = new WebAssembly.Module(readFileSync(KERNELS_WASM));
  expect(WebAssembly.Module.imports(module)).toEqual([]);
  expect(readFileSync(KERNELS_WASM).length).toBeLessThan(32_768);
});
