import type { ProjectView } from '../contract/model.ts';
import type { SitePlanRequests } from '../contract/site-plans.ts';
import { asStored } from '../exchange/jpeg-orientation.ts';
import type { Handlers } from './engine.ts';
import type { HandlerTools } from './handler-tools.ts';
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

/** Requests on images of plans of the site. */
export function sitePlanHandlers({
  jobs,
  current,
  edit,
  onChanged,
}: HandlerTools): Pick<Handlers, keyof SitePlanRequests> {
  const listed = (view: ProjectView, store = current()) => ({ view, plans: listSitePlans(store) });
  return {
    'site-plan.list': () => ({ plans: listSitePlans(current()) }),
    'site-plan.add': async ({ path }) => {
      const store = current();
      const added = await addSitePlan(store, path);
      onChanged(store.revision);
      return { ...listed(buildView(store), store), ...added };
    },
    'site-plan.place': (input) => listed(edit((store) => placeSitePlan(store, input))),
    'site-plan.try': (input) => ({ plan: trySitePlan(current(), input) }),
    'site-plan.set': (input) => listed(edit((store) => setSitePlan(store, input))),
    'site-plan.remove': ({ id }) => listed(edit((store) => removeSitePlan(store, id))),
    'site-plan.image': async ({ id }, context) => {
      const { bytes, mediaType, name } = sitePlanFile(current(), id);
      if (mediaType !== 'image/tiff')
        return { kind: 'file', mediaType, bytes: asStored(new Uint8Array(bytes)) };
      const image = await jobs.run(
        'decode-tiff',
        { bytes: new Uint8Array(bytes), file: name, mostPx: MOST_SHOWN_PX },
        context,
      );
      return { kind: 'pixels', ...image };
    },
  };
}
