import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { openProject } from '../../../core/store/open-project.ts';
import { newStore, startChild, tempFolder } from './fixtures.ts';

const ROUNDS = 20;

/**
 * A killed process, not a power cut: what the system had been handed is written all the same, so this does not test
 * that the disk keeps its word.
 */
test(`killed at ${ROUNDS} moments, no saved change is lost`, { timeout: 120_000 }, async () => {
  const path = join(tempFolder(), 'killed.gasplat');
  newStore(path).close();
  let hotJournals = 0;
  let acknowledgedInAll = 0;
  for (let round = 0; round < ROUNDS; round += 1) {
    const child = startChild('write-until-killed', path);
    let said = '';
    const closed = new Promise((done) => child.once('close', done));
    await new Promise<void>((running) =>
      child.stdout?.on('data', (chunk) => {
        said += String(chunk);
        running();
      }),
    );
    await new Promise((later) => setTimeout(later, Math.random() * 60));
    child.kill('SIGKILL');
    await closed;
    // A line cut in the middle was not heard as an acknowledgement.
    const lines = said.split('\n').slice(0, -1).map(Number);
    const acknowledged = lines.at(-1) ?? 0;
    acknowledgedInAll += lines.length;
    expect(existsSync(`${path}-lock`)).toBe(true);

    const store = openProject(path, { actor: 'Ann Example' });
    if (store.recovered) hotJournals += 1;
    // At most the change under way may have been saved without the word getting out.
    expect(store.revision - acknowledged).toBeGreaterThanOrEqual(0);
    expect(store.revision - acknowledged).toBeLessThanOrEqual(1);
    expect(store.verifyRecord()).toEqual({ intact: true, entries: store.revision });
    expect(store.rows('probe')).toHaveLength(store.revision - 1);
    expect(store.rows('sample')).toHaveLength(store.revision - 1);
    store.close();
  }
  expect(acknowledgedInAll).toBeGreaterThan(ROUNDS);
  console.log(
    `${ROUNDS} kills, ${acknowledgedInAll} changes acknowledged, ${hotJournals} rolled back on opening`,
  );
});
