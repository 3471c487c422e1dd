import type { ProjectView } from '../../core/contract/model.ts';

/** A text for a view, worked out once for each. */
function remembered(make: (view: ProjectView) => unknown): (view: ProjectView) => string {
  const known = new WeakMap<ProjectView, string>();
  return (view) => {
    let basis = known.get(view);
    if (basis === undefined) {
      basis = JSON.stringify(make(view));
      known.set(view, basis);
    }
    return basis;
  };
}

/**
 * All of a project that surface and class are worked out from. Two views with the same basis have the same results,
 * so that a new note or footprint does not call them out of date.
 */
export const resultBasis = remembered((view) => [
  view.path,
  view.lot,
  view.probes,
  view.assessments,
  view.settings,
]);

/** All that a layout of probes is worked out from. */
export const planBasis = remembered((view) => [
  view.path,
  view.lot,
  view.keepOuts,
  view.walkStart?.positionM,
  view.footprint?.ring,
  view.settings.schemeId,
  view.probes.filter((probe) => probe.state !== 'planned').map((probe) => probe.label),
]);

/** All that next probes are worked out from. */
export const nextBasis = remembered((view) => [resultBasis(view), view.keepOuts, view.footprint?.ring]);

/** All that placements are searched on: they are moves of the footprint as drawn, whichever of them is chosen. */
export const sitingBasis = remembered((view) => [
  resultBasis(view),
  view.keepOuts,
  view.footprint?.drawnRing,
]);

/** All that a comparison of the kept placements is worked out from. */
export const keptBasis = remembered((view) => [resultBasis(view), view.footprint]);
