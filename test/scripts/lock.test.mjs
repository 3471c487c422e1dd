import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { hostname, tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { isAbandoned, withLock } from '../../scripts/lib/lock.mjs';
import { inRoot } from '../../scripts/lib/paths.mjs';

let folder = '';
let lock = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'lock-'));
  lock = join(folder, 'out', '.lock');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

test('is abandoned when untouched for long, or when its process is gone from this machine', () => {
  const owner = { pid: 12, host: 'here' };
  const alive = { ageMs: 1000, host: 'here', isAlive: () => true };
  const gone = { ...alive, isAlive: () => false };
  expect(isAbandoned({ ...alive, owner })).toBe(false);
  expect(isAbandoned({ ...gone, owner })).toBe(true);
  expect(isAbandoned({ ...gone, owner: { pid: 12, host: 'elsewhere' } })).toBe(false);
  expect(isAbandoned({ ...gone, owner: undefined })).toBe(false);
  expect(isAbandoned({ ...alive, owner, ageMs: 61_000 })).toBe(true);
});

test('lets processes in one at a time', async () => {
  const log = join(folder, 'log');
  const source = `
    import { appendFileSync } from 'node:fs';
    import { withLock } from ${JSON.stringify(inRoot('scripts', 'lib', 'lock.mjs'))};
    await withLock(${JSON.stringify(lock)}, async () => {
      appendFileSync(${JSON.stringify(log)}, 'in ');
      await new Promise((resolve) => setTimeout(resolve, 150));
      appendFileSync(${JSON.stringify(log)}, 'out ');
    }, { pollMs: 20 });`;
  const children = [1, 2, 3].map(() =>
    spawn(process.execPath, ['--input-type=module', '--eval', source], { stdio: 'ignore' }),
  );
  const codes = await Promise.all(children.map(async (child) => (await once(child, 'close'))[0]));
  expect(codes).toEqual([0, 0, 0]);
  expect(readFileSync(log, 'utf8')).toBe('in out in out in out ');
  expect(existsSync(lock)).toBe(false);
});

test('takes over from a process that died holding it', async () => {
  const { pid } = spawnSync(process.execPath, ['--eval', '0']);
  mkdirSync(lock, { recursive: true });
  writeFileSync(join(lock, 'owner.json'), JSON.stringify({ pid, host: hostname() }));
  await expect(withLock(lock, async () => 'done', { pollMs: 20 })).resolves.toBe('done');
});

test('takes over a folder without an owner once it is old', async () => {
  mkdirSync(lock, { recursive: true });
  const old = new Date(Date.now() - 120_000);
  utimesSync(lock, old, old);
  await expect(withLock(lock, async () => 'done', { pollMs: 20 })).resolves.toBe('done');
});

test('gives up at the limit, naming the folder to delete', async () => {
  mkdirSync(lock, { recursive: true });
  writeFileSync(join(lock, 'owner.json'), JSON.stringify({ pid: process.pid, host: hostname() }));
  await expect(withLock(lock, async () => 'done', { pollMs: 10, limitMs: 50 })).rejects.toThrow(lock);
});

test('is released when the work fails', async () => {
  const failing = withLock(lock, async () => {
    throw new Error('no network');
  });
  await expect(failing).rejects.toThrow('no network');
  expect(existsSync(lock)).toBe(false);
});
