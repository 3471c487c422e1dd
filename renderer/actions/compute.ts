import type { Action } from './action.ts';

const hasSamples: Action['isEnabled'] = (state) => (state.view?.samples.length ?? 0) > 0;

export const computeSurface: Action = {
  id: 'compute-surface',
  name: 'Work out the surface',
  shortcut: 'Mod+M',
  isEnabled: hasSamples,
  run(app) {
    app.go('map');
    return app.computeSurface();
  },
};

export const computeClass: Action = {
  id: 'compute-class',
  name: 'Work out the class',
  shortcut: 'Mod+K',
  isEnabled: hasSamples,
  run(app) {
    app.go('classify');
    return app.computeClass();
  },
};
