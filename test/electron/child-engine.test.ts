import { chmodSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { findEngineNode } from '../../electron/child-engine.ts';

const folder = mkdtempSync(join(tmpdir(), 'gasplat-node-'));
afterAll(() => rmSync(folder, { recursive: true }));

function makeScript(name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, `#!/bin/sh\n${text}\n`);
  chmodSync(path, 0o755);
  return path;
}

describe.skipIf(process.platform === 'win32')('the Node for the engine', () => {
  test('is the one named, if it will do', async () => {
    expect(await findEngineNode(folder, { GASPLAT_NODE: process.execPath })).toBe(process.execPath);
  });

  test('is the one that came with the packages where the named one is too old or broken', async () => {
    const bin = join(folder, 'node_modules', `node-${process.platform}-${process.arch}`, 'bin');
    mkdirSync(bin, { recursive: true });
    symlinkSync(process.execPath, join(bin, 'node'));
    for (const unfit of [
      makeScript('old', 'echo 9 v20.18.0'),
      makeScript('broken', 'exit 3'),
      '/no/such/node',
    ]) {
      expect(await findEngineNode(folder, { GASPLAT_NODE: unfit })).toBe(join(bin, 'node'));
    }
  });
});
