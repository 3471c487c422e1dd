import { describe, expect, test } from 'vitest';
import { askOracle } from './oracle.ts';
import { judgeMany, judgeSimulated, ratesOf } from './rates.ts';
import { drawCampaign, simulateCampaign } from './simulate.ts';
import { drawOther, type OtherCampaign, simulateOther } from './simulate-other.ts';

/**
 * A short run of the study (`study.ts`, docs/flags.md): seeds of its own, limits a little under the study's rates so
 * that chance does not fail it.
 */
const SEEDS = { from: 500_000, count: 40 };
/** The second simulator is asked less: each of its campaigns costs as much. */
const OTHER_SEEDS = { from: 500_000, count: 12 };

test('a campaign is the same for the same seed', () => {
  const once = simulateCampaign(drawCampaign(3));
  expect(simulateCampaign(drawCampaign(3))).toEqual(once);
  expect(simulateCampaign(drawCampaign(4))).not.toEqual(once);
});

test('the simulated ground has the scatter and the mixing asked for', () => {
  const logs: number[] = [];
  for (let seed = 1; seed <= 60; seed++) {
    const c = drawCampaign(seed, { gsd: 1.5, medianKBqPerM3: 30, trendRatio: 1, breathingGsd: 1, rangeM: 6 });
    for (const s of simulateCampaign(c).samples) {
      if (s.sample.kind !== 'repeat') logs.push(Math.log(s.groundKBqPerM3));
      if (s.isWet || s.sample.oxygenPct === null || s.leak < 0.99) continue;
      expect(s.sample.oxygenPct).toBeGreaterThan(20);
    }
  }
  const mean = logs.reduce((a, b) => a + b, 0) / logs.length;
  const sd = Math.sqrt(logs.reduce((a, b) => a + (b - mean) ** 2, 0) / logs.length);
  expect(Math.exp(mean)).toBeGreaterThan(27);
  expect(Math.exp(mean)).toBeLessThan(33.5);
  expect(Math.exp(sd)).toBeGreaterThan(1.42);
  expect(Math.exp(sd)).toBeLessThan(1.58);
});

describe('leaks', () => {
  test('of 30 % and more, gases read, ground gases even: 93 in a hundred are found', () => {
    const rates = ratesOf(
      judgeMany(SEEDS, { gases: 'both', gasGsd: 1.1, breathingGsd: 1, leak: [0.3, 1] }),
      0.3,
    );
    expect(rates.leaks).toBeGreaterThan(100);
    expect(rates.found).toBeGreaterThan(0.93);
    expect(rates.falseAlarms).toBeLessThan(0.025);
  });

  test.each(['oxygen', 'carbon dioxide'] as const)('one even gas, %s, is enough for as many', (gases) => {
    const rates = ratesOf(judgeMany(SEEDS, { gases, gasGsd: 1.1, breathingGsd: 1, leak: [0.3, 1] }), 0.3);
    expect(rates.leaks).toBeGreaterThan(100);
    expect(rates.found).toBeGreaterThan(0.93);
    expect(rates.falseAlarms).toBeLessThan(0.025);
  });

  test.each([
    [1.5, 0.8],
    [2, 0.5],
  ])('of 60 %% and more without tracer, scatter GSD %d: over %d are found', (gsd, least) => {
    const rates = ratesOf(judgeMany(SEEDS, { gases: 'none', gsd, leak: [0.6, 1] }), 0.6);
    expect(rates.leaks).toBeGreaterThan(100);
    expect(rates.found).toBeGreaterThan(least);
    expect(rates.falseAlarms).toBeLessThan(0.035);
    expect(rates.falseDiluted).toBeLessThan(0.01);
  });

  test('radon alone never makes a sample diluted by its neighbours', () => {
    const judged = judgeMany(SEEDS, { gases: 'none', suction: false, repeatRate: 0, leak: [0.3, 1] });
    const diluted = judged.filter((j) => j.finding === 'diluted');
    expect(diluted.every((j) => j.rules.includes('radon-under-exclusion-limit'))).toBe(true);
  });
});

test('clean lots raise few alarms, with trend or without', () => {
  for (const fixed of [{}, { trendRatio: 3.4, gsd: 1.3, gases: 'none' as const }]) {
    const rates = ratesOf(judgeMany(SEEDS, { breathingGsd: 1, ...fixed, leakRate: 0 }), 1);
    expect(rates.clean).toBeGreaterThan(600);
    expect(rates.falseAlarms).toBeLessThan(0.025);
  }
});

/**
 * A likelihood ratio r built from the true densities obeys E[r / (1 + r)] over clean samples = E[1 / (1 + r)] over
 * leaky ones (both are the integral of pq / (p + q)): the oracle knows what it claims to know.
 */
test.each([
  ['both gases', { gases: 'both', gasGsd: 1.3, breathingGsd: 1, leak: [0.3, 1] }],
  ['no gases', { gases: 'none', gsd: 2, breathingGsd: 1, leak: [0.6, 1] }],
] as const)('the oracle of the study is true to the simulator: %s', (_name, fixed) => {
  const sums = { clean: 0, cleanCount: 0, leaky: 0, leakyCount: 0 };
  for (let seed = 1; seed <= 40; seed++) {
    const c = drawCampaign(seed, { ...fixed, leakRate: 0.4, repeatRate: 0.1 });
    const sim = simulateCampaign(c);
    const ratios = askOracle(c, sim);
    for (const { sample, leak } of sim.samples) {
      const log = ratios.get(sample.id);
      if (log === undefined) continue;
      if (leak > 0) {
        sums.leaky += 1 / (1 + Math.exp(log));
        sums.leakyCount++;
      } else {
        sums.clean += 1 / (1 + Math.exp(-log));
        sums.cleanCount++;
      }
    }
  }
  const clean = sums.clean / sums.cleanCount;
  const leaky = sums.leaky / sums.leakyCount;
  expect(clean).toBeGreaterThan(0.02);
  expect(Math.abs(clean - leaky)).toBeLessThan(0.03);
});

describe('the second simulator', () => {
  const judge = (fixed: Partial<OtherCampaign>, least: number) =>
    ratesOf(
      Array.from({ length: OTHER_SEEDS.count }, (_, i) => OTHER_SEEDS.from + i).flatMap((seed) =>
        judgeSimulated(simulateOther(drawOther(seed, fixed)), seed),
      ),
      least,
    );

  test('gases read: nine in ten leaks of 30 % and more are found', () => {
    const rates = judge({ leak: [0.3, 1], leakRate: 0.25 }, 0.3);
    expect(rates.leaks).toBeGreaterThan(25);
    expect(rates.found).toBeGreaterThan(0.9);
    expect(rates.falseAlarms).toBeLessThan(0.035);
  });

  test('clean ground whose radon and gases go together raises few alarms', () => {
    expect(judge({ leakRate: 0, tie: 0.9 }, 1).falseAlarms).toBeLessThan(0.035);
  });
});
