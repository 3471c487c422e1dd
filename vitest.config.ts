import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['test/**/*.test.ts', 'test/**/*.test.mjs'],
    // The window's tests are Playwright's.
    exclude: ['test/app/**', 'node_modules/**'],
    setupFiles: ['test/property-seed.ts'],
    // Numerical checks on a machine that does something else besides.
    testTimeout: 30_000,
    hookTimeout: 30_000,
  },
});
