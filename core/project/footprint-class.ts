import { divideProbes } from '../classify/points.ts';
import type { Scheme } from '../classify/scheme.ts';
import type { PositionM, ProjectView, RingM } from '../contract/model.ts';
import type { FootprintClass } from '../contract/siting.ts';
import { AppError } from '../errors.ts';
import { ringArea } from '../geo/planar.ts';
import { isNearFootprint, layoutRulesOf } from '../plan/layout-rules.ts';
import { classSupport } from '../site/class-support.ts';
import { type ClassChoice, computeClass, probeValues } from './classify-lot.ts';
import { schemeOf } from './schemes.ts';

/** Places of the points that are valid by the scheme. */
export function validPlaces(view: ProjectView, scheme: Scheme = schemeOf(view)): PositionM[] {
  const values = probeValues(view);
  const places = new Map(values.map((p) => [p.probeId, p.positionM]));
  const { valid } = divideProbes(values, scheme);
  return valid.flatMap((p) => {
    const place = places.get(p.probeId);
    return place === undefined ? [] : [place];
  });
}

/**
 * Class of one placed footprint from the points in it and its surroundings, where the scheme's number lies there; else
 * the reason and what is missing.
 * @param place the footprint as it stands where absent
 * @throws AppError BAD_INPUT where there is no footprint
 */
export function classifyFootprint(
  view: ProjectView,
  choice: Omit<ClassChoice, 'isMeant'> = {},
  place?: { readonly label: string; readonly ring: RingM },
): FootprintClass {
  const { footprint } = view;
  const scheme = choice.scheme ?? schemeOf(view);
  const chosen = footprint?.placements.find((p) => p.chosen);
  const at =
    place ??
    (footprint === null
      ? null
      : {
          label:
            chosen === undefined
              ? `${footprint.label}, as drawn`
              : `${footprint.label}, placement ${chosen.label}`,
          ring: footprint.ring,
        });
  if (at === null) throw new AppError('BAD_INPUT', 'There is no footprint to classify: set it first.');
  const rules = layoutRulesOf(scheme);
  const support = classSupport(at.ring, validPlaces(view, scheme), scheme, rules);
  const result = support.enough
    ? computeClass(view, { ...choice, isMeant: (p) => isNearFootprint(p.positionM, at.ring, rules) })
    : null;
  const lot = computeClass(view, { ...choice, draws: 0 });
  return {
    label: at.label,
    areaM2: Math.abs(ringArea(at.ring)),
    support,
    result,
    lotClass: lot.className ?? lot.range?.join(' or ') ?? 'no class',
  };
}
