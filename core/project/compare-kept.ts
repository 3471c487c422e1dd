import type { ComparedPlacement, KeptComparison } from '../contract/siting.ts';
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
  const { statistics, pairs, differences } = await jobs.run(
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
  const chosen = places.findIndex((p) => p.chosen);
  return {
    placements: places.flatMap(({ ring, ...place }, i) => {
      const under = statistics[i];
      return under === undefined
        ? []
        : [
            {
              ...place,
              statistics: under,
              support: classSupport(ring, valid, scheme),
              againstChosen: against(i, chosen, pairs),
            },
          ];
    }),
    differences,
    realisations: prepared.realisations,
    seed: prepared.seed,
    cautions: SITING_CAUTIONS,
  };
}

/** How a place stands to the chosen one; null for the chosen one itself. */
function against(
  place: number,
  chosen: number,
  pairs: readonly { readonly first: number; readonly second: number; readonly verdict: string }[],
): ComparedPlacement['againstChosen'] {
  if (place === chosen) return null;
  const pair = pairs.find((p) => [p.first, p.second].every((i) => i === place || i === chosen));
  if (pair === undefined) return 'not compared';
  if (pair.verdict === 'no-real-difference') return 'no real difference';
  const isFirstLower = pair.verdict === 'first-lower';
  return (pair.first === place) === isFirstLower ? 'lower' : 'higher';
}
