import { mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { buildAll } from './build.mjs';
import { findElectron } from './electron-runtime.mjs';
import { hasScreen } from './needs.mjs';
import { inRoot, root } from './paths.mjs';
import { relay, run, tail } from './run.mjs';
import { say } from './say.mjs';
import { isOnPath } from './system-packages.mjs';
import { countListed, countPlaywright, countVitest, noCounts } from './test-results.mjs';
import { electronEnv } from './window.mjs';

/** @typedef {import('./test-results.mjs').Counts} Counts */

const VITEST = inRoot('node_modules', 'vitest', 'vitest.mjs');
const PLAYWRIGHT = inRoot('node_modules', '@playwright', 'test', 'cli.js');

/**
 * @param {readonly string[]} filters parts of file paths; none means all
 * @returns {Promise<Counts>}
 */
export async function runVitest(filters) {
  const report = freshReport('unit-results.json');
  const args = ['run', '--reporter=default', '--reporter=json', `--outputFile.json=${report}`, ...filters];
  const code = await relay(process.execPath, [VITEST, ...args], { cwd: root });
  return readCounts(report, (json) => countVitest(json, code));
}

/** @returns {Promise<Counts>} one passed or one failed */
export async function runBuild() {
  try {
    await buildAll();
    say('passed  build');
    return { ...noCounts(), passed: 1 };
  } catch (error) {
    say(`FAILED  build\n${error instanceof Error ? error.message : error}`);
    return { ...noCounts(), failed: 1 };
  }
}

/**
 * The window's tests. Where they cannot run (no Electron, no screen) every one of them counts as failed.
 * @param {readonly string[]} filters parts of file paths; none means all
 * @returns {Promise<Counts>}
 */
export async function runPlaywright(filters) {
  if (!hasSpecs()) {
    say('No tests of the window in test/app.');
    return noCounts();
  }
  const virtualScreen = process.platform === 'linux' && !hasScreen(process.platform, process.env);
  const electron = findElectron();
  if (electron === undefined || (virtualScreen && !isOnPath('xvfb-run'))) {
    const what = electron === undefined ? 'no Electron runtime' : 'no xvfb-run for a virtual screen';
    const failed = await countSpecs(filters);
    say(`FAILED  ${failed} tests of the window: ${what}`);
    return { ...noCounts(), failed };
  }
  const runtime = electron.substitute ? 'a substitute runtime, Electron' : 'Electron';
  say(
    `Tests of the window run on ${runtime} ${electron.version}${virtualScreen ? ', on a virtual screen' : ''}.`,
  );
  const report = freshReport('app-results.json');
  const node = [process.execPath, PLAYWRIGHT, 'test', ...filters];
  const [program = '', ...args] = virtualScreen
    ? ['xvfb-run', '-a', '-s', '-screen 0 1600x1000x24', ...node]
    : node;
  const code = await relay(program, args, { cwd: root, env: electronEnv(process.env, process.execPath) });
  return readCounts(report, (json) => countPlaywright(json, code));
}

function hasSpecs() {
  try {
    return readdirSync(inRoot('test', 'app'), { recursive: true, encoding: 'utf8' }).some((name) =>
      name.endsWith('.spec.ts'),
    );
  } catch {
    return false;
  }
}

/**
 * @param {readonly string[]} filters
 * @returns {Promise<number>} at least 1
 */
async function countSpecs(filters) {
  const report = freshReport('app-list.json');
  const env = { ...process.env, PLAYWRIGHT_JSON_OUTPUT_FILE: report };
  const args = [PLAYWRIGHT, 'test', '--list', '--reporter=json', ...filters];
  const { output } = await run(process.execPath, args, { cwd: root, env });
  try {
    return Math.max(1, countListed(JSON.parse(readFileSync(report, 'utf8'))));
  } catch {
    say(tail(output));
    return 1;
  }
}

/** @param {string} name */
function freshReport(name) {
  mkdirSync(inRoot('artefacts'), { recursive: true });
  rmSync(inRoot('artefacts', name), { force: true });
  return inRoot('artefacts', name);
}

/**
 * A runner that ended before it wrote its report counts as one failure.
 * @param {string} report
 * @param {(json: any) => Counts} count
 * @returns {Counts}
 */
function readCounts(report, count) {
  try {
    return count(JSON.parse(readFileSync(report, 'utf8')));
  } catch (error) {
    say(`FAILED  no report to count from: ${error instanceof Error ? error.message : error}`);
    return { ...noCounts(), failed: 1 };
  }
}
