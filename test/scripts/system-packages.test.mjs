import { describe, expect, test } from 'vitest';
import {
  aptNames,
  installLine,
  LIBRARIES,
  mayInstall,
  missingLibraries,
} from '../../scripts/lib/system-packages.mjs';

test('missing libraries are what ldd does not find, each once', () => {
  const output = `
	linux-vdso.so.1 (0x00007ffc)
	libffmpeg.so => /clone/libffmpeg.so (0x00007f01)
	libnss3.so => not found
	libgtk-3.so.0 => not found
	libnss3.so => not found
	/lib64/ld-linux-x86-64.so.2 (0x00007f02)`;
  expect(missingLibraries(output)).toEqual(['libnss3.so', 'libgtk-3.so.0']);
  expect(missingLibraries('\tstatically linked\n')).toEqual([]);
});

test('newer releases have some packages under a name with t64', () => {
  const newer = ['libgtk-3-0t64', 'libasound2t64'];
  expect(aptNames(LIBRARIES, (name) => newer.includes(name))).toEqual([
    'libgtk-3-0t64',
    'libnss3',
    'libasound2t64',
    'libgbm1',
  ]);
  expect(aptNames(LIBRARIES, () => false)).toEqual(LIBRARIES);
});

describe('installing by ourselves', () => {
  const machine = { uid: 0, terminal: false, apt: true, ci: false };
  test('only as root, with apt-get, and with nobody at a terminal', () => {
    expect(mayInstall(machine)).toBe(true);
    expect(mayInstall({ ...machine, uid: 1000 })).toBe(false);
    expect(mayInstall({ ...machine, uid: undefined })).toBe(false);
    expect(mayInstall({ ...machine, apt: false })).toBe(false);
    expect(mayInstall({ ...machine, terminal: true })).toBe(false);
    expect(mayInstall({ ...machine, terminal: true, ci: true })).toBe(true);
  });
});

test('the line to run can be copied as it is', () => {
  expect(installLine(['xvfb', 'xauth'], true, false)).toBe(
    'sudo apt-get update && sudo apt-get install -y --no-install-recommends xvfb xauth',
  );
  expect(installLine(['xvfb'], true, true)).toBe(
    'apt-get update && apt-get install -y --no-install-recommends xvfb',
  );
  expect(installLine(['xvfb'], false, false)).toMatch(/package manager.*xvfb/);
});
