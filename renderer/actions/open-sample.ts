import type { DemoLot } from '../../core/contract/requests.ts';
import type { Action } from './action.ts';

function sampleAction(lot: DemoLot, name: string, suggestedName: string): Action {
  return {
    id: `open-sample-${lot}`,
    name,
    shortcut: null,
    isEnabled: () => true,
    async run(app) {
      const path = await app.attempt('Choosing a place', () =>
        app.bridge.chooseSave({
          title: 'Save the sample lot as',
          suggestedName,
          filters: [{ name: 'Gasplat project', extensions: ['gasplat'] }],
        }),
      );
      if (path) await app.openSample(path, lot);
    },
  };
}

export const openOrdinarySample = sampleAction('ordinary', 'Sample lot: ordinary', 'sample-lot.gasplat');
export const openTroubledSample = sampleAction(
  'troubled',
  'Sample lot: troubled',
  'sample-lot-troubled.gasplat',
);
