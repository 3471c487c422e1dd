/** The child-process host with a real process behind it. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, test } from 'vitest';
import type { EngineEvent, RequestEnvelope } from '../../core/contract/envelope.ts';
import type { Input, RequestName } from '../../core/contract/requests.ts';
import { startChildEngine } from '../../electron/child-engine.ts';
import { createEngineHost, type EngineHost, type EngineHostOptions } from '../../electron/engine-host.ts';
import type { EngineProcess } from '../../electron/engine-process.ts';

const entry = fileURLToPath(new URL('./small-engine.ts', import.meta.url));
const hosts: EngineHost[] = [];
let lastId = 0;

function open(options: Partial<EngineHostOptions> = {}) {
  const events: EngineEvent[] = [];
  const host = createEngineHost({ start: startChildEngine(process.execPath, entry), ...options });
  host.onEvent((event) => events.push(event));
  hosts.push(host);
  return { host, events };
}

function request<N extends RequestName>(name: N, input: Input<N>): RequestEnvelope {
  return { kind: 'request', id: ++lastId, name, input } as RequestEnvelope;
}

async function until(holds: () => boolean): Promise<void> {
  while (!holds()) await new Promise((resolve) => setTimeout(resolve, 5));
}

afterEach(async () => {
  await Promise.all(hosts.splice(0).map((host) => host.stop()));
});

describe('a running engine', () => {
  test('answers each request under its own id, also those sent before it was ready', async () => {
    const { host, events } = open();
    const requests = ['a', 'b', 'c'].map((text) => request('crs.search', { text }));
    const replies = await Promise.all(requests.map((r) => host.send(r)));
    expect(replies).toEqual(
      requests.map(({ id, input }) => ({
        kind: 'reply',
        id,
        ok: true,
        revision: 7,
        output: { choices: [], echo: (input as { text: string }).text },
      })),
    );
    expect(events).toEqual([{ kind: 'ready', host: 'child process' }]);
    const info = await host.send(request('engine.info', {}));
    expect(info).toMatchObject({ ok: true, output: { host: 'child process', node: process.versions.node } });
  });

  test('passes events on until unsubscribed', async () => {
    const { host, events } = open();
    const mine: EngineEvent[] = [];
    const leave = host.onEvent((event) => mine.push(event));
    await host.send(request('project.describe', {}));
    leave();
    await host.send(request('project.describe', {}));
    expect(events.filter((e) => e.kind === 'changed')).toEqual(
      Array(2).fill({ kind: 'changed', revision: 5 }),
    );
    expect(mine.filter((e) => e.kind === 'changed')).toHaveLength(1);
  });

  test('says what went wrong, with code and place', async () => {
    const { host } = open();
    expect(await host.send(request('project.close', {}))).toMatchObject({
      ok: false,
      error: { code: 'NOT_FOUND', details: { field: 'project.close' } },
    });
  });

  test('answers other requests while a job runs, and sends arrays and rising progress', async () => {
    const { host, events } = open();
    const order: string[] = [];
    const surface = host.send(request('surface.compute', {})).then((reply) => {
      order.push('surface');
      return reply;
    });
    await until(() => events.some((e) => e.kind === 'progress'));
    await host.send(request('engine.info', {}));
    order.push('info');
    const reply = await surface;
    expect(order).toEqual(['info', 'surface']);
    expect(reply).toMatchObject({ ok: true, output: { estimate: expect.any(Float64Array) } });
    const shares = events.flatMap((e) => (e.kind === 'progress' ? [e.done] : []));
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
  });

  test('a job is cancelled by a second request', async () => {
    const { host, events } = open();
    const compute = request('surface.compute', {});
    const surface = host.send(compute);
    await until(() => events.some((e) => e.kind === 'progress'));
    await host.send(request('job.cancel', { requestId: compute.id }));
    expect(await surface).toMatchObject({ ok: false, error: { code: 'CANCELLED' } });
  });

  test('what a page that is gone had asked is stopped, and its ids are free again', async () => {
    const { host, events } = open();
    const compute = request('surface.compute', {});
    const surface = host.send(compute);
    await until(() => events.some((e) => e.kind === 'progress'));
    expect(await host.send(request('project.view', {}))).toMatchObject({ output: { jobsRunning: 1 } });
    host.abandon();
    expect(await surface).toMatchObject({ ok: false, id: compute.id, error: { code: 'CANCELLED' } });
    events.length = 0;
    const again = { ...request('crs.search', { text: 'new page' }), id: compute.id };
    expect(await host.send(again)).toMatchObject({ ok: true, id: compute.id, output: { echo: 'new page' } });
    await expect
      .poll(() => host.send(request('project.view', {})))
      .toMatchObject({ output: { jobsRunning: 0 } });
    expect(events).toEqual([]);
  });

  test('what is no message of the contract goes no further', async () => {
    const { host, events } = open();
    await host.send(request('record.redo', {}));
    expect(events.map((e) => e.kind)).toEqual(['ready']);
  });
});

describe('a dying engine', () => {
  test('fails what waits for it with the reason, is started again and says so', async () => {
    const { host, events } = open();
    const waiting = host.send(request('record.list', {}));
    const fatal = host.send(request('record.undo', {}));
    for (const reply of await Promise.all([waiting, fatal])) {
      expect(reply).toMatchObject({
        ok: false,
        error: { code: 'INTERNAL', message: expect.stringContaining('exit code 9') },
      });
    }
    expect(await host.send(request('engine.info', {}))).toMatchObject({ ok: true });
    expect(events.filter((e) => e.kind === 'ready')).toHaveLength(2);
  });

  test('is left dead once it dies too often', async () => {
    const { host } = open({ maxDeathsPerMinute: 1 });
    await host.send(request('record.undo', {}));
    await host.send(request('record.undo', {}));
    expect(await host.send(request('engine.info', {}))).toMatchObject({
      ok: false,
      error: { code: 'INTERNAL', message: expect.stringContaining('keeps failing') },
    });
  });

  test('that cannot even start is told like one that died', async () => {
    const { host } = open({ start: startChildEngine('/no/such/node', entry), maxDeathsPerMinute: 0 });
    expect(await host.send(request('engine.info', {}))).toMatchObject({
      ok: false,
      error: { code: 'INTERNAL' },
    });
  });
});

describe('stopping', () => {
  test('lets the engine end by itself; later requests are refused', async () => {
    const ends: string[] = [];
    const start = startChildEngine(process.execPath, entry);
    const { host } = open({
      start: () => {
        const engine = start();
        engine.onExit((why) => ends.push(why));
        return engine;
      },
    });
    await host.send(request('engine.info', {}));
    const waiting = host.send(request('record.list', {}));
    await host.stop();
    expect(ends).toEqual(['exit code 0']);
    expect(await waiting).toMatchObject({ ok: false, error: { code: 'CANCELLED' } });
    expect(await host.send(request('engine.info', {}))).toMatchObject({
      ok: false,
      error: { code: 'CANCELLED' },
    });
  });

  test('an engine that does not end in time is killed', async () => {
    let exit = (_: string) => {};
    let killed = 0;
    const deaf: EngineProcess = {
      post: () => {},
      onMessage: () => {},
      onExit: (listener) => {
        exit = listener;
      },
      kill: () => {
        killed++;
        exit('signal SIGKILL');
      },
    };
    const { host } = open({ start: () => deaf, stopMs: 20 });
    await host.stop();
    expect(killed).toBe(1);
  });

  test('an engine whose shell is gone ends by itself', async () => {
    const shell = spawn(
      process.execPath,
      [
        '--input-type=module',
        '--eval',
        `import { fork } from 'node:child_process';
         const child = fork(${JSON.stringify(entry)}, { serialization: 'advanced', execArgv: [] });
         child.once('message', () => { console.log('ready'); setInterval(() => {}, 1000); });`,
      ],
      { stdio: ['ignore', 'pipe', 'inherit'] },
    );
    const [line] = (await once(shell.stdout, 'data')) as [Buffer];
    expect(line.toString()).toBe('ready\n');
    shell.kill('SIGKILL');
    // The engine holds the same pipe, which closes only when the last who holds it is gone.
    await once(shell.stdout, 'close');
  });
});
