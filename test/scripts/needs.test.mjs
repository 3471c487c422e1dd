import { describe, expect, test } from 'vitest';
import { commands, hasScreen, isTruthy, needsOf } from '../../scripts/lib/needs.mjs';

const nothing = { electron: false, electronMayFail: false, virtualScreen: false };
/** @type {NodeJS.Platform[]} */
const systems = ['linux', 'darwin', 'win32'];

describe('screen', () => {
  test('on Linux it is what DISPLAY or WAYLAND_DISPLAY names', () => {
    expect(hasScreen('linux', {})).toBe(false);
    expect(hasScreen('linux', { DISPLAY: '' })).toBe(false);
    expect(hasScreen('linux', { DISPLAY: ':0' })).toBe(true);
    expect(hasScreen('linux', { WAYLAND_DISPLAY: 'wayland-0' })).toBe(true);
  });

  test.each(/** @type {const} */ (['darwin', 'win32']))(
    'on %s there is one, but not on a build machine',
    (system) => {
      expect(hasScreen(system, {})).toBe(true);
      expect(hasScreen(system, { CI: 'true' })).toBe(false);
      expect(hasScreen(system, { CI: 'false' })).toBe(true);
    },
  );
});

describe('each command asks for only what it needs', () => {
  test.each(systems)('cli, build, lint and bench ask for no window on %s', (system) => {
    for (const command of /** @type {const} */ (['cli', 'build', 'lint', 'bench'])) {
      expect(needsOf(command, system, { DISPLAY: ':0' })).toMatchObject(nothing);
    }
  });

  test('start without a screen asks for no window', () => {
    expect(needsOf('start', 'linux', {})).toEqual(nothing);
    expect(needsOf('start', 'darwin', { CI: '1' })).toEqual(nothing);
  });

  test('start with a screen needs Electron and cannot do without', () => {
    const wanted = { electron: true, electronMayFail: false, virtualScreen: false };
    expect(needsOf('start', 'linux', { DISPLAY: ':0' })).toEqual(wanted);
    expect(needsOf('start', 'win32', {})).toEqual(wanted);
  });

  test('test needs a virtual screen only on a Linux without a real one', () => {
    expect(needsOf('test', 'linux', {})).toEqual({
      electron: true,
      electronMayFail: true,
      virtualScreen: true,
    });
    expect(needsOf('test', 'linux', { DISPLAY: ':0' }).virtualScreen).toBe(false);
    expect(needsOf('test', 'darwin', { CI: '1' })).toEqual({
      electron: true,
      electronMayFail: true,
      virtualScreen: false,
    });
  });

  test('only test may go on without Electron', () => {
    const tolerant = commands.filter(
      (command) => needsOf(command, 'linux', { DISPLAY: ':0' }).electronMayFail,
    );
    expect(tolerant).toEqual(['test']);
  });
});

test.each([
  [undefined, false],
  ['', false],
  ['0', false],
  ['false', false],
  ['1', true],
  ['true', true],
])('a variable set to %s counts as %s', (value, expected) => {
  expect(isTruthy(value)).toBe(expected);
});
