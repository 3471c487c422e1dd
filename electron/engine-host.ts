/** Keeps one engine process running and pairs its replies with the requests. Knows nothing of windows. */
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

interface Running {
  readonly process: EngineProcess;
  /** Null once it said that it is ready; until then, what waits for it. */
  waiting: RequestEnvelope[] | null;
}

export function createEngineHost(options: EngineHostOptions): EngineHost {
  const { start, stopMs = 3000, maxDeathsPerMinute = 3, now = Date.now } = options;
  const listeners = new Set<(event: EngineEvent) => void>();
  const pending = new Map<number, (reply: ReplyEnvelope) => void>();
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
      const answer = pending.get(known.id);
      pending.delete(known.id);
      answer?.(known);
      return;
    }
    if (known.kind === 'ready') {
      for (const request of from.waiting ?? []) from.process.post(request);
      from.waiting = null;
    }
    for (const listener of listeners) listener(known);
  }

  function bury(dead: Running, why: string): void {
    if (running !== dead) return;
    running = null;
    onStopped();
    lastDeath = why;
    const message = stopped
      ? 'The program is closing.'
      : `The computing process ended unexpectedly (${why}) and this request with it. Open the project again.`;
    for (const [id, answer] of pending) answer(failure(id, stopped ? 'CANCELLED' : 'INTERNAL', message));
    pending.clear();
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
    if (pending.has(id))
      return Promise.resolve(failure(id, 'BAD_USAGE', `Request ${id} is still being answered.`));
    const { process, waiting } = running;
    return new Promise((resolve) => {
      pending.set(id, resolve);
      if (waiting === null) process.post(request);
      else waiting.push(request);
    });
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
    stop,
  };
}
