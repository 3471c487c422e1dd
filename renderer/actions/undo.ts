import type { Action } from './action.ts';

export const undo: Action = {
  id: 'undo',
  name: 'Undo',
  shortcut: 'Mod+Z',
  isEnabled: (state) => state.view?.canUndo != null,
  run: (app) => app.undo(),
};
