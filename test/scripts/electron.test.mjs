import { describe, expect, test } from 'vitest';
import { substituteFits, withProxy } from '../../scripts/lib/electron-install.mjs';
import { root } from '../../scripts/lib/paths.mjs';
import {
  electronArgs,
  electronEnv,
  sandboxMessage,
  userNamespacesForbidden,
} from '../../scripts/lib/window.mjs';

test('the substitute runtime is for Linux on x64 alone', () => {
  expect(substituteFits('linux', 'x64')).toBe(true);
  expect(substituteFits('linux', 'arm64')).toBe(false);
  expect(substituteFits('darwin', 'x64')).toBe(false);
  expect(substituteFits('win32', 'x64')).toBe(false);
});

test("a proxy in the environment is made known to Node's fetch", () => {
  expect(withProxy({ HTTPS_PROXY: 'http://proxy:3128' })).toHaveProperty('NODE_USE_ENV_PROXY', '1');
  expect(withProxy({ http_proxy: 'http://proxy:3128' })).toHaveProperty('NODE_USE_ENV_PROXY', '1');
  expect(withProxy({ PATH: '/bin' })).toEqual({ PATH: '/bin' });
});

describe('a Linux that forbids user namespaces', () => {
  const open = { maxUserNamespaces: '63000', unprivilegedClone: '1', appArmorRestricts: '0' };
  const absent = { maxUserNamespaces: undefined, unprivilegedClone: undefined, appArmorRestricts: undefined };

  test('is known by any of its three settings', () => {
    expect(userNamespacesForbidden(open)).toBeUndefined();
    expect(userNamespacesForbidden(absent)).toBeUndefined();
    expect(userNamespacesForbidden({ ...open, maxUserNamespaces: '0' })).toBe('user.max_user_namespaces = 0');
    expect(userNamespacesForbidden({ ...absent, unprivilegedClone: '0' })).toMatch(
      'unprivileged_userns_clone',
    );
    expect(userNamespacesForbidden({ ...open, appArmorRestricts: '1' })).toMatch('apparmor_restrict');
  });

  test('is explained with what to do', () => {
    const text = sandboxMessage('user.max_user_namespaces = 0', '/clone/electron/electron');
    expect(text).toContain('user.max_user_namespaces = 0');
    expect(text).toContain('sudo chown root:root "/clone/electron/chrome-sandbox"');
    expect(text).toContain('npx gasplat demo');
  });
});

test('the window runs without its sandbox only as root', () => {
  expect(electronArgs(['--demo'], false)).toEqual([root, '--demo']);
  expect(electronArgs(['--demo'], true)).toEqual(['--no-sandbox', root, '--demo']);
});

test('a variable that would turn Electron into plain Node is not passed on', () => {
  expect(electronEnv({ ELECTRON_RUN_AS_NODE: '1', DISPLAY: ':0' }, '/clone/node')).toEqual({
    DISPLAY: ':0',
    GASPLAT_NODE: '/clone/node',
  });
});
