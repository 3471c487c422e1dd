import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { installedMatches, nativePackagesFor, stampOf } from '../../scripts/lib/packages.mjs';
import { inRoot } from '../../scripts/lib/paths.mjs';

/** @type {Record<string, import('../../scripts/lib/packages.mjs').LockEntry & { resolved?: string, integrity?: string, inBundle?: boolean }>} */
const lock = JSON.parse(readFileSync(inRoot('package-lock.json'), 'utf8')).packages;

test('the stamp is the sha256 of the lockfile', () => {
  // The one-block example of FIPS 180-4 (NIST, SHA-256 example values).
  expect(stampOf('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
});

describe('the lockfile', () => {
  test('names no host to download from', () => {
    const withHost = Object.keys(lock).filter((folder) => lock[folder]?.resolved !== undefined);
    expect(withHost).toEqual([]);
  });

  test('pins every package by its content', () => {
    const loose = Object.keys(lock).filter(
      (folder) => folder !== '' && lock[folder]?.integrity === undefined,
    );
    expect(loose.filter((folder) => lock[folder]?.inBundle !== true)).toEqual([]);
  });

  const tools = ['@biomejs/cli-', '@rolldown/binding-', '@typescript/typescript-', 'lightningcss-'];

  test.each([
    { os: 'linux', cpu: 'x64', libc: 'glibc' },
    { os: 'linux', cpu: 'arm64', libc: 'glibc' },
    { os: 'linux', cpu: 'x64', libc: 'musl' },
    { os: 'darwin', cpu: 'arm64', libc: undefined },
    { os: 'darwin', cpu: 'x64', libc: undefined },
    { os: 'win32', cpu: 'x64', libc: undefined },
    { os: 'win32', cpu: 'arm64', libc: undefined },
  ])('holds the native part of every tool for $os $cpu $libc', (system) => {
    const native = nativePackagesFor(lock, system);
    for (const tool of tools) {
      expect(
        native.filter((folder) => folder.startsWith(`node_modules/${tool}`)),
        tool,
      ).toHaveLength(1);
    }
    expect(native.some((folder) => folder.startsWith('node_modules/node-linux-'))).toBe(
      system.os === 'linux',
    );
  });
});

describe('native packages of a system', () => {
  const entries = {
    '': {},
    'node_modules/plain': { version: '1.0.0' },
    'node_modules/extra': { optional: true },
    'node_modules/mac': { optional: true, os: ['darwin'] },
    'node_modules/not-windows': { optional: true, os: ['!win32'] },
    'node_modules/text': { optional: true, os: 'linux', cpu: 'x64' },
    'node_modules/musl': { optional: true, os: ['linux'], cpu: ['x64'], libc: ['musl'] },
  };

  test('are those whose os, cpu and libc fit', () => {
    expect(nativePackagesFor(entries, { os: 'linux', cpu: 'x64', libc: 'glibc' })).toEqual([
      'node_modules/not-windows',
      'node_modules/text',
    ]);
    expect(nativePackagesFor(entries, { os: 'linux', cpu: 'x64', libc: 'musl' })).toContain(
      'node_modules/musl',
    );
    expect(nativePackagesFor(entries, { os: 'win32', cpu: 'x64', libc: undefined })).toEqual([]);
    expect(nativePackagesFor(entries, { os: 'darwin', cpu: 'arm64', libc: undefined })).toEqual([
      'node_modules/mac',
      'node_modules/not-windows',
    ]);
  });
});

describe('what npm installed is what the lockfile asks for', () => {
  const wanted = {
    '': {},
    'node_modules/a': { version: '1.0.0' },
    'node_modules/b': { version: '2.0.0', optional: true },
  };

  test('when every version is the same; optional ones may be missing', () => {
    expect(installedMatches(wanted, { 'node_modules/a': { version: '1.0.0' } })).toBe(true);
    expect(
      installedMatches(wanted, {
        'node_modules/a': { version: '1.0.0' },
        'node_modules/b': { version: '2.0.0' },
      }),
    ).toBe(true);
  });

  test('not when one is missing, another version or not asked for', () => {
    expect(installedMatches(wanted, {})).toBe(false);
    expect(installedMatches(wanted, { 'node_modules/a': { version: '1.0.1' } })).toBe(false);
    expect(
      installedMatches(wanted, {
        'node_modules/a': { version: '1.0.0' },
        'node_modules/c': { version: '1.0.0' },
      }),
    ).toBe(false);
  });
});
