import type { SitePlanRequests } from '../contract/site-plans.ts';
import { asStored } from '../exchange/jpeg-orientation.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers } from './engine.ts';
import {
  addSitePlan,
  listSitePlans,
  placeSitePlan,
  removeSitePlan,
  setSitePlan,
  sitePlanFile,
  trySitePlan,
} from './site-plans.ts';
import { buildView } from './view.ts';

/** Of the longer side of an image decoded here: a map never shows more. */
const MOST_SHOWN_PX = 2048;

export interface SitePlanDependencies {
  readonly jobs: JobRunner;
  /** @throws AppError NOT_FOUND where no project is open */
  readonly current: () => ProjectStore;
  readonly onChanged: (revision: number) => void;
}

export function sitePlanHandlers(deps: SitePlanDependencies): Pick<Handlers, keyof SitePlanRequests> {
  const after = (store: ProjectStore) => {
    deps.onChanged(store.revision);
    return { view: buildView(store), plans: listSitePlans(store) };
  };
  const changed = (change: (store: ProjectStore) => void) => {
    const store = deps.current();
    change(store);
    return after(store);
  };
  return {
    'site-plan.list': () => ({ plans: listSitePlans(deps.current()) }),
    'site-plan.add': async ({ path }) => {
      const store = deps.current();
      const added = await addSitePlan(store, path);
      return { ...after(store), ...added };
    },
    'site-plan.place': (input) => changed((store) => placeSitePlan(store, input)),
    'site-plan.try': (input) => ({ plan: trySitePlan(deps.current(), input) }),
    'site-plan.set': (input) => changed((store) => setSitePlan(store, input)),
    'site-plan.remove': ({ id }) => changed((store) => removeSitePlan(store, id)),
    'site-plan.image': async ({ id }, context) => {
      const { bytes, mediaType, name } = sitePlanFile(deps.current(), id);
      if (mediaType !== 'image/tiff')
        return { kind: 'file', mediaType, bytes: asStored(new Uint8Array(bytes)) };
      const image = await deps.jobs.run(
        'decode-tiff',
        { bytes: new Uint8Array(bytes), file: name, mostPx: MOST_SHOWN_PX },
        context,
      );
      return { kind: 'pixels', ...image };
    },
  };
}
