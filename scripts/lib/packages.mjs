import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { delimiter, dirname, join, resolve } from 'node:path';
import { inRoot, root } from './paths.mjs';
import { reasonIn, retry, run, tail } from './run.mjs';
import { Stop, say } from './say.mjs';

/** Holds the sha256 of the package-lock.json the packages were installed from. */
const STAMP = inRoot('node_modules', '.gasplat-packages');
const RUNTIME_CACHE = inRoot('node_modules', '.cache', 'electron-runtime');
/** `npm ci` empties node_modules; the unpacked runtime waits here meanwhile. */
const RUNTIME_ASIDE = inRoot('out', '.electron-runtime-aside');
/** Their absence is judged by the choice of Node, which may find a good one on the machine. */
const OWN_NODE = /^node_modules\/node-linux-/;

/**
 * @typedef {object} LockEntry one entry of "packages" in package-lock.json
 * @property {string} [version]
 * @property {boolean} [optional]
 * @property {boolean} [link]
 * @property {string | string[]} [os]
 * @property {string | string[]} [cpu]
 * @property {string | string[]} [libc]
 *
 * @typedef {Record<string, LockEntry>} LockEntries by folder, such as "node_modules/vite"
 *
 * @typedef {object} System
 * @property {string} os
 * @property {string} cpu
 * @property {string | undefined} libc 'glibc' or 'musl' on Linux
 */

/** @param {string | Buffer} lockText */
export function stampOf(lockText) {
  return createHash('sha256').update(lockText).digest('hex');
}

/**
 * The native packages in the lockfile that fit a system. npm leaves one out without a word when its
 * download fails, so they are counted afterwards.
 * @param {LockEntries} entries
 * @param {System} system
 */
export function nativePackagesFor(entries, system) {
  return Object.keys(entries).filter((folder) => {
    const { os, cpu, libc, optional } = entries[folder] ?? {};
    if (optional !== true || (os === undefined && cpu === undefined)) return false;
    return fits(os, system.os) && fits(cpu, system.cpu) && (system.os !== 'linux' || fits(libc, system.libc));
  });
}

/**
 * npm's os and cpu fields: names, or names not wanted ("!win32").
 * @param {string | string[] | undefined} field
 * @param {string | undefined} actual
 */
function fits(field, actual) {
  const wanted = field === undefined ? [] : [field].flat();
  if (wanted.length === 0) return true;
  const refused = wanted.filter((name) => name.startsWith('!')).map((name) => name.slice(1));
  if (refused.length > 0) return actual === undefined || !refused.includes(actual);
  return actual !== undefined && wanted.includes(actual);
}

/**
 * Whether what npm says it installed is what the lockfile asks for, so that packages put there by a plain
 * `npm install` are not thrown away.
 * @param {LockEntries} wanted "packages" of package-lock.json
 * @param {LockEntries} installed "packages" of node_modules/.package-lock.json
 */
export function installedMatches(wanted, installed) {
  const folders = Object.keys(wanted).filter((folder) => folder !== '');
  const complete = folders.every((folder) => {
    const there = installed[folder];
    if (there === undefined) return wanted[folder]?.optional === true;
    return there.version === wanted[folder]?.version;
  });
  return complete && Object.keys(installed).every((folder) => wanted[folder] !== undefined);
}

/** @returns {System} */
function thisSystem() {
  const system = { os: process.platform, cpu: process.arch };
  if (process.platform !== 'linux') return { ...system, libc: undefined };
  const glibc = existsSync('/lib64/ld-linux-x86-64.so.2') || existsSync('/lib/ld-linux-aarch64.so.1');
  return { ...system, libc: glibc ? 'glibc' : 'musl' };
}

/** @param {string} path @returns {LockEntries} */
function readEntries(path) {
  try {
    return JSON.parse(readFileSync(path, 'utf8')).packages ?? {};
  } catch {
    return {};
  }
}

/** @param {LockEntries} entries */
function missingNativePackages(entries) {
  return nativePackagesFor(entries, thisSystem()).filter(
    (folder) => !existsSync(inRoot(folder, 'package.json')),
  );
}

/** Quick look without starting anything. */
export function packagesAreCurrent() {
  const lock = readFileSync(inRoot('package-lock.json'));
  try {
    return readFileSync(STAMP, 'utf8') === stampOf(lock);
  } catch {
    return false;
  }
}

/**
 * Installs the packages exactly as the lockfile names them, without running any install script.
 * Proxy variables (HTTPS_PROXY, NO_PROXY) are honoured by npm itself.
 * @throws {Stop} after three tries
 */
export async function installPackages() {
  const stamp = stampOf(readFileSync(inRoot('package-lock.json')));
  const wanted = readEntries(inRoot('package-lock.json'));
  const installed = readEntries(inRoot('node_modules', '.package-lock.json'));
  const blocking = () => missingNativePackages(wanted).filter((folder) => !OWN_NODE.test(folder));

  if (!installedMatches(wanted, installed) || missingNativePackages(wanted).length > 0) {
    say('Installing packages (about half a minute) ...');
    const npm = findNpm();
    const outcome = await retry(
      3,
      async () => {
        const result = await keepingRuntime(() => runNpm(npm, NPM_CI, 'installing packages'));
        if (result.code !== 0 || missingNativePackages(wanted).length === 0) return result;
        return { code: 1, output: `npm left out: ${missingNativePackages(wanted).join(', ')}` };
      },
      ({ output }, tryNumber) => say(`  Try ${tryNumber} of 3 failed: ${reasonIn(output)}`),
    );
    if (
      outcome.code !== 0 &&
      (blocking().length > 0 || !existsSync(inRoot('node_modules', '.package-lock.json')))
    ) {
      throw new Stop(
        `The packages could not be installed:\n${tail(outcome.output)}\nCheck the network connection (or HTTPS_PROXY) and run the command again.`,
      );
    }
  }
  const skipped = missingNativePackages(wanted);
  if (skipped.length > 0) say(`Not installed, going on without: ${skipped.join(', ')}`);
  writeFileSync(STAMP, stamp);
}

/** Said on the command line, because a setting of the user's (omit=dev, NODE_ENV) would leave the tools out. */
const NPM_CI = ['ci', '--ignore-scripts', '--include=dev', '--include=optional', '--no-audit', '--no-fund'];

/**
 * @param {() => ReturnType<typeof run>} install
 * @returns {ReturnType<typeof run>}
 */
async function keepingRuntime(install) {
  if (existsSync(join(RUNTIME_CACHE, '.ok'))) {
    mkdirSync(dirname(RUNTIME_ASIDE), { recursive: true });
    rmSync(RUNTIME_ASIDE, { recursive: true, force: true });
    renameSync(RUNTIME_CACHE, RUNTIME_ASIDE);
  }
  const outcome = await install();
  // Also picks up what an interrupted run left aside.
  if (outcome.code === 0 && existsSync(RUNTIME_ASIDE)) {
    mkdirSync(dirname(RUNTIME_CACHE), { recursive: true });
    rmSync(RUNTIME_CACHE, { recursive: true, force: true });
    renameSync(RUNTIME_ASIDE, RUNTIME_CACHE);
  }
  return outcome;
}

/**
 * @typedef {object} Npm
 * @property {string} command
 * @property {readonly string[]} before arguments that come first
 * @property {boolean} shell
 * @property {NodeJS.ProcessEnv} env
 */

/**
 * npm with the machine's Node: the project's own is deleted by `npm ci` while it runs.
 * @returns {Npm}
 */
export function findNpm() {
  const ownTools = inRoot('node_modules');
  const folders = (process.env['PATH'] ?? '').split(delimiter);
  const outside = folders.filter((folder) => !resolve(root, folder).startsWith(ownTools));
  // Windows spells the name its own way, and a copied environment would hold both.
  const others = Object.entries(process.env).filter(([name]) => name.toUpperCase() !== 'PATH');
  const env = { ...Object.fromEntries(others), PATH: outside.join(delimiter) };
  const windows = process.platform === 'win32';
  const npmName = windows ? 'npm.cmd' : 'npm';
  const hostNode = outside.map((folder) => join(folder, windows ? 'node.exe' : 'node')).find(existsSync);

  const caller = process.env['npm_execpath'];
  if (caller?.endsWith('npm-cli.js') && existsSync(caller) && hostNode !== undefined) {
    return { command: hostNode, before: [caller], shell: false, env };
  }
  if (!outside.some((folder) => existsSync(join(folder, npmName)))) {
    throw new Stop('npm was not found. Install Node 24, which brings npm, and run the command again.');
  }
  return { command: npmName, before: [], shell: windows, env };
}

/**
 * @param {Npm} npm
 * @param {readonly string[]} args
 * @param {string} task
 * @param {string} [cwd]
 */
export function runNpm({ command, before, shell, env }, args, task, cwd = root) {
  return run(command, [...before, ...args], { cwd, env, shell, task });
}
