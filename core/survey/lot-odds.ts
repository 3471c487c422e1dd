import type { Probe, Sample } from '../contract/model.ts';
import { type SampleOdds, weighDilution } from './dilution-odds.ts';
import { gatherSigns } from './dilution-signs.ts';

/** A ruling or a note changes no number: the last answers are kept, so that a view of many probes does not wait again. */
const kept = new Map<string, ReadonlyMap<string, SampleOdds>>();
const MOST_KEPT = 4;

/**
 * Odds of outside air for each sample of a lot (`weighDilution`), from all its signs.
 * @param usable samples with gas in them: neither blanks nor out of a wet probe
 * @param certain ids of samples that other signs already show to be diluted
 */
export function lotOdds(
  usable: readonly Sample[],
  probeById: ReadonlyMap<string, Probe>,
  certain: ReadonlySet<string>,
  referenceDepthM: number,
): ReadonlyMap<string, SampleOdds> {
  const key = keyOf(usable, probeById, certain, referenceDepthM);
  const known = kept.get(key);
  if (known !== undefined) return known;
  const { channels, direct } = gatherSigns(usable, probeById, certain, referenceDepthM);
  const odds = weighDilution(channels, direct, certain);
  const oldest = kept.keys().next().value;
  if (kept.size >= MOST_KEPT && oldest !== undefined) kept.delete(oldest);
  kept.set(key, odds);
  return odds;
}

/** Everything that `gatherSigns` reads. */
function keyOf(
  usable: readonly Sample[],
  probeById: ReadonlyMap<string, Probe>,
  certain: ReadonlySet<string>,
  referenceDepthM: number,
): string {
  const rows = usable.map((s) => {
    const p = probeById.get(s.probeId);
    return [
      ...[s.id, s.probeId, s.kind, s.depthM, s.radonKBqPerM3, s.radonUKBqPerM3, s.radonBelowKBqPerM3],
      ...[s.oxygenPct, s.carbonDioxidePct, s.suctionPa, s.flowMlPerMin, certain.has(s.id)],
      ...(p === undefined
        ? []
        : [p.positionM, p.depthM, p.soil, p.permeabilityClass, p.fineFractionPct, p.permeabilityM2]),
    ];
  });
  return JSON.stringify([referenceDepthM, rows]);
}
