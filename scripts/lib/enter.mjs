import { fileURLToPath } from 'node:url';
import { bootstrap } from './bootstrap.mjs';
import { relay } from './run.mjs';
import { giveUp } from './say.mjs';

/**
 * First line of every script: makes ready what it needs and carries on under the right Node, in a second
 * process where the present one is another. Called by the scripts themselves and not by npm's "pre" hooks,
 * which a user's `ignore-scripts` setting turns off.
 * @param {import('./needs.mjs').Command} command
 * @param {string} scriptUrl import.meta.url of the script
 */
export async function enter(command, scriptUrl) {
  try {
    const node = await bootstrap(command);
    if (process.version === node.version) return;
    process.exit(await relay(node.path, [fileURLToPath(scriptUrl), ...process.argv.slice(2)]));
  } catch (error) {
    giveUp(error);
  }
}
