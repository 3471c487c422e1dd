import type { Action } from './action.ts';

export const newProject: Action = {
  id: 'new-project',
  name: 'New project',
  shortcut: 'Mod+N',
  isEnabled: () => true,
  run: (app) => app.store.update((state) => ({ ...state, dialog: 'new-project', problem: null })),
};
