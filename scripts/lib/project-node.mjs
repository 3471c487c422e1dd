import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { inRoot } from './paths.mjs';

/**
 * @typedef {object} NodeChoice
 * @property {string} path
 * @property {string} version
 * @property {boolean} own true for the Node in node_modules, false for the machine's
 *
 * @typedef {object} NodeFinding what was found when a candidate was run
 * @property {string} path
 * @property {string | undefined} version undefined where it is missing or does not run
 */

/**
 * Whether a Node runs TypeScript files as they are, without a warning flag.
 * @param {string} version as in process.version
 */
export function runsTypeScript(version) {
  const [major = 0, minor = 0] = version.replace(/^v/, '').split('.').map(Number);
  if (major === 22) return minor >= 18;
  if (major === 23) return minor >= 6;
  return major > 23;
}

/**
 * Where the packages put a Node for this system; undefined where they carry none.
 * @param {NodeJS.Platform} platform
 * @param {string} arch
 */
export function ownNodePath(platform, arch) {
  if (platform !== 'linux' || (arch !== 'x64' && arch !== 'arm64')) return undefined;
  return join('node_modules', `node-linux-${arch}`, 'bin', 'node');
}

/**
 * The project's own Node if it runs, else the machine's if it is new enough.
 * @param {NodeFinding | undefined} own
 * @param {{ path: string, version: string }} host
 * @returns {NodeChoice | undefined}
 */
export function chooseNode(own, host) {
  if (own?.version !== undefined && runsTypeScript(own.version)) {
    return { path: own.path, version: own.version, own: true };
  }
  if (runsTypeScript(host.version)) return { path: host.path, version: host.version, own: false };
  return undefined;
}

/** @returns {NodeChoice | undefined} */
export function findNode() {
  const relative = ownNodePath(process.platform, process.arch);
  const host = { path: process.execPath, version: process.version };
  if (relative === undefined) return chooseNode(undefined, host);
  const path = inRoot(relative);
  // Started with the project's own Node already: it evidently runs.
  if (path === process.execPath) return chooseNode(host, host);
  return chooseNode({ path, version: versionOf(path) }, host);
}

/**
 * A file that is there may still not run (another C library, a kernel too old), so it is run.
 * @param {string} path
 */
function versionOf(path) {
  if (!existsSync(path)) return undefined;
  const result = spawnSync(path, ['--version'], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });
  return result.status === 0 ? result.stdout.trim() : undefined;
}

/**
 * @param {NodeJS.Platform} platform
 * @param {string} arch
 * @param {string} hostVersion
 */
export function noNodeMessage(platform, arch, hostVersion) {
  const own = ownNodePath(platform, arch);
  const why =
    own === undefined
      ? `No Node comes with the packages for ${platform} ${arch}, and this machine's is ${hostVersion}.`
      : `The Node that comes with the packages (${own}) is missing or does not run here, and this machine's is ${hostVersion}.`;
  return `${why}\nInstall Node 24 (at least 22.18) and run the command again.`;
}
