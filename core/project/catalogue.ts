import { STANDING_CAUTIONS } from '../classify/classify.ts';
import { builtInSchemes } from '../classify/scheme.ts';
import type { Catalogue } from '../contract/requests.ts';
import { THRESHOLDS } from '../survey/thresholds.ts';

/** Schemes, limits and cautions that come with the program, so that no other side keeps a list of its own. */
export function catalogue(): Catalogue {
  return {
    schemes: builtInSchemes().map(({ id, name, edition, homeCountry, table }) => ({
      id,
      name,
      edition,
      homeCountry,
      needsLimits: table.kind === 'entered',
    })),
    thresholds: THRESHOLDS,
    cautions: STANDING_CAUTIONS,
  };
}
