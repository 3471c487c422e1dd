import type { Action } from './action.ts';

export const openProject: Action = {
  id: 'open-project',
  name: 'Open project',
  shortcut: 'Mod+O',
  isEnabled: () => true,
  async run(app) {
    const path = await app.attempt('Choosing a project', () =>
      app.bridge.chooseOpen({
        title: 'Open project',
        filters: [{ name: 'Gasplat project', extensions: ['gasplat'] }],
      }),
    );
    if (path) await app.openProject(path);
  },
};
