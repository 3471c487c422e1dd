/** The engine's end of the line to the shell, the same under both hosts. */
import type { EngineEvent } from '../core/contract/envelope.ts';
import { AppError } from '../core/errors.ts';
import type { Engine } from '../core/project/engine.ts';
import type { EnginePort } from './engine-process.ts';

export interface EngineSurroundings {
  readonly host: string;
  readonly emit: (event: EngineEvent) => void;
}

/** Answers the shell's requests until it says stop or is gone, then closes the engine and ends the process. */
export function serveEngine(create: (surroundings: EngineSurroundings) => Engine): void {
  const port = openEnginePort();
  const engine = create({ host: port.host, emit: (event) => port.post(event) });
  let stopping = false;
  const stop = async () => {
    if (stopping) return;
    stopping = true;
    await engine.close().finally(() => process.exit());
  };
  port.onMessage((message) => {
    if (isStop(message)) void stop();
    else void engine.handle(message).then((reply) => port.post(reply));
  });
  port.onGone(() => void stop());
  port.post({ kind: 'ready', host: port.host });
}

function isStop(message: unknown): boolean {
  return typeof message === 'object' && message !== null && 'kind' in message && message.kind === 'stop';
}

function openEnginePort(): EnginePort {
  // Electron's types declare the port as always there; in a child process of Node it is not.
  const utilityPort = process.parentPort as Electron.ParentPort | undefined;
  if (utilityPort !== undefined) {
    return {
      host: 'utility process',
      post: (message) => utilityPort.postMessage(message),
      onMessage: (listener) => utilityPort.on('message', (event) => listener(event.data)),
      // A utility process does not outlive its parent.
      onGone: () => {},
    };
  }
  if (process.send === undefined) {
    throw new AppError('BAD_USAGE', 'The engine is started by the window; use the gasplat command instead.');
  }
  return {
    host: 'child process',
    post(message) {
      if (process.connected) process.send?.(message);
    },
    onMessage: (listener) => process.on('message', listener),
    onGone: (listener) => process.on('disconnect', listener),
  };
}
