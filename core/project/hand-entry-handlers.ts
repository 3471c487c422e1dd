import type { HandEntryRequests } from '../contract/hand-entry.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers, RequestContext } from './engine.ts';
import { averageTyped } from './enter-intervals.ts';
import { enterSample, entryOfSample, removeSample } from './enter-sample.ts';
import { ensureReductions } from './readings.ts';
import { readingFiles, removeInstrument, removeReadings } from './remove-readings.ts';
import { buildView } from './view.ts';

export interface HandEntryDependencies {
  readonly jobs: JobRunner;
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
  readonly onChanged: (revision: number) => void;
}

/** Requests on what is typed in, and on taking out what came in by mistake. */
export function handEntryHandlers(deps: HandEntryDependencies): Pick<Handlers, keyof HandEntryRequests> {
  async function changed<R>(work: (store: ProjectStore) => R, context: RequestContext) {
    const store = deps.current();
    const result = work(store);
    deps.onChanged(store.revision);
    await ensureReductions(store, deps.jobs, context);
    return { view: buildView(store), result };
  }

  return {
    'sample.enter': async (input, context) => {
      const { view, result } = await changed((store) => enterSample(store, input), context);
      return { view, sampleId: result };
    },
    'sample.entry': ({ sampleId }) => ({ entry: entryOfSample(deps.current(), sampleId) }),
    'values.average': (input) => averageTyped(deps.current(), input),
    'sample.remove': async ({ sampleId }, context) =>
      (await changed((store) => removeSample(store, sampleId), context)).view,
    'readings.files': () => ({ files: readingFiles(deps.current()) }),
    'readings.remove': async ({ sha256 }, context) =>
      (await changed((store) => removeReadings(store, sha256), context)).view,
    'instrument.remove': async ({ id }, context) =>
      (await changed((store) => removeInstrument(store, id), context)).view,
  };
}
