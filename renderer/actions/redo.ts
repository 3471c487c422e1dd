import type { Action } from './action.ts';

export const redo: Action = {
  id: 'redo',
  name: 'Redo',
  shortcut: 'Mod+Shift+Z',
  isEnabled: (state) => state.view?.canRedo != null,
  run: (app) => app.redo(),
};
