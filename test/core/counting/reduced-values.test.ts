import { describe, expect, test } from 'vitest';
import { spectrometricWindows, totalAlphaWindow } from '../../../core/counting/detector.ts';
import type { IntervalValue, ValueSeries } from '../../../core/counting/reduced-values.ts';
import { averageValues, USUAL_INGROWTH_S } from '../../../core/counting/reduced-values.ts';

const series = (values: readonly IntervalValue[], change: Partial<ValueSeries> = {}): ValueSeries => ({
  fill: { startS: 0, endS: 0, way: { kind: 'at-once' }, transitS: 0 },
  values,
  ingrowthS: 900,
  window: null,
  calibrationURel: 0.05,
  decisionThresholdKBqPerM3: null,
  detectionLimitKBqPerM3: null,
  ...change,
});
const value = (startMin: number, endMin: number, radon: number, u: number | null = null): IntervalValue => ({
  startS: 60 * startMin,
  endS: 60 * endMin,
  radonKBqPerM3: radon,
  uKBqPerM3: u,
});

describe('mean of an instrument values', () => {
  test('weights are live times, not uncertainties: 10 min at 40 and 5 min at 31 give 37 (hand calculation)', () => {
    const found = averageValues(series([value(15, 25, 40, 3), value(25, 30, 31, 2)]));
    // decay over half an hour adds 0.3 %
    expect(Math.abs(found.estimateKBqPerM3 / 37 - 1)).toBeLessThan(0.004);
    // propagated: sqrt((2/3 x 3)2 + (1/3 x 2)2) = 2.108, less than the scatter
    expect(found.uBasis).toBe('scatter');
    // n / (n - 1) sum (w (x - mean))2 = 2 ((2/3 x 3)2 + (1/3 x 6)2) = 16
    expect(found.randomUKBqPerM3).toBeCloseTo(4, 1);
  });

  test('equal live times: u is the standard error of the mean (GUM 4.2.3)', () => {
    const found = averageValues(series([10, 12, 11, 13].map((v, i) => value(15 + i, 16 + i, v))));
    // s = 1.2910, u = s / 2
    expect(found.randomUKBqPerM3).toBeCloseTo(0.6455, 2);
    expect(found.uBasis).toBe('scatter');
  });

  test('stated uncertainties that are larger than the scatter stand', () => {
    const found = averageValues(series([value(15, 20, 30, 4), value(20, 25, 30.2, 4)]));
    expect(found.uBasis).toBe('stated');
    expect(found.randomUKBqPerM3).toBeCloseTo(4 / Math.SQRT2, 2);
  });

  test('intervals before 15 min are left out, and it says so', () => {
    const found = averageValues(
      series([value(0, 5, 12), value(5, 10, 24), value(10, 15, 28), value(15, 20, 30), value(20, 25, 30)]),
    );
    expect(found.leftOutIntervals).toBe(3);
    expect(found.estimateKBqPerM3).toBeGreaterThan(29.9);
    expect(found.notes.join(' ')).toMatch(/3 intervals left out/);
    expect(found.uBasis).toBe('assumed');
    expect(() => averageValues(series([value(0, 5, 12)]))).toThrow(/ingrowth is not over/);
  });

  test('a value 24 h after the draw is brought back: 0.83418 left (hand calculation)', () => {
    const found = averageValues(series([value(24 * 60 - 5, 24 * 60 + 5, 83.418, 1)]));
    expect(found.estimateKBqPerM3).toBeCloseTo(100, 2);
  });

  test('ingrowth that still lacks is stated: Po-218 0.9797 from 15 to 20 min, alphas 2.965 of 3 after 3 h', () => {
    const po = spectrometricWindows(0.4)[0] ?? null;
    const found = averageValues(series([value(15, 20, 30, 1)], { window: po }));
    expect(found.meanIngrowth).toBeCloseTo(0.9797, 2);
    expect(found.notes.join(' ')).toMatch(/not corrected/);
    const alpha = averageValues(
      series([value(180, 180.1, 30, 1)], {
        window: totalAlphaWindow(0.6),
        ingrowthS: USUAL_INGROWTH_S.alpha,
      }),
    );
    expect(Math.abs(alpha.meanIngrowth / (2.965 / 3) - 1)).toBeLessThan(0.006);
  });

  test('under the stated decision threshold it is at most the detection limit', () => {
    const found = averageValues(
      series([value(15, 20, 0.2, 0.2)], { decisionThresholdKBqPerM3: 0.3, detectionLimitKBqPerM3: 0.7 }),
    );
    expect(found.measured).toEqual({ kind: 'atMost', boundKBqPerM3: 0.7 });
  });
});
