import { describe, expect, test } from 'vitest';
import type { ClassifyOptions } from '../../../core/classify/classify.ts';
import type { ProbeValue } from '../../../core/survey/reduce-probes.ts';
import { czech } from './czech.ts';
import { aroundQuartile, values } from './probe-values.ts';

describe('doubts', () => {
  const full: ClassifyOptions = { draws: 4000, seed: 5 };
  const shares = (result: ReturnType<typeof czech>, kind: string) =>
    Object.fromEntries(
      (result.doubts.find((d) => d.kind === kind)?.probabilities ?? []).map((p) => [
        p.classId,
        p.probability,
      ]),
    );

  test('both are named, add up to 1, and the same seed gives the same', () => {
    const result = czech(aroundQuartile(60), undefined, full);
    expect(result.doubts.map((d) => d.kind)).toEqual(['measurement', 'sampling']);
    for (const d of result.doubts) {
      expect(d.probabilities.reduce((sum, p) => sum + p.probability, 0)).toBeCloseTo(1, 12);
      expect(d.method).toMatch(/4000 seeded draws/);
    }
    expect(czech(aroundQuartile(60), undefined, full).doubts).toEqual(result.doubts);
    expect(czech(aroundQuartile(60), undefined, { ...full, seed: 6 }).doubts).not.toEqual(result.doubts);
  });

  // With one common relative error of 10 % only, the quartile is 60 (1 + 0.1 z): over 70 with probability
  // 1 - Phi(1.6667) = 0.0478 (normal table).
  test('a common error shifts all points together and does not average out', () => {
    const points = aroundQuartile(60).map((p) => ({
      ...p,
      measured: { ...p.measured, randomUKBqPerM3: 0, commonURel: 0.1 } as ProbeValue['measured'],
    }));
    const high = shares(czech(points, undefined, full), 'measurement')['high'] ?? 0;
    expect(Math.abs(high - 0.0478)).toBeLessThan(4 * Math.sqrt((0.0478 * 0.9522) / 4000));
  });

  // By hand: 15 points, 11 low and 4 high. A bootstrap sample's third quartile (n-1 rule, rank
  // 11.5) reaches the limit if at least 5 of its 15 values are high, or exactly 4 with the mean of ranks 11 and 12
  // over it: (10 + 100) / 2 = 55 < 70, so no. P(binomial(15, 4/15) >= 5) = 0.371.
  test('sampling doubt agrees with the binomial law of the bootstrap', () => {
    const points = values([...Array(11).fill(10), ...Array(4).fill(100)]);
    let expected = 1;
    for (let k = 0; k < 5; k++) expected -= choose(15, k) * (4 / 15) ** k * (11 / 15) ** (15 - k);
    const high = shares(czech(points, undefined, full), 'sampling')['high'] ?? 0;
    expect(Math.abs(high - expected)).toBeLessThan(4 * Math.sqrt((expected * (1 - expected)) / 4000));
  });

  test('no uncertainty, no doubt of measurement', () => {
    const sure = aroundQuartile(60).map((p) => ({
      ...p,
      measured: { ...p.measured, randomUKBqPerM3: 0 } as ProbeValue['measured'],
    }));
    expect(shares(czech(sure, undefined, full), 'measurement')).toEqual({ low: 0, medium: 1, high: 0 });
  });
});

function choose(n: number, k: number): number {
  let c = 1;
  for (let i = 0; i < k; i++) c = (c * (n - i)) / (i + 1);
  return c;
}
