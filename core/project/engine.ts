import { availableParallelism } from 'node:os';
import type { EngineEvent, ReplyEnvelope } from '../contract/envelope.ts';
import { requestEnvelopeSchema } from '../contract/envelope.ts';
import type { Input, Output, RequestName } from '../contract/requests.ts';
import { inputSchemas } from '../contract/schemas.ts';
import { AppError, toWire } from '../errors.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { createHandlers } from './handlers.ts';

export interface EngineOptions {
  readonly jobs: JobRunner;
  readonly emit: (event: EngineEvent) => void;
  /** Which kind of process hosts this engine, for `engine.info`. */
  readonly host: string;
  readonly version: string;
  readonly actor: string;
}

/** What a handler may use beside its input. */
export interface RequestContext {
  readonly signal: AbortSignal;
  readonly onProgress: (done: number, stage: string) => void;
}

export type Handlers = {
  readonly [N in RequestName]: (input: Input<N>, context: RequestContext) => Promise<Output<N>> | Output<N>;
};

export interface Engine {
  /** Never throws: every failure is a reply. Messages that are no request at all get id 0. */
  handle(message: unknown): Promise<ReplyEnvelope>;
  close(): Promise<void>;
}

export function createEngine(options: EngineOptions): Engine {
  const running = new Map<number, AbortController>();
  const core = createHandlers({
    jobs: options.jobs,
    actor: options.actor,
    version: options.version,
    info: () => ({
      host: options.host,
      node: process.versions.node,
      version: options.version,
      threads: options.jobs.threads ?? availableParallelism(),
    }),
    onChanged: (revision) => options.emit({ kind: 'changed', revision }),
    cancel: (requestId) => running.get(requestId)?.abort(),
  });

  async function handle(message: unknown): Promise<ReplyEnvelope> {
    const envelope = requestEnvelopeSchema.safeParse(message);
    if (!envelope.success) return failure(0, new AppError('BAD_USAGE', 'This message is not a request.'));
    const { id, name, input } = envelope.data;
    if (!Object.hasOwn(inputSchemas, name)) {
      return failure(id, new AppError('BAD_USAGE', `There is no request "${name}".`));
    }
    const known = name as RequestName;
    const parsed = inputSchemas[known].safeParse(input);
    if (!parsed.success) {
      const issue = parsed.error.issues[0];
      const where = issue?.path.join('.') ?? '';
      return failure(
        id,
        new AppError('BAD_INPUT', `${known}: ${where === '' ? '' : `${where}: `}${issue?.message}`, {
          field: where,
        }),
      );
    }
    const abort = new AbortController();
    running.set(id, abort);
    try {
      const output = await (
        core.handlers[known] as (i: unknown, c: RequestContext) => Promise<Output<RequestName>>
      )(parsed.data, {
        signal: abort.signal,
        onProgress: (done, stage) => options.emit({ kind: 'progress', requestId: id, done, stage }),
      });
      return { kind: 'reply', id, ok: true, revision: core.revision(), output };
    } catch (error) {
      return failure(id, error);
    } finally {
      running.delete(id);
    }
  }

  function failure(id: number, error: unknown): ReplyEnvelope {
    return { kind: 'reply', id, ok: false, revision: core.revision(), error: toWire(error) };
  }

  return {
    handle,
    async close() {
      for (const abort of running.values()) abort.abort();
      core.close();
      await options.jobs.close();
    },
  };
}
