import type { KeptComparison } from '../contract/siting.ts';
import { AppError } from '../errors.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { classSupport } from '../site/class-support.ts';
import { AS_DRAWN } from '../site/placement.ts';
import { SITING_CAUTIONS } from '../site/search-placements.ts';
import type { HeldGround, PlaceFacts } from './held-ground.ts';
import { schemeOf } from './schemes.ts';
import { LEAST_DIFFERENCE_KBQ_PER_M3 } from './site-building.ts';

/**
 * The footprint as drawn and at each kept place, on the same realisations, which had no part in any search.
 * @throws AppError BAD_INPUT where there is no footprint; CANCELLED
 */
export async function compareKept(
  { view, valid }: PlaceFacts,
  held: HeldGround,
  jobs: JobRunner,
  signal: AbortSignal,
): Promise<KeptComparison> {
  const { footprint } = view;
  const scheme = schemeOf(view);
  if (footprint === null) throw new AppError('BAD_INPUT', 'There is no footprint to compare: set it first.');
  const places = [
    {
      id: null,
      label: 'as drawn',
      pose: AS_DRAWN,
      ring: footprint.drawnRing,
      distanceMovedM: 0,
      chosen: footprint.placements.every((p) => !p.chosen),
    },
    ...footprint.placements,
  ];
  const { ensemble, estimate, limitsKBqPerM3, prepared } = held;
  const { statistics, differences } = await jobs.run(
    'compare-places',
    {
      places: places.map(({ id, label, ring }) => ({
        name: id === null ? 'the building as drawn' : `placement ${label}`,
        ring,
      })),
      ensemble,
      estimate,
      limitsKBqPerM3,
      leastDifferenceKBqPerM3: LEAST_DIFFERENCE_KBQ_PER_M3,
    },
    { signal },
  );
  return {
    placements: places.flatMap(({ ring, ...place }, i) => {
      const under = statistics[i];
      return under === undefined
        ? []
        : [{ ...place, statistics: under, support: classSupport(ring, valid, scheme) }];
    }),
    differences,
    realisations: prepared.realisations,
    seed: prepared.seed,
    cautions: SITING_CAUTIONS,
  };
}
