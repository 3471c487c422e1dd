import type { App } from '../state/app.ts';
import type { AppState } from '../state/app-state.ts';

/** One command of the window: what it is called, which keys start it, when it can run and what it does. */
export interface Action {
  readonly id: string;
  readonly name: string;
  /** `Mod` is Ctrl, or Command on macOS. A plain letter works only where nothing is being typed. */
  readonly shortcut: string | null;
  readonly isEnabled: (state: AppState) => boolean;
  readonly run: (app: App) => unknown;
}

export const hasProject = (state: AppState): boolean => state.view !== null;
