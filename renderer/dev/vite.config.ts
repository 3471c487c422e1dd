import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

const dir = (path: string) => new URL(path, import.meta.url).pathname;

/** Builds the window on its mock bridge, to look at it in a browser; the program itself is built by scripts/build.mjs. */
export default defineConfig({
  root: dir('..'),
  base: './',
  plugins: [react()],
  worker: { format: 'es' },
  build: {
    outDir: dir('../../artefacts/mock-window'),
    emptyOutDir: true,
    target: 'chrome130',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: { input: dir('index.html') },
  },
});
