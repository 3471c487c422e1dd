import { describe, expect, test } from 'vitest';
import { chiSquareSurvival } from '../../../core/counting/chi-square.ts';
import { bestEstimate, characteristicLimits } from '../../../core/counting/iso-11929.ts';

/** u of a net count rate that is truly `ratePerS`, with a background known from its own count (Poisson). */
function netRateU(ratePerS: number, backgroundPerS: number, grossS: number, backgroundS: number): number {
  return Math.sqrt((ratePerS + backgroundPerS) / grossS + backgroundPerS / backgroundS);
}

describe('characteristic limits after ISO 11929', () => {
  test('r0 0.1 /s, 600 s background, 300 s gross, k 1.645: y* 0.03678, y# 0.08259 /s (hand calculation)', () => {
    const found = characteristicLimits((y) => netRateU(y, 0.1, 300, 600), 1.645, 1.645);
    expect(found.decisionThreshold).toBeCloseTo(0.03678, 5);
    expect(found.detectionLimit).toBeCloseTo(0.08259, 5);
    // closed form with an exact calibration and equal k: y# = 2 y* + k2 / t
    expect(found.detectionLimit).toBeCloseTo(2 * found.decisionThreshold + 1.645 ** 2 / 300, 9);
  });

  test('Currie 1968 (Anal. Chem. 40): 100 background counts in equal times, LC 23.3 and LD 49.2 counts', () => {
    const found = characteristicLimits((y) => netRateU(y, 100, 1, 1), 1.645, 1.645);
    expect(Math.abs(found.decisionThreshold / 23.3 - 1)).toBeLessThan(0.005);
    expect(Math.abs((found.detectionLimit ?? 0) / 49.2 - 1)).toBeLessThan(0.005);
  });

  test('with an uncertain calibration: y# = (2 y* + k2/t) / (1 - k2 u2)', () => {
    // ISO 11929 closed form for u2(y) = y/t + u2(0) + (u_rel y)2 and equal k
    const u = (y: number) => Math.hypot(netRateU(y, 0.1, 300, 600), 0.1 * y);
    const found = characteristicLimits(u, 1.645, 1.645);
    const expected = (2 * found.decisionThreshold + 1.645 ** 2 / 300) / (1 - (1.645 * 0.1) ** 2);
    expect(found.detectionLimit).toBeCloseTo(expected, 8);
  });

  test('a calibration of 70 % has no detection limit', () => {
    const found = characteristicLimits((y) => Math.hypot(netRateU(y, 0.1, 300, 600), 0.7 * y), 1.645, 1.645);
    expect(found.detectionLimit).toBeNull();
  });
});

// mpmath 1.3.0, 60 digits, normal cut at 0: y in units of u, mean, standard deviation, 2.5 and 97.5 %
const FAR = [
  [-5.5, 0.171410313897, 0.166918476672, 0.00446240482246, 0.617679452326],
  [-8.0, 0.121368112236, 0.119686605112, 0.00311684187285, 0.442339625433],
  [-20.0, 0.0497530685279, 0.0496312564323, 0.00126270945302, 0.183151793416],
  [-24.0, 0.0415232307357, 0.0414521851218, 0.00105306366084, 0.152952134358],
  [-26.0, 0.0383485794955, 0.0382925523887, 0.000972309588188, 0.141288255687],
  [-40.0, 0.0249688472073, 0.0249533239988, 0.000632545353094, 0.0920586523106],
] as const;

describe('best estimate of what cannot be negative', () => {
  // scipy 1.17.1, stats.truncnorm cut at 0
  test.each([
    [1, 1, 1.2875999709391783, 0.7935277473262076, 0.0834485690472685, 3.0328543789476607],
    [-0.5, 1, 0.6410777703680648, 0.5181509501640216, 0.022031784505457397, 1.922199543306644],
    [0.2, 0.5, 0.4809413518984814, 0.3389449607440083, 0.02205811036764574, 1.267438325132178],
    [5, 1, 5.000001486719941, 0.9999962831921352, 3.0400407974539405, 6.959964107155874],
  ])('y %f, u %f', (y, u, mean, sd, low, high) => {
    const found = bestEstimate(y, u, 0.95);
    expect(found.estimate).toBeCloseTo(mean, 10);
    expect(found.u).toBeCloseTo(sd, 9);
    expect(found.low).toBeCloseTo(low, 9);
    expect(found.high).toBeCloseTo(high, 9);
  });

  test.each(FAR)('far under zero: y %f', (y, mean, sd, low, high) => {
    const found = bestEstimate(y, 1, 0.95);
    expect(Math.abs(found.estimate / mean - 1)).toBeLessThan(0.003);
    expect(Math.abs(found.u / sd - 1)).toBeLessThan(0.005);
    expect(Math.abs(found.low / low - 1)).toBeLessThan(0.005);
    expect(Math.abs(found.high / high - 1)).toBeLessThan(0.005);
  });
});

// scipy 1.17.1, stats.chi2.sf
test.each([
  [3.84, 1, 0.05004352124870519],
  [10, 5, 0.07523524614651217],
  [25, 12, 0.014822874597441575],
  [1.2, 7, 0.9909268978050813],
])('chance of a chi-square over %f with %i degrees of freedom', (x, dof, expected) => {
  expect(chiSquareSurvival(x, dof)).toBeCloseTo(expected, 12);
});
