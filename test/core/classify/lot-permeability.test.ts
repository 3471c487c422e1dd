import { describe, expect, test } from 'vitest';
import { alternative, czech } from './czech.ts';
import { aroundQuartile } from './probe-values.ts';

describe('permeability of the lot', () => {
  const radon = aroundQuartile(25);
  const withClasses = (classes: readonly ('low' | 'medium' | 'high' | null)[]) =>
    radon.map((p, i) => ({ ...p, permeabilityClass: classes[i] ?? null }));

  test('missing everywhere: the classes left open, and each permeability listed', () => {
    const result = czech(withClasses([]));
    expect(result).toMatchObject({ classId: null, range: ['low', 'medium'], permeabilityClass: null });
    expect(
      result.alternatives.filter((a) => /If permeability is/.test(a.what)).map((a) => a.classId),
    ).toEqual(['low', 'medium', 'medium']);
  });

  test('missing everywhere, but every permeability gives the same class', () => {
    const result = czech(aroundQuartile(110, { permeabilityClass: null }));
    expect(result).toMatchObject({ classId: 'high', range: null, permeabilityClass: null });
    expect(result.decidedBy).toMatch(/110 kBq\/m3.*whatever the permeability/);
  });

  test('missing at some points: judged by the others, and it is said', () => {
    const result = czech(withClasses(Array(9).fill('low')));
    expect(result).toMatchObject({ permeabilityClass: 'low', classId: 'low' });
    expect(result.permeabilityBasis).toMatch(/6 points without a class/);
  });

  test('mixed: third quartile of the classes rounded up, the worst class listed beside it', () => {
    const twelveLow = [...Array(12).fill('low'), 'medium', 'high', 'high'] as const;
    const result = czech(withClasses(twelveLow));
    expect(result).toMatchObject({ permeabilityClass: 'low', classId: 'low' });
    expect(result.permeabilityBasis).toMatch(/12 low, 1 medium, 2 high/);
    expect(alternative(result, /Most permeable class among the points \(high\)/)).toMatchObject({
      classId: 'medium',
    });
    const elevenLow = [...Array(11).fill('low'), ...Array(4).fill('medium')] as ('low' | 'medium')[];
    expect(czech(withClasses(elevenLow)).permeabilityClass).toBe('medium');
  });

  test('classes stated where nothing was measured are not lost beside 15 measured points', () => {
    const measured = aroundQuartile(15, { permeabilityM2: 1e-12, permeabilityClass: null });
    const stated = (n: number) =>
      measured.slice(0, n).map((p, i) => ({
        ...p,
        probeId: `stated-${i}`,
        label: `S${i}`,
        permeabilityM2: null,
        permeabilityClass: 'high' as const,
      }));
    // Medium: under 20 kBq/m3 is low; high: from 10 kBq/m3 medium (published table).
    expect(czech([...measured, ...stated(2)])).toMatchObject({ permeabilityClass: 'medium', classId: 'low' });
    const result = czech([...measured, ...stated(7)]);
    expect(result).toMatchObject({ permeabilityClass: 'high', classId: 'medium' });
    expect(result.permeabilityBasis).toMatch(/15 medium, 7 high/);
  });

  // Limits 4e-13 and 4e-12 m2, fines 15 and 65 %: from memory (Neznal et al. 2004).
  test.each([
    [{ permeabilityM2: 3.9e-13 }, 'low'],
    [{ permeabilityM2: 4e-13 }, 'medium'],
    [{ permeabilityM2: 4e-12 }, 'medium'],
    [{ permeabilityM2: 4.1e-12 }, 'high'],
    [{ fineFractionPct: 66 }, 'low'],
    [{ fineFractionPct: 65 }, 'medium'],
    [{ fineFractionPct: 15 }, 'medium'],
    [{ fineFractionPct: 14 }, 'high'],
  ])('%j is %s', (ground, cls) => {
    expect(czech(aroundQuartile(25, { permeabilityClass: null, ...ground })).permeabilityClass).toBe(cls);
  });

  test('a permeability on its border is said to be on it', () => {
    expect(czech(aroundQuartile(25, { permeabilityM2: 4e-12 })).permeabilityBasis).toMatch(
      /exactly on the border/,
    );
  });
});

// Permeability missing at a point is judged by the other points (from memory); by how many of them is our own rule.
describe('points without a permeability class', () => {
  const some = (known: number) =>
    aroundQuartile(29.25).map((p, i) => ({
      ...p,
      permeabilityClass: i < known ? ('low' as const) : null,
    }));

  test('few of them are judged by the others, with what it would be if they were permeable', () => {
    const result = czech(some(10));
    expect(result).toMatchObject({ classId: 'low', range: null });
    // 5 of 15 high: rank 11.5 of the classes falls between low and high, rounded up; 29.25 is over its 10, under 30.
    expect(alternative(result, /5 points without a permeability class/)).toMatchObject({ classId: 'medium' });
  });

  test('where most carry none, no class comes of the few', () => {
    for (const known of [1, 7]) {
      const result = czech(some(known));
      expect(result.classId).toBeNull();
      expect(result.range).toEqual(['low', 'medium']);
      expect(result.decidedBy).toMatch(/too many to judge them by the others/);
    }
    expect(czech(some(8)).classId).toBe('low');
  });

  test('nothing is open where every permeability gives the same class', () => {
    const points = aroundQuartile(5).map((p, i) => (i < 1 ? p : { ...p, permeabilityClass: null }));
    expect(czech(points).classId).toBe('low');
  });
});
