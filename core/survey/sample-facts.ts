import type { PermeabilityClass, Probe, Sample } from '../contract/model.ts';
import { withoutAccents } from '../text.ts';
import { ASSUMED_RELATIVE_U } from './thresholds.ts';

/** Standard uncertainty used for a sample, kBq/m3: the file's, else the stated assumption. */
export function uncertaintyOf(sample: Sample): number {
  return sample.radonUKBqPerM3 ?? ASSUMED_RELATIVE_U * (sample.radonKBqPerM3 ?? 0);
}

/** A value, or a bound in its place. */
export function hasRadon(sample: Sample): boolean {
  return (
    sample.radonKBqPerM3 !== null ||
    sample.radonBelowKBqPerM3 !== null ||
    sample.radonAboveKBqPerM3 !== undefined
  );
}

export function sampleDepthM(sample: Sample, probe: Probe): number | null {
  return sample.depthM ?? probe.depthM;
}

const FINE_WORDS = /clay|silt|loam|mud|marl|\bton\b|schluff|lehm|mergel|jil|hlina|spras|argile|limon|lera/i;
const COARSE_WORDS =
  /gravel|sand|cobble|scree|esker|rubble|kies|geroll|schotter|sterk|pisek|gravier|sable|grus/i;

/** Described as gravel or sand, whatever else is in it. */
export function isCoarse(probe: Probe): boolean {
  return probe.soil !== null && COARSE_WORDS.test(withoutAccents(probe.soil));
}

/** Only what was described as tight: a gravel lens draws easily and must not be held against a sample. */
export function isDescribedTight(probe: Probe): string | null {
  if (isCoarse(probe) || probe.permeabilityClass === 'medium' || probe.permeabilityClass === 'high')
    return null;
  if (probe.permeabilityClass === 'low') return 'permeability class low';
  if (probe.fineFractionPct !== null)
    return probe.fineFractionPct > 65 ? `${probe.fineFractionPct} % fines` : null;
  return probe.soil !== null && FINE_WORDS.test(withoutAccents(probe.soil)) ? `soil '${probe.soil}'` : null;
}

/** Ground of a probe as suction sees it: a key by which probes are alike, and a rough permeability class. */
export function describedGround(probe: Probe): {
  readonly key: string;
  readonly cls: PermeabilityClass | null;
} {
  const soil =
    probe.soil === null
      ? ''
      : withoutAccents(probe.soil)
          .toLowerCase()
          .replace(/[^a-z]+/g, ' ')
          .trim();
  const key = `${soil}|${probe.permeabilityClass ?? ''}`;
  if (probe.permeabilityClass !== null) return { key, cls: probe.permeabilityClass };
  if (isDescribedTight(probe) !== null) return { key, cls: 'low' };
  if (/gravel|kies|cobble|scree|gravier/.test(soil)) return { key, cls: 'high' };
  if (COARSE_WORDS.test(soil)) return { key, cls: 'medium' };
  return { key, cls: null };
}
