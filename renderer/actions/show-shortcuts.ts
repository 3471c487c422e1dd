import type { Action } from './action.ts';

export const showShortcuts: Action = {
  id: 'show-shortcuts',
  name: 'Keyboard shortcuts',
  shortcut: 'F1',
  isEnabled: () => true,
  run: (app) =>
    app.store.update((state) => ({ ...state, dialog: state.dialog === 'shortcuts' ? null : 'shortcuts' })),
};
