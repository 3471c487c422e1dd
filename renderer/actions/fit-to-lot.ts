import { type Action, hasProject } from './action.ts';

export const fitToLot: Action = {
  id: 'fit-to-lot',
  name: 'Fit the map to the lot',
  shortcut: 'F',
  isEnabled: hasProject,
  run: (app) => app.store.update((state) => ({ ...state, fitCount: state.fitCount + 1 })),
};
