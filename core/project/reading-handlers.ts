import type { ReadingRequests } from '../contract/readings.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers, RequestContext } from './engine.ts';
import { setHandling } from './handling.ts';
import { importInstruments } from './import-instruments.ts';
import { importReadings } from './import-readings.ts';
import { listInstruments, setInstrument } from './instruments.ts';
import { ensureReductions } from './readings.ts';
import { explainReduction } from './sample-reduction.ts';
import { buildView } from './view.ts';

export interface ReadingDependencies {
  readonly jobs: JobRunner;
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
  readonly onChanged: (revision: number) => void;
}

/** Requests on counts. A change is saved first; what it makes new is then reduced in a worker. */
export function readingHandlers(deps: ReadingDependencies): Pick<Handlers, keyof ReadingRequests> {
  async function changed<R>(work: (store: ProjectStore) => R, context: RequestContext) {
    const store = deps.current();
    const before = store.revision;
    const report = work(store);
    if (store.revision !== before) deps.onChanged(store.revision);
    await ensureReductions(store, deps.jobs, context);
    return { view: buildView(store), report };
  }

  return {
    'readings.import': ({ path, dryRun }, context) =>
      changed((store) => importReadings(store, path, { dryRun: dryRun ?? false }), context),
    'instrument.import': ({ path, dryRun }, context) =>
      changed((store) => importInstruments(store, path, { dryRun: dryRun ?? false }), context),
    'instrument.list': () => ({ instruments: listInstruments(deps.current()) }),
    'instrument.set': async (input, context) =>
      (await changed((store) => setInstrument(store, input), context)).view,
    'sample.reduction': ({ sampleId }) => explainReduction(deps.current(), sampleId),
    'sample.handling': async (input, context) =>
      (await changed((store) => setHandling(store, input), context)).view,
  };
}
