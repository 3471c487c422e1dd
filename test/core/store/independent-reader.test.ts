import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { newProbe, newStore, tempFolder } from './fixtures.ts';

const script = fileURLToPath(new URL('check-chain.py', import.meta.url));
// STRICT tables need SQLite 3.37 (https://www.sqlite.org/stricttables.html); a Python may carry an older one.
const probeCode = 'import sqlite3; assert sqlite3.sqlite_version_info >= (3, 37)';
const hasPython = spawnSync('python3', ['-c', probeCode]).status === 0;

test.runIf(hasPython)('Python finds the same chain and the same doubles', () => {
  const path = join(tempFolder(), 'a.gasplat');
  const store = newStore(path, 'Zoë Example "the elder"');
  const depths = [0.1, 1 / 3, 5e-324, 1.7976931348623157e308, 1e21, 1e-7, 0.8];
  store.change('probe.add', 'Sechs Löcher\tund \u0007 eins: Ω € 😀', (tx) => {
    for (const [index, depth_m] of depths.entries())
      tx.insert('probe', newProbe(`P${index}`, { depth_m, note: 'line\nend \u2028 \\ "q" \u007f' }));
  });
  store.undo();
  store.redo();
  const hash = store.record()[0]?.hash;
  store.close();
  const { stdout, stderr } = spawnSync('python3', [script, path], { encoding: 'utf8' });
  expect(stderr).toBe('');
  expect(JSON.parse(stdout)).toEqual({ entries: 4, depths: depths.length, hash });
});
