/** The scheme that most checks of this folder are of. */
import { type ClassifyOptions, classify } from '../../../core/classify/classify.ts';
import { schemeById } from '../../../core/classify/scheme.ts';
import type { ProbeValue } from '../../../core/survey/reduce-probes.ts';

export const CZECH = schemeById('czech-building-site-index');
export const QUICK: ClassifyOptions = { draws: 200 };

export function czech(points: readonly ProbeValue[], unruled = points, options = QUICK) {
  return classify(CZECH, points, unruled, options);
}

export function alternative(result: ReturnType<typeof czech>, what: RegExp) {
  return result.alternatives.find((a) => what.test(a.what));
}
