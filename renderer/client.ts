import type { EngineEvent, ReplyEnvelope } from '../core/contract/envelope.ts';
import type { Input, Output, RequestName } from '../core/contract/requests.ts';
import type { ShellBridge } from '../core/contract/shell.ts';
import { AppError, fromWire } from '../core/errors.ts';

/** A reply nobody needs any more: the project has moved on, or a newer question of the same kind was asked. */
export class DroppedReply extends Error {
  constructor(why: string) {
    super(why);
    this.name = 'DroppedReply';
  }
}

export interface RequestOptions {
  /** Aborting asks the engine to cancel; the promise then settles with the engine's own answer. */
  readonly signal?: AbortSignal;
  readonly onProgress?: (done: number, stage: string) => void;
  /** Rejects with DroppedReply when the project has changed between question and reply. */
  readonly dropStale?: boolean;
  /**
   * With `newest`: an answer counts although a newer question waits. Answers come in the order of the questions; a hand
   * that never rests would else see none.
   */
  readonly keepOvertaken?: boolean;
}

export interface Client {
  /** @throws AppError as the engine said it; DroppedReply when the project was switched meanwhile */
  request<N extends RequestName>(name: N, input: Input<N>, options?: RequestOptions): Promise<Output<N>>;
  /**
   * As `request`, but at most one question per key is on its way and only the newest one waits:
   * what a drag or a keystroke asks in between is never sent. @throws DroppedReply for those
   */
  newest<N extends RequestName>(
    key: string,
    name: N,
    input: Input<N>,
    options?: RequestOptions,
  ): Promise<Output<N>>;
  /** Newest revision of the open project that any reply or event has named. */
  revision(): number;
  onChanged(listener: (revision: number) => void): () => void;
  /** Called when an engine says it is ready: one that says so later is a new one, with no project open. */
  onReady(listener: () => void): () => void;
}

const SWITCHES: ReadonlySet<RequestName> = new Set([
  'project.create',
  'project.demo',
  'project.open',
  'project.close',
]);

interface Lane {
  waiting: { start: () => void; drop: () => void } | null;
}

export function createClient(bridge: ShellBridge): Client {
  let nextId = 1;
  let revision = 0;
  let generation = 0;
  const progress = new Map<number, (done: number, stage: string) => void>();
  const changed = new Set<(revision: number) => void>();
  const ready = new Set<() => void>();
  const lanes = new Map<string, Lane>();

  bridge.onEvent((event: EngineEvent) => {
    if (event.kind === 'progress') {
      progress.get(event.requestId)?.(event.done, event.stage);
    } else if (event.kind === 'changed') {
      revision = Math.max(revision, event.revision);
      for (const listener of changed) listener(event.revision);
    } else {
      for (const listener of ready) listener();
    }
  });

  async function request<N extends RequestName>(
    name: N,
    input: Input<N>,
    options: RequestOptions = {},
  ): Promise<Output<N>> {
    const id = nextId++;
    const sentIn = generation;
    const askedAt = revision;
    if (options.onProgress) progress.set(id, options.onProgress);
    const cancel = () =>
      void bridge.send({ kind: 'request', id: nextId++, name: 'job.cancel', input: { requestId: id } });
    options.signal?.addEventListener('abort', cancel, { once: true });
    let reply: ReplyEnvelope;
    try {
      reply = await bridge.send({ kind: 'request', id, name, input });
    } catch (error) {
      const text = error instanceof Error ? error.message : String(error);
      throw new AppError('INTERNAL', `The engine did not answer "${name}": ${text}`, {}, error);
    } finally {
      progress.delete(id);
      options.signal?.removeEventListener('abort', cancel);
    }
    if (SWITCHES.has(name)) {
      if (reply.ok) {
        generation++;
        revision = reply.revision;
      }
    } else if (sentIn !== generation) {
      throw new DroppedReply(`The reply to "${name}" belongs to a project that is no longer open.`);
    }
    if (!reply.ok) throw fromWire(reply.error);
    // The engine stamps a reply with the revision it has on leaving, which may be newer than what was computed on.
    if (options.dropStale && Math.max(revision, reply.revision) > askedAt) {
      throw new DroppedReply(`The project has changed since "${name}" was asked.`);
    }
    if (!SWITCHES.has(name)) revision = Math.max(revision, reply.revision);
    return reply.output as Output<N>;
  }

  function newest<N extends RequestName>(
    key: string,
    name: N,
    input: Input<N>,
    options: RequestOptions = {},
  ): Promise<Output<N>> {
    return new Promise((resolve, reject) => {
      const start = async (): Promise<void> => {
        const lane: Lane = { waiting: null };
        lanes.set(key, lane);
        try {
          const output = await request(name, input, options);
          if (lane.waiting && !options.keepOvertaken)
            reject(new DroppedReply(`A newer "${name}" was asked.`));
          else resolve(output);
        } catch (error) {
          reject(error);
        } finally {
          lanes.delete(key);
          lane.waiting?.start();
        }
      };
      const lane = lanes.get(key);
      if (!lane) {
        void start();
        return;
      }
      lane.waiting?.drop();
      lane.waiting = {
        start: () => void start(),
        drop: () => reject(new DroppedReply(`A newer "${name}" was asked.`)),
      };
    });
  }

  return {
    request,
    newest,
    revision: () => revision,
    onChanged(listener) {
      changed.add(listener);
      return () => changed.delete(listener);
    },
    onReady(listener) {
      ready.add(listener);
      return () => ready.delete(listener);
    },
  };
}
