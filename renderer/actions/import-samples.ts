import { type Action, hasProject } from './action.ts';

export const importSamples: Action = {
  id: 'import-samples',
  name: 'Import samples',
  shortcut: 'Mod+I',
  isEnabled: hasProject,
  async run(app) {
    const path = await app.attempt('Choosing a file', () =>
      app.bridge.chooseOpen({
        title: 'Import samples',
        filters: [
          { name: 'Sample sheets', extensions: ['csv', 'txt', 'tsv'] },
          { name: 'All files', extensions: ['*'] },
        ],
      }),
    );
    if (!path) return;
    app.go('field');
    await app.previewImport(path, {});
  },
};
