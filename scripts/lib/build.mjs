import { existsSync, mkdirSync, readdirSync, rmSync, statSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { stripVTControlCharacters } from 'node:util';
import { withLock } from './lock.mjs';
import { inRoot, root } from './paths.mjs';
import { Stop, say } from './say.mjs';

/** Written last, so that its time is that of a complete build. */
const STAMP = inRoot('dist', '.built');
/** What the built files are made from; a folder counts with all below it. */
const SOURCES = ['core', 'electron', 'renderer', 'scripts/lib/build.mjs', 'package-lock.json'];

/**
 * @typedef {object} Entry
 * @property {string} source path from the repository's root
 * @property {string} output path in dist/
 */

/** @type {Record<'main' | 'engine' | 'worker' | 'preload' | 'renderer', Entry>} */
export const entries = {
  main: { source: 'electron/main.ts', output: 'main.js' },
  engine: { source: 'electron/engine.ts', output: 'engine.js' },
  worker: { source: 'core/jobs/worker.ts', output: 'worker.js' },
  preload: { source: 'electron/preload.ts', output: 'preload.cjs' },
  renderer: { source: 'renderer/index.html', output: 'renderer' },
};

/** Whether a source file is newer than the last complete build. */
export function buildIsStale() {
  if (!existsSync(STAMP)) return true;
  const builtMs = statSync(STAMP).mtimeMs;
  return SOURCES.some((source) => newestMs(inRoot(source)) > builtMs);
}

/**
 * Newest change below a path; a folder's own time counts too, because it shows a deleted file.
 * @param {string} path
 * @returns {number}
 */
function newestMs(path) {
  if (!existsSync(path)) return 0;
  const stat = statSync(path);
  if (!stat.isDirectory()) return stat.mtimeMs;
  const below = readdirSync(path).map((name) => newestMs(join(path, name)));
  return Math.max(stat.mtimeMs, ...below);
}

/**
 * Builds the program into dist/. The caller must run on the project's Node.
 * @param {{ watch?: boolean }} [options]
 * @returns {Promise<unknown[]>} what Vite returns: the outputs, or watchers when watching
 * @throws {Stop} with what the first failing build says
 */
export function buildAll({ watch = false } = {}) {
  return withLock(inRoot('out', '.build-lock'), () => build(watch)).catch((error) => {
    // What does not compile is a fault of the sources: their place in the message says more than our stack.
    const text = error instanceof Error ? error.message : String(error);
    throw new Stop(process.stderr.isTTY ? text : stripVTControlCharacters(text));
  });
}

/**
 * @param {boolean} watch
 * @returns {Promise<unknown[]>}
 */
async function build(watch) {
  const vite = await import('vite');
  // A source saved while the build runs is newer than the build.
  const started = new Date();
  mkdirSync(inRoot('dist'), { recursive: true });
  rmSync(STAMP, { force: true });
  // Only what no build overwrites; a window open on the rest goes on running.
  rmSync(inRoot('dist', 'chunks'), { recursive: true, force: true });
  const builds = [
    nodeBuild('main', { external: ['electron'] }),
    nodeBuild('engine', { external: ['electron', 'better-sqlite3'] }),
    nodeBuild('worker', { external: ['better-sqlite3'] }),
    nodeBuild('preload', { external: ['electron'], format: 'cjs', bundlePackages: true }),
    rendererBuild(await reactPlugin()),
  ];
  const known = builds.filter(({ source }) => {
    const there = existsSync(inRoot(source));
    if (!there) say(`Not built: ${source} does not exist`);
    return there;
  });
  const results = await Promise.all(
    known.map(({ config }) =>
      vite.build({ ...config, build: { ...config.build, watch: watch ? {} : null } }),
    ),
  );
  writeFileSync(STAMP, '');
  utimesSync(STAMP, started, started);
  return results.flat();
}

/** @returns {Promise<import('vite').PluginOption[]>} */
async function reactPlugin() {
  const { default: react } = await import('@vitejs/plugin-react');
  return react();
}

/** @type {import('vite').InlineConfig} */
const COMMON = {
  root,
  configFile: false,
  envDir: false,
  logLevel: 'warn',
  clearScreen: false,
  publicDir: false,
};

/**
 * A bundle for Node or Electron's main side. Packages stay outside and are loaded from node_modules, except
 * in the preload script, which is sandboxed and may require nothing but electron.
 * @param {'main' | 'engine' | 'worker' | 'preload'} name
 * @param {{ external: string[], format?: 'es' | 'cjs', bundlePackages?: boolean }} how
 * @returns {{ source: string, config: import('vite').InlineConfig }}
 */
function nodeBuild(name, { external, format = 'es', bundlePackages = false }) {
  const { source, output } = entries[name];
  return {
    source,
    config: {
      ...COMMON,
      ...(bundlePackages ? { ssr: { noExternal: true } } : {}),
      build: {
        ssr: source,
        outDir: 'dist',
        emptyOutDir: false,
        target: 'node20',
        sourcemap: true,
        minify: false,
        rolldownOptions: {
          external,
          output: { format, entryFileNames: output, chunkFileNames: `chunks/${name}-[name]-[hash].js` },
        },
      },
    },
  };
}

/**
 * @param {import('vite').PluginOption[]} plugins
 * @returns {{ source: string, config: import('vite').InlineConfig }}
 */
function rendererBuild(plugins) {
  return {
    source: entries.renderer.source,
    config: {
      ...COMMON,
      root: inRoot('renderer'),
      base: './',
      plugins,
      worker: { format: 'es' },
      build: {
        outDir: inRoot('dist', entries.renderer.output),
        emptyOutDir: true,
        target: 'chrome130',
        // Inlined assets would be data: URLs, which the content security policy refuses for scripts and fonts.
        assetsInlineLimit: 0,
        modulePreload: { polyfill: false },
        // The map library alone is over Vite's default; nothing is fetched over a network here.
        chunkSizeWarningLimit: 4000,
      },
    },
  };
}
