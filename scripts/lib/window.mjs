import { existsSync, readFileSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { root } from './paths.mjs';

/**
 * Why Chromium's sandbox cannot work here; undefined where it can.
 * @param {{ maxUserNamespaces: string | undefined, unprivilegedClone: string | undefined, appArmorRestricts: string | undefined }} kernel
 *   contents of the kernel's settings, undefined where this kernel has no such setting
 */
export function userNamespacesForbidden({ maxUserNamespaces, unprivilegedClone, appArmorRestricts }) {
  if (maxUserNamespaces === '0') return 'user.max_user_namespaces = 0';
  if (unprivilegedClone === '0') return 'kernel.unprivileged_userns_clone = 0';
  if (appArmorRestricts === '1') return 'kernel.apparmor_restrict_unprivileged_userns = 1';
  return undefined;
}

/**
 * @param {string} electronPath
 * @returns {string | undefined} what forbids the sandbox on this machine, for a user who is not root
 */
export function sandboxObstacle(electronPath) {
  if (process.platform !== 'linux' || hasSetuidHelper(electronPath)) return undefined;
  return userNamespacesForbidden({
    maxUserNamespaces: readSetting('/proc/sys/user/max_user_namespaces'),
    unprivilegedClone: readSetting('/proc/sys/kernel/unprivileged_userns_clone'),
    appArmorRestricts: readSetting('/proc/sys/kernel/apparmor_restrict_unprivileged_userns'),
  });
}

/** @param {string} electronPath */
function setuidHelper(electronPath) {
  return join(dirname(electronPath), 'chrome-sandbox');
}

/** @param {string} electronPath */
function hasSetuidHelper(electronPath) {
  const helper = setuidHelper(electronPath);
  if (!existsSync(helper)) return false;
  const { uid, mode } = statSync(helper);
  return uid === 0 && (mode & 0o4000) !== 0;
}

/** @param {string} path */
function readSetting(path) {
  try {
    return readFileSync(path, 'utf8').trim();
  } catch {
    return undefined;
  }
}

/**
 * @param {string} obstacle
 * @param {string} electronPath
 */
export function sandboxMessage(obstacle, electronPath) {
  const helper = setuidHelper(electronPath);
  return [
    `This Linux forbids unprivileged user namespaces (${obstacle}), which the window's sandbox needs.`,
    'Gasplat does not open its window without a sandbox. Either allow them, or give the sandbox its helper:',
    `    sudo chown root:root "${helper}" && sudo chmod 4755 "${helper}"`,
    'The command line needs neither: npx gasplat demo --out out/demo',
  ].join('\n');
}

/**
 * Environment for Electron. Editors that are Electron programs themselves leave a variable in their terminals
 * that turns Electron into plain Node.
 * @param {NodeJS.ProcessEnv} env
 * @param {string} node the Node that runs the engine where this Electron cannot
 * @returns {NodeJS.ProcessEnv}
 */
export function electronEnv(env, node) {
  const { ELECTRON_RUN_AS_NODE: _unwanted, ...rest } = env;
  return { ...rest, GASPLAT_NODE: node };
}

/**
 * @param {readonly string[]} appArgs arguments for the app
 * @param {boolean} asRoot Chromium refuses to start as root with its sandbox
 */
export function electronArgs(appArgs, asRoot) {
  return [...(asRoot ? ['--no-sandbox'] : []), root, ...appArgs];
}
