/**
 * What each command asks of the machine. Nothing is fetched that the command does not use:
 * the headless job needs neither Electron nor its libraries nor a screen.
 *
 * @typedef {'start' | 'test' | 'cli' | 'dev' | 'build' | 'lint' | 'bench'} Command
 * @typedef {object} Needs
 * @property {boolean} electron an Electron runtime and, on Linux, its shared libraries
 * @property {boolean} electronMayFail go on without it (the tests then count as failed, one by one)
 * @property {boolean} virtualScreen xvfb-run and xauth
 */

/** @type {readonly Command[]} */
export const commands = ['start', 'test', 'cli', 'dev', 'build', 'lint', 'bench'];

/**
 * Whether a window can be opened here.
 * @param {NodeJS.Platform} platform
 * @param {NodeJS.ProcessEnv} env
 */
export function hasScreen(platform, env) {
  if (platform === 'linux') return Boolean(env['DISPLAY'] || env['WAYLAND_DISPLAY']);
  return !isTruthy(env['CI']);
}

/**
 * @param {Command} command
 * @param {NodeJS.Platform} platform
 * @param {NodeJS.ProcessEnv} env
 * @returns {Needs}
 */
export function needsOf(command, platform, env) {
  const screen = hasScreen(platform, env);
  const electron = command === 'test' || command === 'dev' || (command === 'start' && screen);
  return {
    electron,
    electronMayFail: command === 'test',
    virtualScreen: command === 'test' && platform === 'linux' && !screen,
  };
}

/** @param {string | undefined} value */
export function isTruthy(value) {
  return value !== undefined && value !== '' && value !== '0' && value !== 'false';
}
