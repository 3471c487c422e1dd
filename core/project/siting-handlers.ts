import type { SitingRequests } from '../contract/siting.ts';
import { AppError } from '../errors.ts';
import { toFrame, toNative } from '../geo/frame.ts';
import { classSupport } from '../site/class-support.ts';
import { shapeRing } from '../site/footprint-shapes.ts';
import { innerPoint } from '../site/inner-point.ts';
import type { ProjectStore } from '../store/open-project.ts';
import { compareKept } from './compare-kept.ts';
import { setFootprint } from './edit.ts';
import type { Handlers } from './engine.ts';
import { classifyFootprint } from './footprint-class.ts';
import type { HandlerTools } from './handler-tools.ts';
import { type GroundKeeper, ringOfPlace } from './held-ground.ts';
import { choosePlacement, keepPlacement, removePlacement } from './placements.ts';
import { schemeOf } from './schemes.ts';
import { buildView } from './view.ts';

/** Requests on places of the building. */
export function sitingHandlers(
  { jobs, current, edit }: HandlerTools,
  keeper: GroundKeeper,
): Pick<Handlers, keyof SitingRequests> {
  return {
    'footprint.shape': ({ label, shape, centre }) =>
      edit((store) => setFootprintShape(store, label, shape, centre)),
    'placement.keep': (input) => edit((store) => keepPlacement(store, input)),
    'placement.choose': ({ id }) => edit((store) => choosePlacement(store, id)),
    'placement.remove': ({ id }) => edit((store) => removePlacement(store, id)),
    'site.prepare': async (_input, context) => (await keeper.prepare(current(), context)).prepared,
    'site.under': async ({ place }, context) => {
      const { view, valid } = keeper.facts(current());
      const ring = ringOfPlace(view, place);
      const support = classSupport(ring, valid, schemeOf(view));
      const held = keeper.held(current());
      if (held === null) return { ready: false, statistics: null, support };
      const { ensemble, estimate, limitsKBqPerM3 } = held;
      const statistics = await jobs.run(
        'under-place',
        { ring, ensemble, estimate, limitsKBqPerM3 },
        { signal: context.signal },
      );
      return { ready: true, statistics, support };
    },
    'site.compare': async (_input, context) => {
      const store = current();
      const held = await keeper.prepare(store, context);
      return compareKept(keeper.facts(store), held, jobs, context.signal);
    },
    'class.footprint': () => classifyFootprint(buildView(current())),
  };
}

/** @throws AppError BAD_INPUT for measures that make no outline, or where neither a lot nor a centre is given */
export function setFootprintShape(
  store: ProjectStore,
  label: string,
  shape: Parameters<typeof shapeRing>[0],
  centre: readonly [x: number, y: number] | null,
): void {
  const { frame, lot } = buildView(store);
  if (centre === null && lot === null)
    throw new AppError(
      'BAD_INPUT',
      'There is no lot to put the footprint on: set the lot, or give a centre.',
      {
        field: 'centre',
      },
    );
  const at = centre === null ? innerPoint([lot ?? []]) : toFrame(frame, centre);
  setFootprint(
    store,
    label,
    shapeRing(shape, at).map((corner) => toNative(frame, corner)),
  );
}
