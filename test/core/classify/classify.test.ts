import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { classify } from '../../../core/classify/classify.ts';
import { radonPotential } from '../../../core/classify/evaluate.ts';
import { divideProbes } from '../../../core/classify/points.ts';
import { schemeById } from '../../../core/classify/scheme.ts';
import { alternative, CZECH, czech, QUICK } from './czech.ts';
import { aroundQuartile, diluted, notDetected, value, values, wet } from './probe-values.ts';

// Check values 32 to 35 of the trade facts. Limits: table of decree 422/2016 Sb. annex 26, read in two Czech testing
// firms' descriptions. That a value on a border belongs to the higher class is from memory (Neznal et al. 2004).
describe('table by permeability', () => {
  test.each([
    [83.5, 'medium', 'high'],
    [29.9, 'low', 'low'],
    [30, 'low', 'medium'],
    [99.9, 'low', 'medium'],
    [100, 'low', 'high'],
    [19.9, 'medium', 'low'],
    [20, 'medium', 'medium'],
    [69.9, 'medium', 'medium'],
    [70, 'medium', 'high'],
    [9.9, 'high', 'low'],
    [10, 'high', 'medium'],
    [29.9, 'high', 'medium'],
    [30, 'high', 'high'],
  ] as const)('third quartile %d kBq/m3 on %s permeability is %s', (q3, permeabilityClass, classId) => {
    const result = czech(aroundQuartile(q3, { permeabilityClass }));
    expect(result).toMatchObject({ classId, refusal: null, range: null, permeabilityClass, validCount: 15 });
    expect(result.statisticKBqPerM3).toBeCloseTo(q3, 10);
    expect(result.decidedBy).toContain(`third quartile of 15 valid points is ${q3} kBq/m3`);
  });

  test('a value on a border is said to be on it, and the other side is listed', () => {
    const result = czech(aroundQuartile(20));
    expect(result.decidedBy).toMatch(/exactly on the border 20\..*strict inequalities.*undefined/);
    expect(alternative(result, /Border 20/)).toMatchObject({ classId: 'low' });
    expect(alternative(czech(aroundQuartile(20.01)), /Border/)).toBeUndefined();
  });

  test('what would change it is told with its distance', () => {
    const result = czech(aroundQuartile(50));
    expect(result.wouldChange).toEqual([
      'The third quartile would have to rise by 20 kBq/m3 to 70 kBq/m3 for high radon index.',
      'The third quartile would have to fall by 30 kBq/m3 to under 20 kBq/m3 for low radon index.',
      'With high permeability it would be high radon index.',
    ]);
  });
});

// Check values 24 to 31: RP = (cA - 1) / (-log10 k - 10). Form and limits 10 and 35 from memory (Neznal et al. 2004);
// that two routes exist is read (decree 422/2016 annex 26).
describe('radon potential', () => {
  test.each([
    [30, 1e-12, 14.5, 'medium'],
    [21, 1e-12, 10, 'medium'],
    [20.9, 1e-12, 9.95, 'low'],
    [71, 1e-12, 35, 'high'],
    [45, 6e-13, 19.8, 'medium'],
    [100, 4e-13, 41.29, 'high'],
    [12, 5e-12, 8.45, 'low'],
  ])('cA %d, k %d: %d, %s', (q3, permeabilityM2, potential, classId) => {
    const rp = radonPotential(CZECH, q3, permeabilityM2) ?? Number.NaN;
    expect(Math.abs(rp / potential - 1)).toBeLessThan(0.005);
    const result = czech(aroundQuartile(q3, { permeabilityM2, permeabilityClass: null }));
    expect(result.classId).toBe(classId);
    expect(result.decidedBy).toMatch(/Radon potential \(cA - 1\) \/ \(-log10 k - 10\)/);
    expect(alternative(result, /Table by permeability class/)?.classId).toBeTruthy();
  });

  test.each([
    [21, 10],
    [71, 35],
  ])('cA %d stands on the border %d', (q3, border) => {
    const result = czech(aroundQuartile(q3, { permeabilityM2: 1e-12 }));
    expect(result.decidedBy).toContain(`exactly on the border ${border}`);
  });

  test('check value 30: the two routes disagree, and both are shown', () => {
    const result = czech(aroundQuartile(12, { permeabilityM2: 5e-12 }));
    expect(result).toMatchObject({ classId: 'low', permeabilityClass: 'high' });
    expect(alternative(result, /Table by permeability class \(high\)/)).toMatchObject({ classId: 'medium' });
  });

  test.each([1e-10, 2e-10])(
    'check value 31: undefined at k = %d, never a number; the table decides',
    (permeabilityM2) => {
      expect(radonPotential(CZECH, 20, permeabilityM2)).toBeNull();
      const result = czech(aroundQuartile(20, { permeabilityM2 }));
      expect(result).toMatchObject({ classId: 'medium', permeabilityClass: 'high' });
      expect(alternative(result, /Radon potential: undefined/)).toMatchObject({ classId: null });
    },
  );

  test('the distance to the next class is given in radon at the same permeability', () => {
    expect(czech(aroundQuartile(30, { permeabilityM2: 1e-12 })).wouldChange[0]).toBe(
      'The third quartile would have to rise by 41 kBq/m3 to 71 kBq/m3 for high radon index.',
    );
  });
});

describe('the minimum number of valid points', () => {
  const fifteen = aroundQuartile(50);

  test('check value 36: 14 valid of 15 is refused, with what to do', () => {
    const result = czech([...fifteen.slice(0, 14), wet(14)]);
    expect(result).toMatchObject({
      classId: null,
      range: null,
      validCount: 14,
      minimumCount: 15,
      doubts: [],
    });
    expect(result.refusal).toMatch(
      /14 valid points.*at least 15.*P14 \(a probe in water.*1 more valid point.*1\.5 m off/,
    );
    expect(alternative(result, /Not a class/)).toMatchObject({ classId: 'medium' });
    expect(result.excluded).toEqual([
      { sampleId: 's14', reason: 'P14: a probe in water gives no gas value' },
    ]);
  });

  test('check value 37: 16 points of which two under 1 kBq/m3 leave 14', () => {
    const result = czech([...fifteen.slice(0, 14), value(14, 0.9), value(15, 0.2)]);
    expect(result.validCount).toBe(14);
    expect(result.refusal).toMatch(/0\.9 kBq\/m3 is under the scheme's 1 kBq\/m3/);
  });

  test('exactly 1 kBq/m3 counts, a non-detect under 1 does not, one under 2 does', () => {
    expect(czech([...fifteen.slice(1), value(20, 1)]).validCount).toBe(15);
    expect(czech([...fifteen.slice(1), notDetected(20, 1)]).validCount).toBe(14);
    expect(czech([...fifteen.slice(1), notDetected(20, 2)]).validCount).toBe(15);
  });

  test('a diluted point does not count', () => {
    expect(czech([...fifteen.slice(1), diluted(20, 40)]).refusal).toMatch(/14 valid points/);
  });

  test('a point less deep than the scheme ever allows bounds the ground from below and does not count', () => {
    // 0.5 m: Czech sampling description, read. Bound 60 - 1.645 x 3 = 55.065 by hand.
    const shallow = value(20, 60, { depthM: 0.49 });
    expect(czech([...fifteen.slice(1), shallow]).refusal).toMatch(/drawn at 0\.49 m.*no less than 0\.5 m/);
    const result = czech([...fifteen, shallow]);
    expect(result).toMatchObject({ classId: 'medium', validCount: 15, statisticKBqPerM3: 50 });
    expect(divideProbes([shallow], CZECH).lowerBounds).toEqual([
      { label: 'P20', boundKBqPerM3: expect.closeTo(55.065, 10) },
    ]);
    expect(alternative(result, /as low as it can be/)).toMatchObject({ statisticKBqPerM3: 50 });
    expect(czech([...fifteen.slice(1), value(20, 60, { depthM: 0.5 })]).validCount).toBe(15);
  });

  test('no points at all', () => {
    expect(czech([])).toMatchObject({ classId: null, validCount: 0, statisticKBqPerM3: null });
    expect(czech([wet(1)]).refusal).toMatch(/0 valid points/);
  });
});

describe('bounds', () => {
  test('lower bounds that cannot change the class leave it alone, and both ends are listed', () => {
    const result = czech([...aroundQuartile(50), diluted(20, 30)]);
    expect(result).toMatchObject({ classId: 'medium', range: null, statisticKBqPerM3: 50, validCount: 15 });
    expect(alternative(result, /as high as it can be/)).toMatchObject({ classId: 'medium' });
  });

  test('where the outcome hangs on a bound, both classes are named and none is given', () => {
    const shares = [10, 12, 14, 15, 15, 16, 16, 17, 18, 19, 19.5, 19.8, 25, 28, 30];
    const result = czech([...values(shares), diluted(20, 5), diluted(21, 5)]);
    expect(result).toMatchObject({ classId: null, range: ['low', 'medium'], refusal: null });
    expect(result.decidedBy).toMatch(/low radon index or medium radon index/);
    expect(result.decidedBy).toMatch(/P20 at least 5/);
  });

  test('low bounds can pull the quartile down', () => {
    // Third quartile of the 15: (20 + 21) / 2; with three bounds of 5 the rank 13.75 of 18 falls to 19.75, by hand.
    const radon = [10, 12, 14, 15, 15, 16, 16, 17, 18, 19, 20, 21, 25, 28, 30];
    const result = czech([...values(radon), diluted(20, 5), diluted(21, 5), diluted(22, 5)]);
    expect(result.range).toEqual(['low', 'medium']);
    expect(alternative(result, /as low as it can be/)).toMatchObject({
      statisticKBqPerM3: 19.75,
      classId: 'low',
    });
  });

  test('a quarter of the points diluted opens the statistic to the top', () => {
    const result = czech([...aroundQuartile(50), ...[20, 21, 22, 23, 24, 25].map((n) => diluted(n, 10))]);
    expect(result.range).toEqual(['medium', 'high']);
    expect(alternative(result, /as high as it can be/)).toMatchObject({
      statisticKBqPerM3: null,
      classId: 'high',
    });
    expect(result.decidedBy).toMatch(/at least .* nothing measured says how high it can be/);
  });

  test('a low non-detect does not move the quartile; high ones do', () => {
    expect(czech([...aroundQuartile(50).slice(1), notDetected(20, 3)])).toMatchObject({
      classId: 'medium',
      range: null,
    });
    const high = [...aroundQuartile(25).slice(0, 10), ...[20, 21, 22, 23, 24].map((n) => notDetected(n, 30))];
    expect(czech(high).range).toEqual(['low', 'medium']);
  });

  test('nothing detected anywhere: a low class says at most, and that a dead instrument reads the same', () => {
    const result = czech(Array.from({ length: 16 }, (_, n) => notDetected(n, 5)));
    expect(result.classId).toBe('low');
    expect(result.statisticIsAtMost).toBe(true);
    expect(result.decidedBy).toContain('is at most 5 kBq/m3');
    expect(result.cautions.join()).toMatch(/None of 16 valid points holds radon above its detection limit/);
    const most = czech([
      ...aroundQuartile(50).slice(0, 9),
      ...[20, 21, 22, 23].map((n) => notDetected(n, 3)),
    ]);
    expect(most.cautions.join()).not.toContain('detection limit');
    expect(czech(aroundQuartile(50))).toMatchObject({ statisticIsAtMost: false });
    expect(czech(aroundQuartile(50)).decidedBy).not.toContain('at most');
  });
});

describe('what stands beside the class', () => {
  test('check value 44: the class hangs on the quartile rule, and the others are listed', () => {
    const data = [10, 20, 25, 30, 35, 40, 45, 50, 55, 60, 64, 72, 80, 95, 120];
    const result = czech(values(data));
    expect(result).toMatchObject({ classId: 'medium', statisticKBqPerM3: 68 });
    expect(result.quantileRule).toMatch(/n-1/);
    expect(alternative(result, /n\+1 rule/)).toMatchObject({ statisticKBqPerM3: 72, classId: 'high' });
    expect(alternative(result, /midpoint/)).toMatchObject({ statisticKBqPerM3: 70, classId: 'high' });
  });

  test('without rulings: another class, or refused', () => {
    const ruled = aroundQuartile(50);
    expect(alternative(czech(ruled, aroundQuartile(90)), /^Without rulings/)).toMatchObject({
      classId: 'high',
    });
    expect(alternative(czech(ruled, ruled.slice(1)), /^Without rulings: refused, 14/)).toMatchObject({
      classId: null,
    });
    expect(alternative(czech(ruled), /^Without rulings/)).toMatchObject({
      classId: 'medium',
      isWithoutRulings: true,
      isWithoutAdded: false,
    });
  });

  test('what this outcome rests on from memory is listed as unconfirmed, the rest is not', () => {
    const plain = czech(aroundQuartile(50)).unconfirmed.join('\n');
    expect(plain).toMatch(/failed: 1 kBq\/m3 \(from memory\)/);
    expect(plain).toMatch(/how the quartile is interpolated/);
    expect(plain).not.toMatch(/Table,|potential|Fine fraction|border|Mixed|class medium/);
    expect(czech(aroundQuartile(20)).unconfirmed.join()).toMatch(
      /on a border belongs to the higher class \(from memory\)/,
    );
    const measured = czech(aroundQuartile(50, { permeabilityM2: 1e-12 })).unconfirmed.join('\n');
    expect(measured).toMatch(/Radon potential, limit to medium index: 10 \(from memory\)/);
    const fines = czech(
      aroundQuartile(50, { permeabilityClass: null, fineFractionPct: 70 }),
    ).unconfirmed.join('\n');
    expect(fines).toMatch(/over which permeability is low: 65 % \(from memory\)/);
  });

  test('shallow points and unknown depths are cautions, not corrections', () => {
    const points = aroundQuartile(50);
    const result = czech([
      { ...value(0, 10), depthM: 0.5 },
      { ...value(1, 15), depthM: null },
      ...points.slice(2),
    ]);
    expect(result.cautions.join('\n')).toMatch(/P00 \(0\.5 m\)\. Such points read low; no depth correction/);
    expect(result.cautions.join('\n')).toMatch(/1 valid points have no depth/);
    expect(result.cautions).toContain(
      'Soil gas does not by itself tell the radon in a finished house; test the house.',
    );
  });

  test('all values equal', () => {
    const result = czech(values(Array(15).fill(25)));
    expect(result).toMatchObject({ classId: 'medium', statisticKBqPerM3: 25 });
  });
});

describe('limits I enter', () => {
  const scheme = schemeById('limits-entered');
  const compare = (limits: number[], points = aroundQuartile(50)) =>
    classify(scheme, points, points, { ...QUICK, enteredLimitsKBqPerM3: limits });

  test('without a limit it asks for one', () => {
    expect(compare([])).toMatchObject({
      classId: null,
      refusal: expect.stringMatching(/enter at least one limit/),
    });
  });

  test('two limits make three classes; permeability plays no part', () => {
    expect(compare([100, 40])).toMatchObject({
      classId: 'from-40',
      className: '40 to under 100 kBq/m3',
      range: null,
    });
    expect(compare([60])).toMatchObject({ className: 'under 60 kBq/m3' });
    expect(compare([50]).decidedBy).toMatch(/exactly on the border 50/);
    expect(compare([20]).wouldChange[0]).toMatch(/fall by 30 kBq\/m3/);
  });
});

test('the order of the points changes nothing, not even the doubts', () => {
  const points = [...aroundQuartile(66), diluted(20, 30), notDetected(21, 4)];
  const expected = czech(points);
  fc.assert(
    fc.property(fc.shuffledSubarray(points, { minLength: points.length }), (shuffled) => {
      expect(czech(shuffled)).toEqual(expected);
    }),
    { numRuns: 20 },
  );
});

test('a value just beside a limit is not printed as if it stood on it', () => {
  const result = czech(aroundQuartile(29.999999, { permeabilityClass: 'low' }));
  expect(result.classId).toBe('low');
  expect(result.decidedBy).toContain('is 29.999999 kBq/m3');
});

test('from 1e-10 m2 on, where the potential ends, its growth toward there is told beside the class of the table', () => {
  const result = czech(aroundQuartile(20, { permeabilityClass: null, permeabilityM2: 2e-10 }));
  expect(result.classId).toBe('medium');
  expect(alternative(result, /undefined.*too lenient/)).toMatchObject({ classId: null });
  // Just under it the formula of 2004 gives (20 - 1) / 0.0458 = 415, over 35: high.
  expect(czech(aroundQuartile(20, { permeabilityClass: null, permeabilityM2: 9e-11 })).classId).toBe('high');
});
