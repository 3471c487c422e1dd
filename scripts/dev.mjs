/** Builds again at every change and restarts the window. */
import { spawn } from 'node:child_process';
import { buildAll } from './lib/build.mjs';
import { electronRuntime } from './lib/electron-runtime.mjs';
import { enter } from './lib/enter.mjs';
import { hasScreen } from './lib/needs.mjs';
import { root } from './lib/paths.mjs';
import { giveUp, Stop, say } from './lib/say.mjs';
import { electronArgs, electronEnv, sandboxMessage, sandboxObstacle } from './lib/window.mjs';

await enter('dev', import.meta.url);
await develop().catch(giveUp);

async function develop() {
  if (!hasScreen(process.platform, process.env))
    throw new Stop('No screen here; dev needs one to show the window.');
  const { path, version, substitute } = electronRuntime();
  if (substitute) say(`Running on a substitute runtime, Electron ${version}.`);
  const asRoot = process.getuid?.() === 0;
  const obstacle = asRoot ? undefined : sandboxObstacle(path);
  if (obstacle !== undefined) throw new Stop(sandboxMessage(obstacle, path));

  const args = electronArgs(['--demo'], asRoot);
  /** @type {import('node:child_process').ChildProcess | undefined} */
  let window;
  const restart = () => {
    window?.removeAllListeners('exit');
    window?.kill();
    window = spawn(path, args, {
      cwd: root,
      env: electronEnv(process.env, process.execPath),
      stdio: 'inherit',
    });
    // Closed by the person: that ends the session.
    window.on('exit', (code) => process.exit(code ?? 0));
  };

  process.on('exit', () => window?.kill());
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => process.exit(130));

  const watchers = /** @type {import('vite').Rolldown.RolldownWatcher[]} */ (await buildAll({ watch: true }));
  const building = new Set(watchers);
  /** @type {NodeJS.Timeout | undefined} */
  let pending;
  for (const watcher of watchers) {
    watcher.on('event', (event) => {
      if (event.code === 'START') building.add(watcher);
      if (event.code === 'ERROR') say(`Not restarted: ${event.error.message}`);
      if (event.code !== 'END') return;
      building.delete(watcher);
      clearTimeout(pending);
      // One saved file may concern several builds; the window restarts once, when all are done.
      if (building.size === 0) pending = setTimeout(restart, 200);
    });
  }
}
