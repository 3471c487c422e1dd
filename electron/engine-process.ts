import type { EngineMessage, RequestEnvelope } from '../core/contract/envelope.ts';

export type ToEngine = RequestEnvelope | { readonly kind: 'stop' };

/** A started engine process of either kind. What it says is checked by who listens. */
export interface EngineProcess {
  post(message: ToEngine): void;
  onMessage(listener: (message: unknown) => void): void;
  /** Called once, whether it ended by itself, was killed or could not be started. */
  onExit(listener: (why: string) => void): void;
  kill(): void;
}

export type StartEngineProcess = () => EngineProcess;

/** The engine's end of the line. */
export interface EnginePort {
  /** Kind of process this engine is in, as `engine.info` gives it. */
  readonly host: string;
  post(message: EngineMessage): void;
  onMessage(listener: (message: unknown) => void): void;
  /** The shell is gone: nobody will ask again. */
  onGone(listener: () => void): void;
}
