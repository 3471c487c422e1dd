import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { inRoot } from './paths.mjs';

/** Where the runtime that npm carries is unpacked; its `.ok` file is written last. */
export const substituteFolder = inRoot('node_modules', '.cache', 'electron-runtime');

/** Raised when the way it is prepared changes, so that one unpacked earlier is made anew. */
export const SUBSTITUTE_RECIPE = 2;

/**
 * @typedef {object} ElectronRuntime
 * @property {string} path the program to start, with the repository's folder as its first plain argument
 * @property {string} version such as 45.5.0
 * @property {boolean} substitute true for an older runtime standing in for the pinned one
 */

/**
 * The Electron runtime of this clone.
 * @returns {ElectronRuntime}
 * @throws {Error} where none has been installed
 */
export function electronRuntime() {
  const runtime = findElectron();
  if (runtime !== undefined) return runtime;
  throw new Error('No Electron runtime in this clone. Run: node scripts/bootstrap.mjs test');
}

/** @returns {ElectronRuntime | undefined} */
export function findElectron() {
  return findOwnElectron() ?? findSubstitute();
}

/** @returns {ElectronRuntime | undefined} */
function findOwnElectron() {
  const packageFolder = inRoot('node_modules', 'electron');
  const distFolder = process.env['ELECTRON_OVERRIDE_DIST_PATH'] ?? join(packageFolder, 'dist');
  try {
    const path = join(distFolder, readFileSync(join(packageFolder, 'path.txt'), 'utf8'));
    const version = readFileSync(join(distFolder, 'version'), 'utf8').trim().replace(/^v/, '');
    const pinned = createRequire(import.meta.url)(join(packageFolder, 'package.json')).version;
    // An interrupted download leaves a folder without its last files; another version is no longer ours.
    return existsSync(path) && version === pinned ? { path, version, substitute: false } : undefined;
  } catch {
    return undefined;
  }
}

/** @returns {ElectronRuntime | undefined} */
function findSubstitute() {
  try {
    const { version, recipe } = JSON.parse(readFileSync(join(substituteFolder, '.ok'), 'utf8'));
    if (recipe !== SUBSTITUTE_RECIPE) return undefined;
    return { path: join(substituteFolder, 'electron'), version, substitute: true };
  } catch {
    return undefined;
  }
}
