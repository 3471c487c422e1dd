/** What a person types in without a file, and what they take out again. */
import type { Input } from '../../core/contract/requests.ts';
import type { AppKit } from './app.ts';

export interface HandEntry {
  /** @returns whether it was taken; what is wrong is shown as a problem */
  enterSample(input: Input<'sample.enter'>): Promise<boolean>;
  removeSample(sampleId: string): Promise<boolean>;
  removeReadings(sha256: string): Promise<boolean>;
  removeInstrument(id: string): Promise<boolean>;
}

export function createHandEntry({ store, client, change }: AppKit): HandEntry {
  return {
    async enterSample(input) {
      const done = await change(
        'Entering the sample',
        () => client.request('sample.enter', input).then(({ view }) => view),
        `Sample of ${input.entry.probeLabel} ${input.sampleId === null ? 'entered' : 'changed'}.`,
      );
      // Without a lot the map shows where probes are: a new one must not lie outside it.
      if (done && input.entry.place !== null)
        store.update((state) =>
          state.view?.lot === null ? { ...state, fitCount: state.fitCount + 1 } : state,
        );
      return done;
    },
    removeSample: (sampleId) =>
      change('Removing the sample', () => client.request('sample.remove', { sampleId }), 'Sample removed.'),
    removeReadings: (sha256) =>
      change(
        'Taking the counts out',
        () => client.request('readings.remove', { sha256 }),
        'Counts taken out.',
      ),
    removeInstrument: (id) =>
      change(
        'Removing the instrument',
        () => client.request('instrument.remove', { id }),
        'Instrument removed.',
      ),
  };
}
