import { describe, expect, test } from 'vitest';
import type { ProjectFrame } from '../../../core/contract/model.ts';
import { lengthCell, sayInUnits } from '../../../core/contract/project-words.ts';

const frame = (metresPerUnit: number): ProjectFrame =>
  ({
    crs: { kind: 'local', unit: metresPerUnit === 1 ? 'm' : 'ft', label: '' },
    crsName: 'Local grid',
    unitLabel: metresPerUnit === 1 ? 'm' : 'ft',
    metresPerUnit,
    originNative: [0, 0],
    gridNorth: { kind: 'local' },
    gridToGroundFactor: null,
  }) as unknown as ProjectFrame;
const feet = { frame: frame(0.3048), radonUnit: 'pCi/L' } as const;
const metres = { frame: frame(1), radonUnit: 'kBq/m3' } as const;

/** 1 ft = 0.3048 m and 1 pCi/L = 37 Bq/m3, both exactly; to three digits. */
const SENTENCES: readonly (readonly [given: string, said: string])[] = [
  ['drawn at 0.406 m, no less than 0.5 m', 'drawn at 1.33 ft (0.406 m), no less than 1.64 ft (0.5 m)'],
  ['T15 (0.61 m), T4 (0.508 m)', 'T15 (2.00 ft, 0.61 m), T4 (1.67 ft, 0.508 m)'],
  ['from 20 to under 70 kBq/m3 for', 'from 541 to under 1890 pCi/L (20 to under 70 kBq/m³) for'],
  ['mean error −0.39 kBq/m³', 'mean error −10.5 pCi/L (−0.39 kBq/m³)'],
  ['from −7.8 to 9.0 kBq/m³', 'from −211 to 243 pCi/L (−7.8 to 9.0 kBq/m³)'],
  ['a 10 m x 10 m grid over 800 m2', 'a 32.8 x 32.8 ft (10 x 10 m) grid over 8611 sq ft (800 m²)'],
  // Neither lengths nor radon.
  ['k = 4e-13 m2, 13 mm, 200 mL/min, 0.5 m/s, 3 m³', 'k = 4e-13 m², 13 mm, 200 mL/min, 0.5 m/s, 3 m³'],
  ['sill 3.2 (kBq/m³)²', 'sill 3.2 (kBq/m³)²'],
];

describe('sentences in the units of the project', () => {
  test.each(SENTENCES)('%s', (given, said) => {
    expect(sayInUnits(given, feet)).toBe(said);
    expect(sayInUnits(said, feet)).toBe(said);
    expect(sayInUnits(given, metres)).toBe(given.replaceAll('m3', 'm³').replaceAll('m2', 'm²'));
  });

  test('a depth alone', () => {
    expect(lengthCell(0.8128, feet.frame)).toBe('2.67');
    expect(lengthCell(0.8128, metres.frame)).toBe('0.813');
    expect(lengthCell(null, feet.frame)).toBe('–');
  });
});
