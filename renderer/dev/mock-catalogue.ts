/** What the engine tells of itself, shortened. Development and tests only. */
import type { Catalogue } from '../../core/contract/requests.ts';
import type { SchemeList } from '../../core/contract/rules.ts';

export function mockCatalogue(): Catalogue {
  return {
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
    drawNumbers: [],
    cautions: [
      'Have buried services located and marked before any probe is driven.',
      'Follow radiation and site-safety rules.',
    ],
  };
}

export function mockSchemes(): SchemeList {
  const scheme = {
    edition: 'mock edition',
    origin: 'program',
    file: null,
    path: null,
    sha256: null,
    statisticName: 'third quartile',
    statisticUnconfirmed: null,
    sources: ['A text that was seen'],
    limits: [],
    raised: [],
    cautions: [],
  } as const;
  return {
    schemes: [
      {
        ...scheme,
        id: 'czech-building-site-index',
        name: 'Czech building-site radon index',
        homeCountry: 'CZ',
        needsLimits: false,
      },
      {
        ...scheme,
        id: 'limits-entered',
        name: 'Compare with limits I enter',
        homeCountry: null,
        needsLimits: true,
      },
    ],
    folder: '/home/sample/schemes',
    faults: [],
  };
}
