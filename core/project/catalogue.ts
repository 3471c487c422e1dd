import { STANDING_CAUTIONS } from '../classify/classify.ts';
import type { Catalogue } from '../contract/requests.ts';
import { DRAW_NUMBERS } from '../survey/draw-numbers.ts';
import { THRESHOLDS } from '../survey/thresholds.ts';

/** Limits and cautions that come with the program, so that no other side keeps a list of its own. */
export function catalogue(): Catalogue {
  return {
    thresholds: THRESHOLDS,
    cautions: STANDING_CAUTIONS,
    drawNumbers: DRAW_NUMBERS,
  };
}
