import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { isTruthy } from './needs.mjs';
import { run, tail } from './run.mjs';
import { Stop, say } from './say.mjs';

/** What Electron links to, by Debian's names; with --no-install-recommends each draws in what it needs. */
export const LIBRARIES = ['libgtk-3-0', 'libnss3', 'libasound2', 'libgbm1'];
export const VIRTUAL_SCREEN = ['xvfb', 'xauth'];

/**
 * @param {string} lddOutput
 * @returns {string[]} shared libraries that are not on this machine
 */
export function missingLibraries(lddOutput) {
  const names = [...lddOutput.matchAll(/^\s*(\S+)\s+=>\s+not found/gm)].map((match) => match[1] ?? '');
  return [...new Set(names)];
}

/**
 * Newer releases renamed some packages when time became 64 bits wide.
 * @param {readonly string[]} names
 * @param {(name: string) => boolean} isKnown whether this release has a package of that name
 */
export function aptNames(names, isKnown) {
  return names.map((name) => (isKnown(`${name}t64`) ? `${name}t64` : name));
}

/**
 * Whether to install by ourselves: only where nobody sits at a terminal to be asked.
 * @param {{ uid: number | undefined, terminal: boolean, apt: boolean, ci: boolean }} machine
 */
export function mayInstall({ uid, terminal, apt, ci }) {
  return uid === 0 && apt && (ci || !terminal);
}

/**
 * @param {readonly string[]} packages
 * @param {boolean} apt
 * @param {boolean} root
 */
export function installLine(packages, apt, root) {
  const sudo = root ? '' : 'sudo ';
  if (apt)
    return `${sudo}apt-get update && ${sudo}apt-get install -y --no-install-recommends ${packages.join(' ')}`;
  return `install with your system's package manager what Debian calls: ${packages.join(' ')}`;
}

/** @param {string} program */
export function isOnPath(program) {
  return (process.env['PATH'] ?? '').split(delimiter).some((folder) => existsSync(join(folder, program)));
}

/** @param {{ electron: string | undefined, virtualScreen: boolean }} wanted */
export function missingSystemPackages({ electron, virtualScreen }) {
  const libraries = electron === undefined ? [] : missingLibraries(ldd(electron));
  const screenTools = virtualScreen ? ['xvfb-run', 'xauth'].filter((program) => !isOnPath(program)) : [];
  return {
    missing: [...libraries, ...screenTools],
    packages: [...(libraries.length > 0 ? LIBRARIES : []), ...(screenTools.length > 0 ? VIRTUAL_SCREEN : [])],
  };
}

/** @param {string} program */
function ldd(program) {
  return spawnSync('ldd', [program], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }).stdout ?? '';
}

/**
 * Installs the packages where that is ours to do, else stops with the line to run.
 * @param {{ missing: readonly string[], packages: readonly string[] }} found
 * @returns {Promise<boolean>} false where the installation was tried and failed
 * @throws {Stop} where a person has to do it
 */
export async function installSystemPackages({ missing, packages }) {
  const apt = isOnPath('apt-get');
  const uid = process.getuid?.();
  const terminal = process.stdin.isTTY === true || process.stdout.isTTY === true;
  if (!mayInstall({ uid, terminal, apt, ci: isTruthy(process.env['CI']) })) {
    const names = apt ? aptNames(packages, isKnownToApt) : packages;
    throw new Stop(
      `This machine lacks ${missing.join(', ')}.\nTo get them:\n    ${installLine(names, apt, uid === 0)}`,
    );
  }
  say(
    `Installing system packages, for ${missing.slice(0, 3).join(', ')}${missing.length > 3 ? ' and more' : ''} ...`,
  );
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const options = ['-o', 'DPkg::Lock::Timeout=300', '-o', 'Acquire::Retries=3'];
  const update = await run('apt-get', [...options, 'update'], { env, task: 'reading the package lists' });
  if (update.code !== 0) say(`  apt-get update failed:\n${tail(update.output)}`);
  const names = aptNames(packages, isKnownToApt);
  const install = await run('apt-get', [...options, 'install', '-y', '--no-install-recommends', ...names], {
    env,
    task: 'installing system packages',
  });
  if (install.code === 0) return true;
  say(
    `  apt-get install failed:\n${tail(install.output)}\n  To try by hand:\n    ${installLine(names, apt, true)}`,
  );
  return false;
}

/** @param {string} name */
function isKnownToApt(name) {
  const result = spawnSync('apt-cache', ['show', name], {
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  return result.status === 0 && result.stdout.includes(`Package: ${name}`);
}
