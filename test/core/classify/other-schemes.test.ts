import { describe, expect, test } from 'vitest';
import { classify } from '../../../core/classify/classify.ts';
import { radonPotential } from '../../../core/classify/evaluate.ts';
import { listThresholds, loadSchemes, schemeById } from '../../../core/classify/scheme.ts';
import { aroundQuartile, diluted, value, values } from './probe-values.ts';

const SWEDISH = schemeById('swedish-ground-classes');
const POTENTIAL = schemeById('geogenic-radon-potential');
const QUICK = { draws: 200 };

function thresholdsOf(scheme: typeof SWEDISH) {
  return Object.fromEntries(
    listThresholds(scheme).map(({ field, limit }) => [field, [limit.value, limit.unit, limit.mark]]),
  );
}

describe('Swedish ground classes', () => {
  // Limits 10 and 50 kBq/m3 and the depth of about 1 m were seen in restatements of the classes; all else is recalled.
  test('has exactly these thresholds', () => {
    expect(thresholdsOf(SWEDISH)).toEqual({
      depthM: [1, 'm', 'read'],
      shallowestM: [0.7, 'm', 'memory-unsure'],
      minimumCount: [5, 'points', 'memory-unsure'],
      'table.limits.0': [10, 'kBq/m3', 'read'],
      'table.limits.1': [50, 'kBq/m3', 'read'],
      'raised.0': [60, 'kBq/m3', 'memory-unsure'],
      'raised.1': [120, 'kBq/m3', 'memory-unsure'],
    });
  });

  // Check value 38 of the trade facts.
  test.each([
    [9, 'low'],
    [10, 'normal'],
    [49, 'normal'],
    [51, 'high'],
  ])('%d kBq/m3 is %s', (radon, classId) => {
    const points = values(
      [0.5, 0.6, 0.7, 0.8, 1].map((s) => s * radon),
      { depthM: 1 },
    );
    expect(classify(SWEDISH, points, points, QUICK)).toMatchObject({ classId, refusal: null });
  });

  test('exactly 50 is said to be unsettled, with the other side listed', () => {
    const points = values([20, 25, 30, 40, 50], { depthM: 1 });
    const result = classify(SWEDISH, points, points, QUICK);
    expect(result.classId).toBe('high');
    expect(result.decidedBy).toMatch(/exactly 50 is not settled/);
    expect(result.alternatives.find((a) => a.what.startsWith('Border 50'))?.classId).toBe('normal');
  });

  test('what is only recalled is shown as unconfirmed, and other statistics beside it', () => {
    const points = values([8, 9, 12, 14, 55], { depthM: 1 });
    const result = classify(SWEDISH, points, points, QUICK);
    expect(result.classId).toBe('high');
    expect(result.unconfirmed).toContain('Statistic: highest value (from memory, unsure)');
    expect(result.unconfirmed).toContain('Least number of valid points: 5 points (from memory, unsure)');
    expect(result.alternatives.find((a) => a.what === 'Other statistic: median')).toMatchObject({
      statisticKBqPerM3: 12,
      classId: 'normal',
    });
  });

  test('a raised limit is shown, but lowers the class only where it is chosen', () => {
    const points = values([20, 25, 30, 40, 70], { depthM: 1 });
    const result = classify(SWEDISH, points, points, QUICK);
    expect(result.classId).toBe('high');
    const shown = result.alternatives.filter((a) => a.what.startsWith('With the limit'));
    expect(shown.map((a) => a.classId)).toEqual(['high', 'normal']);
    expect(classify(SWEDISH, points, points, { ...QUICK, raisedLimitId: 'clay' }).classId).toBe('normal');
    expect(() => classify(SWEDISH, points, points, { ...QUICK, raisedLimitId: 'peat' })).toThrow(
      /no raised limit 'peat'; it has 'silt', 'clay'/,
    );
  });
});

describe('geogenic radon potential, without offset', () => {
  // Form (c - c0) / (-log10 k - 10) with c0 = 0: Bossew et al. 2020, section 2.1. Limits 10 and 35 from memory.
  test('has exactly these thresholds of its own', () => {
    expect(thresholdsOf(POTENTIAL)).toMatchObject({
      'potential.offset': [0, 'kBq/m3', 'read'],
      'potential.undefinedFromM2': [1e-10, 'm2', 'calc'],
      'potential.limits.0': [10, '', 'memory'],
      'potential.limits.1': [35, '', 'memory'],
      minimumCount: [5, 'points', 'practice'],
    });
  });

  test.each([
    [20, 1e-12, 10, 'medium'],
    [19.9, 1e-12, 9.95, 'low'],
    [70, 1e-12, 35, 'high'],
    [30, 1e-11, 30, 'medium'],
    [30, 1e-14, 7.5, 'low'],
  ])('c %d kBq/m3, k %d m2: %d, %s', (radon, permeabilityM2, potential, classId) => {
    expect(radonPotential(POTENTIAL, radon, permeabilityM2)).toBeCloseTo(potential, 10);
    const points = aroundQuartile(radon, { permeabilityM2, permeabilityClass: null });
    const result = classify(POTENTIAL, points, points, QUICK);
    expect(result).toMatchObject({ classId, refusal: null });
    expect(result.decidedBy).toMatch(/Geogenic radon potential cA \/ \(-log10 k - 10\)/);
  });

  test('permeability only judged, or too high for the formula: refused with what to do, never a table', () => {
    const judged = aroundQuartile(30);
    expect(classify(POTENTIAL, judged, judged, QUICK)).toMatchObject({
      classId: null,
      refusal: expect.stringMatching(/needs permeability measured at no fewer than 5/),
    });
    const gravel = aroundQuartile(30, { permeabilityM2: 1e-10 });
    expect(classify(POTENTIAL, gravel, gravel, QUICK).refusal).toMatch(/undefined: k = 1e-10 m2/);
  });
});

describe('ranges and doubts in words', () => {
  const czech = schemeById('czech-building-site-index');
  test('a range without an upper end is said in words, never as a number', () => {
    const points = [...aroundQuartile(50), ...Array.from({ length: 6 }, (_, i) => diluted(20 + i, 5))];
    const result = classify(czech, points, points, QUICK);
    expect(result.range).toEqual(['low', 'medium', 'high'].slice(result.range?.[0] === 'low' ? 0 : 1));
    expect(result.decidedBy).toMatch(
      /is at least [\d.]+ kBq\/m3, and nothing measured says how high it can be/,
    );
    expect(JSON.stringify(result)).not.toMatch(/Infinity/);
  });

  test('the doubt of measurement says which points are not in it', () => {
    const points = [...aroundQuartile(40), diluted(20, 5)];
    const [measurement] = classify(czech, points, points, QUICK).doubts;
    expect(measurement?.method).toMatch(/1 points known only by a lower bound are not in it/);
  });
});

describe('schemes of one own', () => {
  const mine = { ...structuredClone(SWEDISH), id: 'my-own', name: 'My own' };
  test('good files join the program’s, bad ones are named and left out', () => {
    const { schemes, faults } = loadSchemes([
      { name: 'b.json', text: '{' },
      { name: 'a.json', text: JSON.stringify(mine) },
      { name: 'c.json', text: JSON.stringify(mine) },
      { name: 'd.json', text: JSON.stringify({ ...mine, id: 'czech-building-site-index' }) },
      { name: 'e.json', text: JSON.stringify({ ...mine, id: 'e', minimumCount: { value: 'many' } }) },
      {
        name: 'f.json',
        text: JSON.stringify({
          ...mine,
          id: 'f',
          raised: [{ ...mine.raised?.[0], value: 40 }],
        }),
      },
    ]);
    expect(schemes.map((s) => s.id)).toContain('my-own');
    expect(faults.map((f) => f.file)).toEqual(['b.json', 'c.json', 'd.json', 'e.json', 'f.json']);
    expect(faults[1]?.message).toMatch(/id 'my-own' is taken/);
    expect(faults[3]?.message).toMatch(/e\.json.*minimumCount/);
    expect(faults[4]?.message).toMatch(/raised\.0\.value: 40 does not lie above/);
    expect(classify(schemeById('my-own', schemes), [value(1, 9)], [], QUICK).refusal).toMatch(
      /1 valid points/,
    );
  });
});
