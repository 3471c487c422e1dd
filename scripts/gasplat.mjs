#!/usr/bin/env node
/** The `gasplat` command: runs core/cli/main.ts on the project's Node, from any folder. */
import { bootstrap } from './lib/bootstrap.mjs';
import { inRoot } from './lib/paths.mjs';
import { relay } from './lib/run.mjs';
import { giveUp } from './lib/say.mjs';

try {
  const node = await bootstrap('cli');
  // Node 22 still calls running TypeScript experimental on every start.
  const args = [
    '--disable-warning=ExperimentalWarning',
    inRoot('core', 'cli', 'main.ts'),
    ...process.argv.slice(2),
  ];
  process.exitCode = await relay(node.path, args);
} catch (error) {
  giveUp(error);
}
