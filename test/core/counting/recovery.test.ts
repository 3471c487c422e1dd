import { expect, test } from 'vitest';
import { randomStream } from '../../../core/classify/random.ts';
import { totalAlphaWindow } from '../../../core/counting/detector.ts';
import { reduceCounts } from '../../../core/counting/reduce-counts.ts';
import type { Campaign } from './simulate.ts';
import { logUniform, simulateSample } from './simulate.ts';

/** Six bands of half a decade, 0.5 to 500 kBq/m3. */
const BANDS = [0, 1, 2, 3, 4, 5].map((i) => [0.5 * 10 ** (i / 2), 0.5 * 10 ** ((i + 1) / 2)] as const);
const SAMPLES = 10_000;

/** Invented: a scintillation cell of a quarter litre, four intervals of five minutes from ten minutes on. */
const CELL: Campaign = {
  detector: {
    id: 'cell',
    chamberVolumeM3: 0.25e-3,
    windows: [totalAlphaWindow(0.65)],
    calibrationURel: 0.05,
  },
  backgroundPerS: 0.02,
  backgroundS: 1800,
  intervals: [600, 900, 1200, 1500].map((startS) => ({ windowId: 'alpha', startS, endS: startS + 300 })),
};

function recover(campaign: Campaign, low: number, high: number, seed: number) {
  let pull = 0;
  let square = 0;
  let covered = 0;
  let wald = 0;
  let goodFits = 0;
  for (let i = 0; i < SAMPLES; i++) {
    const random = randomStream(seed, i);
    const truth = logUniform(low, high, random);
    const result = reduceCounts(simulateSample(campaign, truth, random));
    const z = (result.estimateKBqPerM3 - truth) / result.randomUKBqPerM3;
    pull += z;
    square += z * z;
    const [from, to] = result.interval95KBqPerM3;
    if (from <= truth && truth <= to) covered++;
    if (Math.abs(z) <= 1.959964) wald++;
    if ((result.fit?.pPearson ?? 0) > 0.05) goodFits++;
  }
  return {
    meanPull: pull / SAMPLES,
    sdPull: Math.sqrt(square / SAMPLES),
    coverage: covered / SAMPLES,
    wald: wald / SAMPLES,
    goodFits: goodFits / SAMPLES,
  };
}

test.each(BANDS)('radon from %f to %f kBq/m3 is recovered', { timeout: 120_000 }, (low, high) => {
  const found = recover(CELL, low, high, 1);
  console.log(low, high, found);
  expect(Math.abs(found.meanPull)).toBeLessThan(0.04);
  expect(found.sdPull).toBeGreaterThan(0.95);
  expect(found.sdPull).toBeLessThan(1.05);
  expect(found.coverage).toBeGreaterThan(0.93);
  expect(found.coverage).toBeLessThan(0.97);
  expect(found.goodFits).toBeGreaterThan(0.93);
  expect(found.goodFits).toBeLessThan(0.97);
});
