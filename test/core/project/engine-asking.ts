/** An engine as the window's requests reach it. */
import type { EngineEvent } from '../../../core/contract/envelope.ts';
import type { Input, Output, RequestName } from '../../../core/contract/requests.ts';
import type { WireError } from '../../../core/errors.ts';
import { createJobRunner } from '../../../core/jobs/runner.ts';
import { createEngine, type Engine } from '../../../core/project/engine.ts';

export function newTestEngine({
  threads = 1,
  actor = 'tester',
  emit = (_event: EngineEvent): void => {},
} = {}): Engine {
  return createEngine({ jobs: createJobRunner({ threads }), emit, host: 'test', version: '0.0.0', actor });
}

/** @param engine the one that is open when a request is made */
export function asking(engine: () => Engine) {
  let nextId = 1;
  const send = (name: RequestName, input: unknown) =>
    engine().handle({ kind: 'request', id: nextId++, name, input });
  return {
    async ask<N extends RequestName>(name: N, input: Input<N>): Promise<Output<N>> {
      const reply = await send(name, input);
      if (!reply.ok) throw new Error(`${name}: ${reply.error.code}: ${reply.error.message}`);
      return reply.output as Output<N>;
    },
    async refused<N extends RequestName>(name: N, input: Input<N>): Promise<WireError> {
      const reply = await send(name, input);
      if (reply.ok) throw new Error(`${name} was not refused`);
      return reply.error;
    },
  };
}
