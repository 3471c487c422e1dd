/** The one bridge that the sandboxed preload puts on `window.gasplat`. */
import type { EngineEvent, ReplyEnvelope, RequestEnvelope } from './envelope.ts';

export interface OpenDialogOptions {
  readonly title: string;
  readonly filters: readonly { readonly name: string; readonly extensions: readonly string[] }[];
}

export interface SaveDialogOptions extends OpenDialogOptions {
  readonly suggestedName: string;
}

export interface ShellBridge {
  send(request: RequestEnvelope): Promise<ReplyEnvelope>;
  onEvent(listener: (event: EngineEvent) => void): () => void;
  chooseOpen(options: OpenDialogOptions): Promise<string | null>;
  chooseSave(options: SaveDialogOptions): Promise<string | null>;
  /** Shows a written file in the system's file manager. */
  reveal(path: string): Promise<void>;
  /** What to do first: a project named on the command line, or the demo. */
  startUp(): Promise<{ readonly openPath: string | null; readonly demo: boolean }>;
}
