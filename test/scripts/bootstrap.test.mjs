import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { inRoot } from '../../scripts/lib/paths.mjs';

/** @param {...string} args */
function bootstrap(...args) {
  return spawnSync(process.execPath, [inRoot('scripts', 'bootstrap.mjs'), ...args], {
    encoding: 'utf8',
    input: '',
  });
}

test('with nothing missing it is silent and quick', () => {
  bootstrap('cli');
  const started = performance.now();
  const { status, stdout, stderr } = bootstrap('cli');
  const elapsedMs = performance.now() - started;
  expect({ status, stdout, stderr }).toEqual({ status: 0, stdout: '', stderr: '' });
  // Measured 0.1 s; the room is for a busy machine.
  expect(elapsedMs).toBeLessThan(1000);
});

test('an unknown command is refused with the known ones', () => {
  const { status, stderr } = bootstrap('fly');
  expect(status).toBe(2);
  expect(stderr).toContain('start|test|cli');
});

test('what runs before the packages are there imports none of them', () => {
  const scripts = ['bootstrap', 'gasplat', 'start', 'test', 'lint', 'build', 'dev', 'bench'];
  const files = [
    ...scripts.map((name) => inRoot('scripts', `${name}.mjs`)),
    ...readdirSync(inRoot('scripts', 'lib'))
      // Run as a program of its own, once the packages are there.
      .filter((name) => name.endsWith('.mjs') && name !== 'unpack-substitute.mjs')
      .map((name) => inRoot('scripts', 'lib', name)),
  ];
  const imported = files.flatMap((file) =>
    [...readFileSync(file, 'utf8').matchAll(/^(?:import|export)\b[^;]*? from '([^']+)';$/gm)].map(
      (match) => match[1] ?? '',
    ),
  );
  expect(imported.length).toBeGreaterThan(50);
  // One line is part of the text written beside the substitute runtime, which runs inside Electron.
  expect(imported.filter((name) => !/^(node:|\.)/.test(name))).toEqual(['electron']);
});
