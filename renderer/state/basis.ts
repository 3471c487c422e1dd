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

/** What the surface is worked out from: its engine says so, see `ResultBasis`. */
export const surfaceBasis = (view: ProjectView): string => `${view.path} ${view.basis.surface}`;
export const classBasis = (view: ProjectView): string => `${view.path} ${view.basis.class}`;

/** What is asked of a place: the surface under it, and the valid points in it and around. */
export const groundBasis = (view: ProjectView): string => `${surfaceBasis(view)} ${view.basis.class}`;

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

/** All that next probes are worked out from: where one is planned already, none is proposed. */
export const nextBasis = remembered((view) => [
  groundBasis(view),
  view.probes.map((probe) => [probe.label, probe.positionM]),
  view.keepOuts,
  view.footprint?.ring,
]);

/** All that placements are searched on: they are moves of the footprint as drawn, whichever of them is chosen. */
export const sitingBasis = remembered((view) => [
  groundBasis(view),
  view.keepOuts,
  view.footprint?.drawnRing,
]);

/** All that a comparison of the kept placements is worked out from. */
export const keptBasis = remembered((view) => [groundBasis(view), view.footprint]);
