/** Opens the window on the sample project; without a screen, runs the same job to files. */
import { buildAll, buildIsStale } from './lib/build.mjs';
import { electronRuntime } from './lib/electron-runtime.mjs';
import { enter } from './lib/enter.mjs';
import { hasScreen } from './lib/needs.mjs';
import { inRoot, root } from './lib/paths.mjs';
import { relay } from './lib/run.mjs';
import { giveUp, Stop, say } from './lib/say.mjs';
import { electronArgs, electronEnv, sandboxMessage, sandboxObstacle } from './lib/window.mjs';

await enter('start', import.meta.url);
const start = hasScreen(process.platform, process.env) ? openWindow : runHeadless;
process.exitCode = await start().catch(giveUp);

/** @returns {Promise<number>} */
async function openWindow() {
  if (buildIsStale()) {
    say('Building ...');
    await buildAll();
  }
  const { path, version, substitute } = electronRuntime();
  if (substitute) {
    say(`Running on a substitute runtime, Electron ${version}: the pinned one could not be downloaded here.`);
  }
  const asRoot = process.getuid?.() === 0;
  const obstacle = asRoot ? undefined : sandboxObstacle(path);
  if (obstacle !== undefined) throw new Stop(sandboxMessage(obstacle, path));
  if (asRoot) say('Started as root: the window runs without its sandbox (--no-sandbox).');
  const args = electronArgs(['--demo', ...process.argv.slice(2)], asRoot);
  return relay(path, args, { cwd: root, env: electronEnv(process.env, process.execPath) });
}

/** @returns {Promise<number>} */
async function runHeadless() {
  say(
    'No screen here (DISPLAY and WAYLAND_DISPLAY are not set): running the sample job to files in out/demo.',
  );
  const cli = inRoot('core', 'cli', 'main.ts');
  return relay(
    process.execPath,
    ['--disable-warning=ExperimentalWarning', cli, 'demo', '--out', 'out/demo'],
    {
      cwd: root,
    },
  );
}
