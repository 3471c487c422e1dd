/** What the engine tells of itself, shortened. Development and tests only. */
import type { Catalogue } from '../../core/contract/requests.ts';

export function mockCatalogue(): Catalogue {
  return {
    schemes: [
      {
        id: 'czech-building-site-index',
        name: 'Czech building-site radon index',
        edition: 'mock edition',
        homeCountry: 'CZ',
        needsLimits: false,
      },
      {
        id: 'limits-entered',
        name: 'Compare with limits I enter',
        edition: 'mock edition',
        homeCountry: null,
        needsLimits: true,
      },
    ],
    thresholds: [
      {
        key: 'minimumValueKBqPerM3',
        label: 'Radon so low that the sample counts as failed',
        unit: 'kBq/m3',
        standard: 1,
        source: 'A rule recalled',
        mark: 'from memory',
      },
      {
        key: 'tracerLeakPct',
        label: 'Tracer found in the sample: accepted up to',
        unit: '%',
        standard: 5,
        source: 'A text that was seen',
        mark: 'confirmed',
      },
    ],
    cautions: [
      'Have buried services located and marked before any probe is driven.',
      'Follow radiation and site-safety rules.',
    ],
  };
}
