import type { ReadingRequests } from '../contract/readings.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers, RequestContext } from './engine.ts';
import type { HandlerTools } from './handler-tools.ts';
import { setHandling } from './handling.ts';
import { importInstruments } from './import-instruments.ts';
import { importReadings } from './import-readings.ts';
import { listInstruments, setInstrument } from './instruments.ts';
import { explainReduction } from './sample-reduction.ts';

/** Requests on counts. A change is saved first; what it makes new is then reduced in a worker. */
export function readingHandlers({
  current,
  changeAndReduce,
}: HandlerTools): Pick<Handlers, keyof ReadingRequests> {
  async function imported<R>(work: (store: ProjectStore) => R, context: RequestContext) {
    const { view, result } = await changeAndReduce(work, context);
    return { view, report: result };
  }

  return {
    'readings.import': ({ path, dryRun }, context) =>
      imported((store) => importReadings(store, path, { dryRun: dryRun ?? false }), context),
    'instrument.import': ({ path, dryRun }, context) =>
      imported((store) => importInstruments(store, path, { dryRun: dryRun ?? false }), context),
    'instrument.list': () => ({ instruments: listInstruments(current()) }),
    'instrument.set': async (input, context) =>
      (await changeAndReduce((store) => setInstrument(store, input), context)).view,
    'sample.reduction': ({ sampleId }) => explainReduction(current(), sampleId),
    'sample.handling': async (input, context) =>
      (await changeAndReduce((store) => setHandling(store, input), context)).view,
  };
}
