import { describe, expect, test } from 'vitest';
import type { RequestName } from '../../../core/contract/requests.ts';
import { inputSchemas } from '../../../core/contract/schemas.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import { createEngine } from '../../../core/project/engine.ts';
import { createHandlers } from '../../../core/project/handlers.ts';

const options = { host: 'test', version: '0.0.0', actor: 'tester', emit: () => {} };

describe('the contract', () => {
  test('every request has a check of its input and a handler, and nothing else has', () => {
    const jobs = createJobRunner({ threads: 1 });
    const { handlers } = createHandlers({
      jobs,
      actor: 'tester',
      version: '0.0.0',
      info: () => ({ host: 'test', node: '', version: '', threads: 1 }),
      onChanged: () => {},
      cancel: () => {},
    });
    expect(Object.keys(handlers).sort()).toEqual(Object.keys(inputSchemas).sort());
  });

  test.each([
    ['no object', 7],
    ['a name that is none', { kind: 'request', id: 3, name: 'project.burn', input: {} }],
    ['a name of every object', { kind: 'request', id: 3, name: 'constructor', input: {} }],
    ['input of the wrong shape', { kind: 'request', id: 3, name: 'project.open', input: { path: 7 } }],
    [
      'a coordinate that is not finite',
      { kind: 'request', id: 3, name: 'lot.set', input: { ring: [[0, Number.NaN]] } },
    ],
    [
      'a ring too long to be a lot',
      { kind: 'request', id: 3, name: 'lot.set', input: { ring: Array(20_001).fill([0, 0]) } },
    ],
    [
      'a field more than asked for where none is asked',
      { kind: 'request', id: 3, name: 'project.close', input: { path: 'x' } },
    ],
  ])('a message with %s is answered by an error, never by a crash', async (_what, message) => {
    const jobs = createJobRunner({ threads: 1 });
    const engine = createEngine({ ...options, jobs });
    const reply = await engine.handle(message);
    expect(reply.ok).toBe(false);
    if (!reply.ok) expect(['BAD_USAGE', 'BAD_INPUT']).toContain(reply.error.code);
    await engine.close();
  });

  test('a request without an open project says so', async () => {
    const jobs = createJobRunner({ threads: 1 });
    const engine = createEngine({ ...options, jobs });
    const names: RequestName[] = ['project.view', 'surface.compute', 'class.compute', 'record.undo'];
    for (const name of names) {
      const reply = await engine.handle({ kind: 'request', id: 1, name, input: {} });
      expect(reply).toMatchObject({
        ok: false,
        error: { code: 'NOT_FOUND', message: 'No project is open.' },
      });
    }
    await engine.close();
  });
});
