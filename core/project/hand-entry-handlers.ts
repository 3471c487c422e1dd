import type { HandEntryRequests } from '../contract/hand-entry.ts';
import type { Handlers } from './engine.ts';
import { averageTyped } from './enter-intervals.ts';
import { enterSample, entryOfSample, removeSample } from './enter-sample.ts';
import type { HandlerTools } from './handler-tools.ts';
import { readingFiles, removeInstrument, removeReadings } from './remove-readings.ts';

/** Requests on what is typed in, and on taking out what came in by mistake. */
export function handEntryHandlers({
  current,
  changeAndReduce,
}: HandlerTools): Pick<Handlers, keyof HandEntryRequests> {
  return {
    'sample.enter': async (input, context) => {
      const { view, result } = await changeAndReduce((store) => enterSample(store, input), context);
      return { view, sampleId: result };
    },
    'sample.entry': ({ sampleId }) => ({ entry: entryOfSample(current(), sampleId) }),
    'values.average': (input) => averageTyped(current(), input),
    'sample.remove': async ({ sampleId }, context) =>
      (await changeAndReduce((store) => removeSample(store, sampleId), context)).view,
    'readings.files': () => ({ files: readingFiles(current()) }),
    'readings.remove': async ({ sha256 }, context) =>
      (await changeAndReduce((store) => removeReadings(store, sha256), context)).view,
    'instrument.remove': async ({ id }, context) =>
      (await changeAndReduce((store) => removeInstrument(store, id), context)).view,
  };
}
