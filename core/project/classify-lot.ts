import { classify } from '../classify/classify.ts';
import { findPermeability, makeRules } from '../classify/evaluate.ts';
import { divideProbes } from '../classify/points.ts';
import type { Scheme } from '../classify/scheme.ts';
import { schemeById } from '../classify/scheme.ts';
import type { ProjectView } from '../contract/model.ts';
import type { ClassResult } from '../contract/results.ts';
import type { FigureLimit } from '../figure/figure-model.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { reduceToProbes } from '../survey/reduce-probes.ts';

export function probeValues(view: ProjectView, which: 'ruled' | 'unruled' = 'ruled'): ProbeValue[] {
  return reduceToProbes(view.assessments, view.samples, view.probes, which, view.settings.referenceDepthM);
}

/**
 * Class of the lot, with and without rulings, from measured samples alone.
 * @param schemeId - the project's own where absent
 * @throws AppError NOT_FOUND for a scheme that is not there
 */
export function computeClass(view: ProjectView, schemeId = view.settings.schemeId): ClassResult {
  return classify(schemeById(schemeId), probeValues(view), probeValues(view, 'unruled'), {
    enteredLimitsKBqPerM3: view.settings.enteredLimitsKBqPerM3,
  });
}

/** The scheme's limits in force on this lot, for contours and legend; none where they hang on unknown permeability. */
export function classLimits(view: ProjectView): FigureLimit[] {
  const scheme = schemeById(view.settings.schemeId);
  const rules = makeRules(scheme, view.settings.enteredLimitsKBqPerM3);
  const { valid } = divideProbes(probeValues(view), scheme);
  const { cls } = findPermeability(valid, scheme, quartileRule(scheme));
  const limits = rules.limitsFor(cls) ?? [];
  return limits.map(({ value, classId }) => ({
    valueKBqPerM3: value,
    name: rules.classes.find((c) => c.id === classId)?.name ?? classId,
  }));
}

function quartileRule(scheme: Scheme) {
  return scheme.statistic.kind === 'quantile' ? scheme.statistic.rule : 'linear-n-1';
}
