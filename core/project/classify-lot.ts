import { classify } from '../classify/classify.ts';
import { decidingRoute, findPermeability, makeRules } from '../classify/evaluate.ts';
import { divideProbes } from '../classify/points.ts';
import type { Scheme } from '../classify/scheme.ts';
import type { PositionM, ProjectView } from '../contract/model.ts';
import type { ClassLimit, ClassResult } from '../contract/results.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { reduceToProbes } from '../survey/reduce-probes.ts';
import { schemeOf } from './schemes.ts';

/** All of a project that its measured values are judged from. */
export type MeasuredBasis = Pick<
  ProjectView,
  'probes' | 'samples' | 'assessments' | 'settings' | 'importedSchemes'
>;

export function probeValues(view: MeasuredBasis, which: 'ruled' | 'unruled' = 'ruled'): ProbeValue[] {
  return reduceToProbes(view.assessments, view.samples, view.probes, which, view.settings.referenceDepthM);
}

export interface ClassChoice {
  /** The project's own where absent. A raised limit goes with the project's own only, or where it is named here. */
  readonly scheme?: Scheme;
  /** null: none, whatever the project says. */
  readonly raisedLimitId?: string | null;
  /** For each of the two doubts; as few as there can be with 0, where only the class is asked for. */
  readonly draws?: number;
  /** Only these probes; all where absent. */
  readonly isMeant?: (probe: { readonly positionM: PositionM }) => boolean;
}

/**
 * Class of the lot, with and without rulings and added probes, from measured samples alone.
 * @throws AppError NOT_FOUND for a scheme or a raised limit that is not there
 */
export function computeClass(view: MeasuredBasis, choice: ClassChoice = {}): ClassResult {
  const { scheme, ruled, unruled, options } = classInputs(view, choice);
  return classify(scheme, ruled, unruled, {
    ...options,
    ...(choice.draws === undefined ? {} : { draws: choice.draws }),
  });
}

/** What the class is worked out from, and nothing else. @throws AppError NOT_FOUND for a scheme that is not there */
export function classInputs(view: MeasuredBasis, choice: ClassChoice = {}) {
  const { settings } = view;
  const scheme = choice.scheme ?? schemeOf(view);
  const raisedLimitId =
    choice.raisedLimitId === undefined
      ? scheme.id === settings.schemeId
        ? settings.raisedLimitId
        : undefined
      : choice.raisedLimitId;
  const isMeant = choice.isMeant ?? (() => true);
  return {
    scheme,
    ruled: probeValues(view).filter(isMeant),
    unruled: probeValues(view, 'unruled').filter(isMeant),
    options: {
      added: view.probes
        .filter((p) => p.added && isMeant(p))
        .map(({ id, label, state }) => ({ id, label, state })),
      enteredLimitsKBqPerM3: settings.enteredLimitsKBqPerM3,
      ...(raisedLimitId == null ? {} : { raisedLimitId }),
    },
  };
}

/** The scheme's limits in force on this lot, for contours and legend; none where they hang on unknown permeability. */
export function classLimits(view: MeasuredBasis): ClassLimit[] {
  const { rules, permeability } = rulesOf(view);
  const limits = rules.limitsFor(permeability.cls) ?? [];
  return limits.map(({ value, classId }) => ({
    valueKBqPerM3: value,
    name: rules.classes.find((c) => c.id === classId)?.name ?? classId,
  }));
}

/** What the project's scheme calls each of its classes, by id. */
export function classNames(view: ProjectView): ReadonlyMap<string, string> {
  const { enteredLimitsKBqPerM3, raisedLimitId = null } = view.settings;
  const { classes } = makeRules(schemeOf(view), enteredLimitsKBqPerM3, raisedLimitId);
  return new Map(classes.map((c) => [c.id, c.name]));
}

/** Where the scheme's statistic goes from one class to the next, by the route that decides here; none where unknown. */
export function statisticLimits(view: ProjectView): number[] {
  const { rules, permeability } = rulesOf(view);
  const { potential } = rules.scheme;
  const { statisticM2 } = permeability;
  if (decidingRoute(rules.scheme, permeability) === 'table' || potential === null || statisticM2 === null)
    return (rules.limitsFor(permeability.cls) ?? []).map((l) => l.value);
  return potential.limits.map((l) => l.value * (-Math.log10(statisticM2) - 10) + potential.offset.value);
}

function rulesOf(view: MeasuredBasis) {
  const scheme = schemeOf(view);
  const { enteredLimitsKBqPerM3, raisedLimitId = null } = view.settings;
  const rules = makeRules(scheme, enteredLimitsKBqPerM3, raisedLimitId);
  const { valid } = divideProbes(probeValues(view), scheme);
  return { rules, permeability: findPermeability(valid, scheme, quartileRule(scheme)) };
}

function quartileRule(scheme: Scheme) {
  return scheme.statistic.kind === 'quantile' ? scheme.statistic.rule : 'linear-n-1';
}
