import { existsSync } from 'node:fs';
import { installElectron } from './electron-install.mjs';
import { findElectron } from './electron-runtime.mjs';
import { withLock } from './lock.mjs';
import { needsOf } from './needs.mjs';
import { installPackages, packagesAreCurrent } from './packages.mjs';
import { inRoot } from './paths.mjs';
import { findNode, noNodeMessage, ownNodePath } from './project-node.mjs';
import { Stop, say } from './say.mjs';
import { installSystemPackages, missingSystemPackages } from './system-packages.mjs';

/**
 * One for each kind of work, so that a command waits only for what it needs itself.
 * In out/, because `npm ci` empties node_modules.
 * @param {'packages' | 'electron' | 'system'} work
 */
const lockFor = (work) => inRoot('out', `.${work}-lock`);

/**
 * Makes ready what a command needs, and nothing else. Silent and quick where nothing is missing; needs the
 * network only for what is missing.
 * @param {import('./needs.mjs').Command} command
 * @returns {Promise<import('./project-node.mjs').NodeChoice>} the Node to run the command on
 * @throws {Stop} with what failed and what to do
 */
export async function bootstrap(command) {
  const needs = needsOf(command, process.platform, process.env);
  if (!packagesAreCurrent()) {
    await withLock(lockFor('packages'), async () => {
      if (!packagesAreCurrent()) await installPackages();
    });
  }
  const node = findNode() ?? (await reinstalledNode());
  if (node === undefined) throw new Stop(noNodeMessage(process.platform, process.arch, process.version));

  if (needs.electron && findElectron() === undefined) {
    await withLock(lockFor('electron'), async () => {
      if (findElectron() !== undefined) return;
      try {
        await installElectron(node.path);
      } catch (error) {
        if (!needs.electronMayFail || !(error instanceof Stop)) throw error;
        say(`${error.message}\nGoing on without; the tests of the window will count as failed.`);
      }
    });
  }
  if (process.platform === 'linux') await ensureSystemPackages(needs);
  return node;
}

/** Where the project's Node was left out or deleted, installing once more may bring it. */
async function reinstalledNode() {
  const own = ownNodePath(process.platform, process.arch);
  if (own === undefined || existsSync(inRoot(own))) return undefined;
  await withLock(lockFor('packages'), installPackages);
  return findNode();
}

/** @param {import('./needs.mjs').Needs} needs */
async function ensureSystemPackages(needs) {
  const electron = needs.electron ? findElectron()?.path : undefined;
  const missing = () => missingSystemPackages({ electron, virtualScreen: needs.virtualScreen });
  if (missing().missing.length === 0) return;
  await withLock(lockFor('system'), async () => {
    const found = missing();
    if (found.missing.length === 0) return;
    const installed = await installSystemPackages(found);
    const left = missing().missing;
    if (installed && left.length === 0) return;
    const text = `Still missing on this machine: ${left.join(', ')}`;
    if (!needs.electronMayFail) throw new Stop(text);
    say(`${text}\nGoing on without; the tests of the window will count as failed.`);
  });
}
