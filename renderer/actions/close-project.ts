import { type Action, hasProject } from './action.ts';

export const closeProject: Action = {
  id: 'close-project',
  name: 'Close project',
  shortcut: 'Mod+W',
  isEnabled: hasProject,
  run: (app) => app.closeProject(),
};
