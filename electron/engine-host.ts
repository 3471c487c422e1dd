/**
 * Keeps one engine process running and pairs its replies with the requests. Knows nothing of windows. Requests
 * travel under ids of their own, because a page loaded anew counts from the start again.
 */
import {
  type EngineEvent,
  engineMessageSchema,
  type ReplyEnvelope,
  type RequestEnvelope,
} from '../core/contract/envelope.ts';
import type { ErrorCode } from '../core/errors.ts';
import type { EngineProcess, StartEngineProcess } from './engine-process.ts';

export interface EngineHost {
  /** Never rejects: an engine that dies under a request is a failed reply. */
  send(request: RequestEnvelope): Promise<ReplyEnvelope>;
  /** A `ready` after the first tells that the engine is a new one, with no project open. Returns the way to unsubscribe. */
  onEvent(listener: (event: EngineEvent) => void): () => void;
  /** The page that asked is gone: stops its jobs and answers nothing of what it asked. */
  abandon(): void;
  /** Lets the engine close its project; kills it where that takes longer than `stopMs`. */
  stop(): Promise<void>;
}

export interface EngineHostOptions {
  readonly start: StartEngineProcess;
  readonly stopMs?: number;
  /** More deaths than this within a minute, and the engine is left dead. */
  readonly maxDeathsPerMinute?: number;
  readonly now?: () => number;
}

interface Pending {
  /** Id the page gave. */
  readonly askedAs: number;
  readonly answer: (reply: ReplyEnvelope) => void;
}

interface Running {
  readonly process: EngineProcess;
  /** Null once it said that it is ready; until then, what waits for it. */
  waiting: RequestEnvelope[] | null;
}

export function createEngineHost(options: EngineHostOptions): EngineHost {
  const { start, stopMs = 3000, maxDeathsPerMinute = 3, now = Date.now } = options;
  const listeners = new Set<(event: EngineEvent) => void>();
  const pending = new Map<number, Pending>();
  let lastId = 0;
  let running: Running | null = null;
  let deaths: number[] = [];
  let lastDeath = '';
  let revision = 0;
  let stopped: Promise<void> | null = null;
  let onStopped = () => {};

  function launch(): void {
    const mine: Running = { process: start(), waiting: [] };
    running = mine;
    mine.process.onMessage((message) => receive(mine, message));
    mine.process.onExit((why) => bury(mine, why));
  }

  function receive(from: Running, message: unknown): void {
    if (!engineMessageSchema.safeParse(message).success) {
      console.error('The engine said something that is no message:', message);
      return;
    }
    const known = message as ReplyEnvelope | EngineEvent;
    if (known.kind === 'reply') {
      revision = known.revision;
      const request = pending.get(known.id);
      pending.delete(known.id);
      request?.answer({ ...known, id: request.askedAs });
      return;
    }
    if (known.kind === 'progress') {
      const request = pending.get(known.requestId);
      if (request !== undefined) tell({ ...known, requestId: request.askedAs });
      return;
    }
    if (known.kind === 'ready') {
      for (const request of from.waiting ?? []) from.process.post(request);
      from.waiting = null;
    }
    tell(known);
  }

  function tell(event: EngineEvent): void {
    for (const listener of listeners) listener(event);
  }

  function bury(dead: Running, why: string): void {
    if (running !== dead) return;
    running = null;
    onStopped();
    lastDeath = why;
    const message = stopped
      ? 'The program is closing.'
      : `The computing process ended unexpectedly (${why}) and this request with it. Open the project again.`;
    answerAll(stopped ? 'CANCELLED' : 'INTERNAL', message);
    if (stopped) return;
    deaths = [...deaths.filter((at) => now() - at < 60_000), now()];
    if (deaths.length <= maxDeathsPerMinute) launch();
  }

  function failure(id: number, code: ErrorCode, message: string): ReplyEnvelope {
    return { kind: 'reply', id, ok: false, revision, error: { code, message, details: {} } };
  }

  function send(request: RequestEnvelope): Promise<ReplyEnvelope> {
    const { id } = request;
    if (stopped !== null) return Promise.resolve(failure(id, 'CANCELLED', 'The program is closing.'));
    if (running === null) {
      const message = `The computing process keeps failing (${lastDeath}). Close the program and start it again.`;
      return Promise.resolve(failure(id, 'INTERNAL', message));
    }
    return new Promise((resolve) => {
      const wireId = ++lastId;
      const input = request.name === 'job.cancel' ? cancelInput(request) : request.input;
      pending.set(wireId, { askedAs: id, answer: resolve });
      post({ ...request, id: wireId, input });
    });
  }

  function post(request: RequestEnvelope): void {
    if (running?.waiting) running.waiting.push(request);
    else running?.process.post(request);
  }

  /** The job meant is the newest asked under that id; 0, which is none, where it is done already. */
  function cancelInput({ input }: RequestEnvelope): { readonly requestId: number } {
    const askedAs = (input as { readonly requestId?: unknown } | null)?.requestId;
    const [wireId] = [...pending].findLast(([, request]) => request.askedAs === askedAs) ?? [0];
    return { requestId: wireId };
  }

  function answerAll(code: ErrorCode, message: string): void {
    for (const { askedAs, answer } of pending.values()) answer(failure(askedAs, code, message));
    pending.clear();
  }

  function abandon(): void {
    for (const requestId of pending.keys()) {
      post({ kind: 'request', id: ++lastId, name: 'job.cancel', input: { requestId } });
    }
    answerAll('CANCELLED', 'The page that asked this was loaded anew.');
  }

  function stop(): Promise<void> {
    stopped ??= new Promise((resolve) => {
      if (running === null) {
        resolve();
        return;
      }
      const { process } = running;
      const timer = setTimeout(() => process.kill(), stopMs);
      onStopped = () => {
        clearTimeout(timer);
        resolve();
      };
      process.post({ kind: 'stop' });
    });
    return stopped;
  }

  launch();
  return {
    send,
    onEvent(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    abandon,
    stop,
  };
}
