import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, test } from 'vitest';
import type { JobRunner, JobRunnerOptions } from '../../../core/jobs/runner.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import type { TrialMap } from './trial-jobs.ts';

const workerUrl = new URL('./trial-worker.ts', import.meta.url);
const opened: JobRunner<TrialMap>[] = [];

function open(options: JobRunnerOptions = {}): JobRunner<TrialMap> {
  const runner = createJobRunner<TrialMap>({ workerUrl, threads: 2, ...options });
  opened.push(runner);
  return runner;
}

const counter = () => new Int32Array(new SharedArrayBuffer(4));

/** Resolves once `test` holds; the test's own time limit ends it otherwise. */
async function until(holds: () => boolean): Promise<void> {
  while (!holds()) await new Promise((resolve) => setTimeout(resolve, 2));
}

afterEach(async () => {
  await Promise.all(opened.splice(0).map((runner) => runner.close()));
});

describe('responsiveness', () => {
  test('the calling thread keeps turning while a worker never looks up', async () => {
    const runner = open();
    let ticks = 0;
    const timer = setInterval(() => ticks++, 5);
    await runner.run('spin', { ms: 400 });
    clearInterval(timer);
    // One tick would already show that the thread was not held; a held one has none.
    expect(ticks).toBeGreaterThan(5);
  });

  test('two jobs run at once on two threads, one after the other on one', async () => {
    for (const threads of [1, 2]) {
      const runner = open({ threads });
      const first = counter();
      const second = counter();
      const slow = runner.run('count', { counter: first, to: 150 });
      const other = runner.run('count', { counter: second, to: 150 });
      await until(() => Atomics.load(first, 0) > 50);
      expect(Atomics.load(second, 0) > 0 || threads === 1).toBe(true);
      if (threads === 1) expect(Atomics.load(second, 0)).toBe(0);
      await Promise.all([slow, other]);
    }
  });
});

describe('tiles', () => {
  const length = 10_007;

  test('one and two threads give the same bytes, each tile run once', async () => {
    const bytes: Buffer[] = [];
    for (const threads of [1, 2]) {
      const ran = counter();
      const { values } = await open({ threads }).run('sines', { length, tileLength: 64, msPerTile: 0, ran });
      expect(Atomics.load(ran, 0)).toBe(Math.ceil(length / 64));
      expect(values.buffer).toBeInstanceOf(ArrayBuffer);
      bytes.push(Buffer.from(values.buffer, values.byteOffset, values.byteLength));
    }
    expect(bytes[0]?.equals(bytes[1] as Buffer)).toBe(true);
    expect(new Float64Array((bytes[0] as Buffer).buffer)[length - 1]).toBe(Math.sin(length - 1));
  });

  test('no tiles at all is an empty result', async () => {
    const { values } = await open().run('sines', { length: 0, tileLength: 64, msPerTile: 0, ran: counter() });
    expect(values.length).toBe(0);
  });

  test('cancelling leaves all tiles but those in hand undone', async () => {
    const runner = open();
    const ran = counter();
    const abort = new AbortController();
    const job = runner.run('sines', { length, tileLength: 1, msPerTile: 10, ran }, { signal: abort.signal });
    const outcome = expect(job).rejects.toMatchObject({ code: 'CANCELLED' });
    await until(() => Atomics.load(ran, 0) >= 4);
    abort.abort();
    const atAbort = Atomics.load(ran, 0);
    await outcome;
    // Each of the two threads may be in a tile that it had begun.
    expect(Atomics.load(ran, 0)).toBeLessThanOrEqual(atAbort + 2);
    expect(Atomics.load(ran, 0)).toBeLessThan(length);
    await expect(runner.run('spin', { ms: 1 })).resolves.toEqual({ spunMs: 1 });
  });

  test('an error in one tile stops the others and crosses whole', async () => {
    const runner = open();
    const ran = counter();
    const job = runner.run('sines', { length, tileLength: 1, msPerTile: 2, ran, failAtTile: 5 });
    await expect(job).rejects.toMatchObject({
      code: 'SINGULAR',
      message: 'Tile 5 has no value',
      details: { tile: 5 },
    });
    expect(Atomics.load(ran, 0)).toBeLessThan(100);
  });
});

describe('cancelling', () => {
  test('a job that asks stops by itself', async () => {
    const runner = open({ graceMs: 60_000 });
    const counted = counter();
    const abort = new AbortController();
    const job = runner.run('count', { counter: counted, to: 1e6 }, { signal: abort.signal });
    const outcome = expect(job).rejects.toMatchObject({ code: 'CANCELLED' });
    await until(() => Atomics.load(counted, 0) > 10);
    abort.abort();
    await outcome;
    const atEnd = Atomics.load(counted, 0);
    await new Promise((resolve) => setTimeout(resolve, 20));
    expect(Atomics.load(counted, 0)).toBe(atEnd);
  });

  test('a job that never asks is ended with its thread, and the next job gets a new one', async () => {
    const runner = open({ threads: 1, graceMs: 20 });
    const abort = new AbortController();
    const job = runner.run('spin', { ms: 1e9 }, { signal: abort.signal });
    const outcome = expect(job).rejects.toMatchObject({ code: 'CANCELLED' });
    setTimeout(() => abort.abort(), 50);
    await outcome;
    await expect(runner.run('spin', { ms: 1 })).resolves.toEqual({ spunMs: 1 });
  });

  test('a job still waiting for a thread never starts', async () => {
    const runner = open({ threads: 1 });
    const counted = counter();
    const abort = new AbortController();
    const first = runner.run('spin', { ms: 100 });
    const second = runner.run('count', { counter: counted, to: 5 }, { signal: abort.signal });
    abort.abort();
    await expect(second).rejects.toMatchObject({ code: 'CANCELLED' });
    await first;
    expect(Atomics.load(counted, 0)).toBe(0);
  });

  test('closing rejects what runs and what waits', async () => {
    const runner = open({ threads: 1 });
    const jobs = [runner.run('spin', { ms: 1e9 }), runner.run('spin', { ms: 1 })];
    const outcomes = Promise.all(jobs.map((job) => expect(job).rejects.toMatchObject({ code: 'CANCELLED' })));
    await runner.close();
    await outcomes;
    await expect(runner.run('spin', { ms: 1 })).rejects.toMatchObject({ code: 'CANCELLED' });
  });
});

describe('progress', () => {
  test('never falls, whatever the job says, and stays within 0 and 1', async () => {
    const seen: number[] = [];
    await open().run(
      'report',
      { shares: [0.1, 0.5, 0.3, 2, 0.9] },
      { onProgress: (done) => seen.push(done) },
    );
    expect(seen).toEqual([0.1, 0.5, 0.5, 1, 1]);
  });

  test('of a tiled job rises to its end and names the stage', async () => {
    const seen: { done: number; stage: string }[] = [];
    await open().run(
      'sines',
      { length: 60, tileLength: 1, msPerTile: 5, ran: counter() },
      { onProgress: (done, stage) => seen.push({ done, stage }) },
    );
    expect(seen.length).toBeGreaterThan(1);
    expect(seen.every(({ done }, i) => i === 0 || done >= (seen[i - 1]?.done ?? 0))).toBe(true);
    expect(seen.every(({ done, stage }) => done > 0 && done <= 1 && stage === 'sines')).toBe(true);
  });
});

describe('failure', () => {
  test('an AppError crosses with code, message and place', async () => {
    await expect(open().run('refuse', { how: 'app-error' })).rejects.toMatchObject({
      name: 'AppError',
      code: 'BAD_INPUT',
      message: 'Row 3: depth is "deep"',
      details: { row: 3, field: 'depth' },
    });
  });

  test('a bug crosses as internal with its stack', async () => {
    const error = await open()
      .run('refuse', { how: 'bug' })
      .catch((e: unknown) => e);
    expect(error).toMatchObject({ code: 'INTERNAL', message: 'Internal error: x is not a function' });
    expect((error as { details: { stack: string } }).details.stack).toContain('trial-jobs.ts');
  });

  test('an output that cannot cross is an error, not a hang', async () => {
    await expect(open().run('refuse', { how: 'unclonable' })).rejects.toMatchObject({ code: 'INTERNAL' });
  });

  test('an input that cannot cross is an error, not a hang', async () => {
    const input = { how: 'bug', callback: () => 1 } as unknown as TrialMap['refuse']['input'];
    await expect(open().run('refuse', input)).rejects.toMatchObject({ code: 'INTERNAL' });
  });

  test.each(['exit', 'throw-outside'] as const)(
    'a dead worker (%s) fails its job only, and is replaced',
    async (how) => {
      const runner = open();
      const other = runner.run('spin', { ms: 150 });
      await expect(runner.run('die', { how })).rejects.toMatchObject({
        code: 'INTERNAL',
        message: how === 'exit' ? /"die": exit code 7/ : /thrown where nobody listens/,
      });
      await expect(other).resolves.toEqual({ spunMs: 150 });
      await expect(Promise.all([1, 2, 3].map((ms) => runner.run('spin', { ms })))).resolves.toHaveLength(3);
    },
  );

  test('an entry file that is not there fails the job', async () => {
    const runner = open({ workerUrl: new URL('./no-such-worker.ts', import.meta.url) });
    await expect(runner.run('spin', { ms: 1 })).rejects.toMatchObject({ code: 'INTERNAL' });
  });
});

test('a process whose jobs are done ends without closing the runner', () => {
  const script = `
    import { createJobRunner } from ${JSON.stringify(new URL('../../../core/jobs/runner.ts', import.meta.url).href)};
    const runner = createJobRunner({ workerUrl: new URL(${JSON.stringify(workerUrl.href)}) });
    console.log(JSON.stringify(await runner.run('spin', { ms: 50 })));`;
  const result = spawnSync(process.execPath, ['--input-type=module-typescript', '--eval', script], {
    encoding: 'utf8',
    cwd: fileURLToPath(new URL('.', import.meta.url)),
    timeout: 20_000,
  });
  expect(result).toMatchObject({ status: 0, stderr: '', stdout: '{"spunMs":50}\n' });
});

test('a worker that answers while the runner closes does not end the process before its end is known', () => {
  const script = `
    import { createJobRunner } from ${JSON.stringify(new URL('../../../core/jobs/runner.ts', import.meta.url).href)};
    const runner = createJobRunner({ workerUrl: new URL(${JSON.stringify(workerUrl.href)}) });
    await runner.run('spin', { ms: 1 });
    runner.run('spin', { ms: 1 }).catch(() => undefined);
    const until = performance.now() + 300;
    while (performance.now() < until);
    await runner.close();
    console.log('closed');`;
  const result = spawnSync(process.execPath, ['--input-type=module-typescript', '--eval', script], {
    encoding: 'utf8',
    cwd: fileURLToPath(new URL('.', import.meta.url)),
    timeout: 20_000,
  });
  expect(result).toMatchObject({ status: 0, stderr: '', stdout: 'closed\n' });
});
