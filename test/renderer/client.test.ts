import { describe, expect, test } from 'vitest';
import type { EngineEvent, ReplyEnvelope, RequestEnvelope } from '../../core/contract/envelope.ts';
import type { ShellBridge } from '../../core/contract/shell.ts';
import { AppError } from '../../core/errors.ts';
import { createClient, DroppedReply } from '../../renderer/client.ts';

interface Sent {
  readonly request: RequestEnvelope;
  answer(revision: number, output: unknown): void;
  fail(revision: number, message: string): void;
  break(): void;
}

/** A bridge whose replies the test gives by hand, in any order. */
function createHandBridge() {
  const sent: Sent[] = [];
  const listeners = new Set<(event: EngineEvent) => void>();
  const bridge = {
    send: (request: RequestEnvelope) =>
      new Promise<ReplyEnvelope>((resolve, reject) => {
        sent.push({
          request,
          answer: (revision, output) =>
            resolve({ kind: 'reply', id: request.id, ok: true, revision, output } as ReplyEnvelope),
          fail: (revision, message) =>
            resolve({
              kind: 'reply',
              id: request.id,
              ok: false,
              revision,
              error: { code: 'BAD_INPUT', message, details: { file: 'a.csv', row: 3, field: 'radon' } },
            }),
          break: () => reject(new Error('pipe closed')),
        });
      }),
    onEvent(listener: (event: EngineEvent) => void) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  } as unknown as ShellBridge;
  return {
    bridge,
    sent,
    emit(event: EngineEvent) {
      for (const listener of listeners) listener(event);
    },
  };
}

const settled = () => new Promise((resolve) => setTimeout(resolve, 0));

describe('client', () => {
  test('gives every request its own id and resolves with the output', async () => {
    const { bridge, sent } = createHandBridge();
    const client = createClient(bridge);
    const first = client.request('crs.search', { text: 'a' });
    const second = client.request('crs.search', { text: 'b' });
    sent[1]?.answer(0, { choices: [2] });
    sent[0]?.answer(0, { choices: [1] });
    expect(await first).toEqual({ choices: [1] });
    expect(await second).toEqual({ choices: [2] });
    expect(sent[0]?.request.id).not.toBe(sent[1]?.request.id);
  });

  test('an engine error arrives as AppError with its place', async () => {
    const { bridge, sent } = createHandBridge();
    const asked = createClient(bridge).request('lot.import', { path: 'a.csv' });
    sent[0]?.fail(1, 'Row 3 is bad.');
    const error = await asked.catch((caught: unknown) => caught);
    expect(error).toBeInstanceOf(AppError);
    expect(error).toMatchObject({
      code: 'BAD_INPUT',
      message: 'Row 3 is bad.',
      details: { file: 'a.csv', row: 3, field: 'radon' },
    });
  });

  test('a dead engine is an error that names the request', async () => {
    const { bridge, sent } = createHandBridge();
    const asked = createClient(bridge).request('class.compute', {});
    sent[0]?.break();
    await expect(asked).rejects.toThrow(/class\.compute.*pipe closed/);
  });

  test('a result is dropped when the project changed while it was worked out, else kept', async () => {
    const { bridge, sent, emit } = createHandBridge();
    const client = createClient(bridge);
    emit({ kind: 'changed', revision: 7 });
    const told = client.request('surface.compute', {}, { dropStale: true });
    emit({ kind: 'changed', revision: 8 });
    sent[0]?.answer(8, 'worked out on 7');
    await expect(told).rejects.toBeInstanceOf(DroppedReply);
    const untold = client.request('surface.compute', {}, { dropStale: true });
    sent[1]?.answer(9, 'worked out on 8, left at 9');
    await expect(untold).rejects.toBeInstanceOf(DroppedReply);
    emit({ kind: 'changed', revision: 9 });
    const fresh = client.request('surface.compute', {}, { dropStale: true });
    sent[2]?.answer(9, 'fresh');
    expect(await fresh).toBe('fresh');
  });

  test('a reply from a project that was closed meanwhile is dropped, and its revision forgotten', async () => {
    const { bridge, sent } = createHandBridge();
    const client = createClient(bridge);
    const rename = client.request('project.describe', { name: 'x' });
    const other = client.request('project.open', { path: 'b' });
    sent[1]?.answer(3, 'b');
    expect(await other).toBe('b');
    sent[0]?.answer(90, 'a');
    await expect(rename).rejects.toBeInstanceOf(DroppedReply);
    expect(client.revision()).toBe(3);
  });

  test('a drag sends the first and the last position only, and only the last counts', async () => {
    const { bridge, sent } = createHandBridge();
    const client = createClient(bridge);
    const asked = ['a', 'ab', 'abc', 'abcd'].map((text) =>
      client.newest('crs', 'crs.search', { text }).then(
        () => 'kept',
        (error: unknown) => (error instanceof DroppedReply ? 'dropped' : error),
      ),
    );
    expect(sent).toHaveLength(1);
    sent[0]?.answer(0, { choices: [] });
    await settled();
    expect(sent).toHaveLength(2);
    expect(sent[1]?.request.input).toEqual({ text: 'abcd' });
    sent[1]?.answer(0, { choices: [] });
    expect(await Promise.all(asked)).toEqual(['dropped', 'dropped', 'dropped', 'kept']);
  });

  test('lanes of different keys do not wait for each other', () => {
    const { bridge, sent } = createHandBridge();
    const client = createClient(bridge);
    void client.newest('a', 'crs.search', { text: 'a' });
    void client.newest('b', 'crs.search', { text: 'b' });
    expect(sent).toHaveLength(2);
  });

  test('progress reaches the request it belongs to, and nobody after the reply', async () => {
    const { bridge, sent, emit } = createHandBridge();
    const client = createClient(bridge);
    const seen: string[] = [];
    const asked = client.request(
      'surface.compute',
      {},
      { onProgress: (done, stage) => seen.push(`${stage} ${done}`) },
    );
    const id = sent[0]?.request.id ?? -1;
    emit({ kind: 'progress', requestId: id, done: 0.5, stage: 'kriging' });
    emit({ kind: 'progress', requestId: id + 1, done: 0.9, stage: 'other' });
    sent[0]?.answer(1, null);
    await asked;
    emit({ kind: 'progress', requestId: id, done: 1, stage: 'late' });
    expect(seen).toEqual(['kriging 0.5']);
  });

  test('aborting asks the engine to cancel that very request', async () => {
    const { bridge, sent } = createHandBridge();
    const abort = new AbortController();
    const asked = createClient(bridge).request('surface.compute', {}, { signal: abort.signal });
    abort.abort();
    expect(sent[1]?.request).toMatchObject({
      name: 'job.cancel',
      input: { requestId: sent[0]?.request.id },
    });
    sent[0]?.fail(1, 'Cancelled.');
    await expect(asked).rejects.toThrow('Cancelled.');
  });
});
