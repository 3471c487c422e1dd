import type { ProjectView } from '../../core/contract/model.ts';

const known = new WeakMap<ProjectView, string>();

/**
 * All of a project that surface and class are worked out from. Two views with the same basis have the same results,
 * so that a new note or footprint does not call them out of date.
 */
export function resultBasis(view: ProjectView): string {
  let basis = known.get(view);
  if (basis === undefined) {
    basis = JSON.stringify([view.path, view.lot, view.probes, view.assessments, view.settings]);
    known.set(view, basis);
  }
  return basis;
}
