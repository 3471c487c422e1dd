import { describe, expect, test } from 'vitest';
import type { RandomStream } from '../../../core/classify/random.ts';
import { randomStream } from '../../../core/classify/random.ts';
import { planCounting } from '../../../core/counting/counting-plan.ts';
import type { Detector } from '../../../core/counting/detector.ts';
import { spectrometricWindows, totalAlphaWindow } from '../../../core/counting/detector.ts';
import { covarianceOf, fitPoisson, misfitOf, profileBound } from '../../../core/counting/poisson-fit.ts';
import type { CountedSample } from '../../../core/counting/reduce-counts.ts';
import { reduceCounts } from '../../../core/counting/reduce-counts.ts';
import { logUniform, poisson, simulateCounts } from './simulate.ts';

const AT_ONCE = { startS: 0, endS: 0, way: { kind: 'at-once' } as const, transitS: 0 };

/** A counter that sees radon itself only: its response is flat but for the decay of radon. */
const RADON_ONLY: Detector = {
  id: 'flat',
  chamberVolumeM3: 1e-3,
  windows: [{ id: 'rn', countsPerAlpha: { 'Rn-222': 0.2 } }], // 0.2 counts/s for each kBq/m3
  calibrationURel: 0,
};

describe('against the net count rate', () => {
  const sample = (startS: number): CountedSample => ({
    detector: RADON_ONLY,
    fill: AT_ONCE,
    intervals: [{ windowId: 'rn', startS, endS: startS + 300, counts: 1850 }],
    background: [{ windowId: 'rn', counts: 36, liveS: 600 }],
    previous: [],
    thoron: 'none',
  });

  test('1850 in 300 s, 36 in 600 s, 0.2 /s for each kBq/m3: 30.533 kBq/m3, u 0.719 (hand calculation)', () => {
    const found = reduceCounts(sample(0));
    // the hand calculation has no decay during the count, 0.03 %
    expect(Math.abs(found.estimateKBqPerM3 / 30.533 - 1)).toBeLessThan(5e-4);
    expect(Math.abs(found.randomUKBqPerM3 / 0.719 - 1)).toBeLessThan(1e-3);
    expect(found.measured.kind).toBe('value');
  });

  test('the same 2.5 h after the draw: 31.115 kBq/m3', () => {
    expect(Math.abs(reduceCounts(sample(9000)).estimateKBqPerM3 / 31.115 - 1)).toBeLessThan(5e-4);
  });

  test('limits agree with ISO 11929 for a rate: r0 0.1 /s, 300 s and 600 s', () => {
    const found = reduceCounts({
      ...sample(0),
      background: [{ windowId: 'rn', counts: 60, liveS: 600 }],
    });
    expect(Math.abs((found.decisionThresholdKBqPerM3 ?? 0) / (0.03678 / 0.2) - 1)).toBeLessThan(1e-3);
    expect(Math.abs((found.detectionLimitKBqPerM3 ?? 0) / (0.08259 / 0.2) - 1)).toBeLessThan(1e-3);
  });
});

test('five intervals and a background: estimate, u, profile interval and misfit as by scipy 1.17.1', () => {
  const response = [20, 35, 41, 44, 46];
  const design = Float64Array.from([...response.flatMap((x) => [x, 300]), 0, 900]);
  const model = { rows: 6, columns: 2, design, offset: new Float64Array(6), precision: new Float64Array(2) };
  const counts = [38, 52, 70, 61, 77, 30];
  const fit = fitPoisson(model, counts, [1, 0.03]);
  expect(fit.theta[0]).toBeCloseTo(1.33261568, 7);
  expect(fit.theta[1]).toBeCloseTo(0.03338895, 7);
  const covariance = covarianceOf(model, fit.expected, 'observed', counts);
  const u = Math.sqrt(covariance[0] ?? 0);
  expect(u).toBeCloseTo(0.10432279, 6);
  expect(Math.sqrt(covariance[3] ?? 0)).toBeCloseTo(0.00602056, 6);
  const k = 1.959963984540054;
  expect(profileBound(model, counts, fit, 0, k, -1, u, 0, [0, 0.03])).toBeCloseTo(1.1308976799, 5);
  expect(profileBound(model, counts, fit, 0, k, 1, u, 0, [0, 0.03])).toBeCloseTo(1.5408973962, 5);
  const misfit = misfitOf(model, counts, fit);
  expect(misfit.pearson).toBeCloseTo(2.179139174, 7);
  expect(misfit.deviance).toBeCloseTo(2.199818503, 7);
  expect(misfit.dof).toBe(4);
});

const CELL: Detector = {
  id: 'cell',
  chamberVolumeM3: 0.25e-3,
  windows: [totalAlphaWindow(0.65)],
  calibrationURel: 0.05,
};
const cellSample = (counts: readonly number[], background = 36): CountedSample => ({
  detector: CELL,
  fill: AT_ONCE,
  intervals: counts.map((n, i) => ({
    windowId: 'alpha',
    startS: 600 + 300 * i,
    endS: 900 + 300 * i,
    counts: n,
  })),
  background: [{ windowId: 'alpha', counts: background, liveS: 1800 }],
  previous: [],
  thoron: 'none',
});

describe('near zero', () => {
  test('counts like the background are not detected, with the detection limit as the bound', () => {
    const found = reduceCounts(cellSample([6, 7, 5, 6]));
    expect(found.measured).toEqual({ kind: 'atMost', boundKBqPerM3: found.detectionLimitKBqPerM3 });
    expect(found.best.estimate).toBeGreaterThan(0);
    expect(found.interval95KBqPerM3[0]).toBe(0);
    expect(found.interval95KBqPerM3[1]).toBeGreaterThan(0);
    expect(found.notes.join(' ')).toMatch(/Not detected/);
  });

  test('no counts at all, in sample and background: an interval over 0, and an uncertainty that is not 0', () => {
    const found = reduceCounts(cellSample([0, 0, 0, 0], 0));
    expect(found.estimateKBqPerM3).toBeLessThan(1e-6);
    expect(found.uBasis).toBe('profile');
    // Poisson with 0 counts: log-likelihood falls by 1.92 at an expectation of 1.92 (Cowan 1998, section 9)
    const perKBqPerM3 = planCounting(cellSample([0, 0, 0, 0], 0)).model.design.filter((_, i) => i % 2 === 0);
    const expected = 1.9207 / perKBqPerM3.slice(0, 4).reduce((a, b) => a + b, 0);
    expect(found.interval95KBqPerM3[1]).toBeCloseTo(expected, 4);
    expect(found.randomUKBqPerM3).toBeGreaterThan(0);
    expect(found.measured.kind).toBe('atMost');
  });

  test('fewer counts than the background explains give a negative estimate and a positive best one', () => {
    const found = reduceCounts(cellSample([1, 0, 1, 2], 90));
    expect(found.estimateKBqPerM3).toBeLessThan(0);
    expect(found.best.estimate).toBeGreaterThan(0);
    expect(found.interval95KBqPerM3[1]).toBeGreaterThan(0);
  });
});

describe('fit and carry-over', () => {
  test('counts that do not grow in as radon does are told by the chi-square', () => {
    const found = reduceCounts(cellSample([900, 600, 400, 250]));
    expect(found.fit?.pPearson).toBeLessThan(1e-6);
    expect(found.notes.join(' ')).toMatch(/do not follow ingrowth/);
  });

  test('2 % of 150 kBq/m3 left in the system is 3 kBq/m3: found and taken off', () => {
    const random = randomStream(7, 0);
    const previous = {
      fill: { startS: -3000, endS: -3000, way: { kind: 'at-once' } as const, transitS: 0 },
      emptying: { startS: -60, endS: 0, gasLeft: 0.02, progenyLeft: 1 },
      radonKBqPerM3: 150,
      uKBqPerM3: 3,
      gasLeftU: 0,
    };
    const truth = {
      radonKBqPerM3: 20,
      thoronKBqPerM3: 0,
      backgroundPerS: 0.02,
      previous: [{ radonKBqPerM3: 150, gasLeft: 0.02 }],
    };
    const base = cellSample([0, 0, 0, 0]);
    const intervals = simulateCounts(CELL, AT_ONCE, base.intervals, [previous], truth, random);
    const withIt = reduceCounts({ ...base, intervals, previous: [previous] });
    const without = reduceCounts({ ...base, intervals });
    expect(Math.abs(withIt.estimateKBqPerM3 - 20)).toBeLessThan(3 * withIt.randomUKBqPerM3);
    expect(without.estimateKBqPerM3 - withIt.estimateKBqPerM3).toBeGreaterThan(3);
  });

  test('the calibration stays apart from the random uncertainty', () => {
    const exact = reduceCounts({
      ...cellSample([150, 160, 170, 165]),
      detector: { ...CELL, calibrationURel: 0 },
    });
    const found = reduceCounts(cellSample([150, 160, 170, 165]));
    expect(found.randomUKBqPerM3).toBe(exact.randomUKBqPerM3);
    expect(found.commonURel).toBe(0.05);
    expect(found.best.u).toBeCloseTo(Math.hypot(found.randomUKBqPerM3, 0.05 * found.estimateKBqPerM3), 6);
  });
});

describe('radon and thoron from two windows', () => {
  const detector: Detector = {
    id: 'spectrum',
    chamberVolumeM3: 0.7e-3,
    windows: spectrometricWindows(0.4),
    calibrationURel: 0.04,
  };
  const fill = {
    startS: 0,
    endS: 300,
    way: { kind: 'flow-through', chamberVolumes: 8 } as const,
    transitS: 5,
  };
  const intervals = [0, 1, 2, 3].flatMap((i) =>
    ['Po-218', 'thoron'].map((windowId) => ({ windowId, startS: 300 + 300 * i, endS: 600 + 300 * i })),
  );
  const background = ['Po-218', 'thoron'].map((windowId) => ({ windowId, counts: 9, liveS: 1800 }));

  test('both are recovered, 2000 samples: mean pull within 0.1, 95 % intervals cover 93 to 97 %', {
    timeout: 120_000,
  }, () => {
    let pull = 0;
    let thoronPull = 0;
    let covered = 0;
    const n = 2000;
    for (let i = 0; i < n; i++) {
      const random = randomStream(11, i);
      const truth = { radonKBqPerM3: 25, thoronKBqPerM3: 60, backgroundPerS: 0.005, previous: [] };
      const counted = simulateCounts(detector, fill, intervals, [], truth, random);
      const found = reduceCounts({
        detector,
        fill,
        intervals: counted,
        background,
        previous: [],
        thoron: 'fit',
      });
      pull += (found.estimateKBqPerM3 - 25) / found.randomUKBqPerM3;
      thoronPull += ((found.thoron?.estimateKBqPerM3 ?? 0) - 60) / (found.thoron?.uKBqPerM3 ?? Number.NaN);
      const [low, high] = found.interval95KBqPerM3;
      if (low <= 25 && 25 <= high) covered++;
    }
    expect(Math.abs(pull / n)).toBeLessThan(0.1);
    expect(Math.abs(thoronPull / n)).toBeLessThan(0.1);
    expect(covered / n).toBeGreaterThan(0.93);
    expect(covered / n).toBeLessThan(0.97);
  });

  test('thoron that no interval can see apart is refused, not invented', () => {
    const late = [{ windowId: 'Po-214', startS: 7200, endS: 7500, counts: 100 }];
    expect(() =>
      reduceCounts({
        detector,
        fill,
        intervals: late,
        background: [{ windowId: 'Po-214', counts: 4, liveS: 1800 }],
        previous: [],
        thoron: 'fit',
      }),
    ).toThrow(/do not settle/);
  });

  test('radon and thoron from one count are refused: two unknowns, one number', () => {
    const alpha: Detector = { ...detector, windows: [totalAlphaWindow(0.6)] };
    expect(() =>
      reduceCounts({
        detector: alpha,
        fill,
        intervals: [{ windowId: 'alpha', startS: 300, endS: 360, counts: 500 }],
        background: [{ windowId: 'alpha', counts: 30, liveS: 1800 }],
        previous: [],
        thoron: 'fit',
      }),
    ).toThrow(/do not settle/);
  });
});

describe('refusals', () => {
  test('fractional counts, missing background, an interval before the fill', () => {
    expect(() => reduceCounts(cellSample([1.5]))).toThrow(/interval 1 .*1\.5/);
    expect(() => reduceCounts({ ...cellSample([10]), background: [] })).toThrow(/needs a background/);
    expect(() => reduceCounts({ ...cellSample([10]), fill: { ...AT_ONCE, startS: 700, endS: 710 } })).toThrow(
      /before the chamber is filled/,
    );
  });
});

test('odd days: 3000 samples of all kinds end in numbers that make sense', { timeout: 120_000 }, () => {
  const pick = <T>(items: readonly T[], random: RandomStream): T => items[random.below(items.length)] as T;
  for (let i = 0; i < 3000; i++) {
    const random = randomStream(123, i);
    const uniform = (high: number) => high * random.uniform();
    const ids = pick([['alpha'], ['Po-218', 'Po-214']], random);
    const efficiency = logUniform(0.01, 0.9, random);
    const level = pick([0, logUniform(1e-3, 1e5, random)], random);
    const startS = 30 + uniform(3600);
    const lengthS = logUniform(30, 3600, random);
    const sample: CountedSample = {
      detector: {
        id: 'odd',
        chamberVolumeM3: logUniform(2e-5, 2e-3, random),
        windows: ids.length === 1 ? [totalAlphaWindow(efficiency)] : spectrometricWindows(efficiency),
        calibrationURel: pick([0, 0.05, 0.8], random),
      },
      fill: { startS: 0, endS: 30, way: { kind: 'steady' }, transitS: uniform(60) },
      intervals: Array.from({ length: 1 + random.below(6) }, (_, k) => k).flatMap((k) =>
        ids.map((windowId) => ({
          windowId,
          startS: startS + k * lengthS,
          endS: startS + (k + 1) * lengthS,
          counts: poisson(level * (0.5 + random.uniform()), random),
        })),
      ),
      background: ids.map((windowId) => ({
        windowId,
        counts: pick([0, poisson(logUniform(0.1, 1e4, random), random)], random),
        liveS: logUniform(60, 1e5, random),
      })),
      previous: Array.from({ length: random.below(3) }, (_, k) => ({
        fill: { startS: -9000 - 3000 * k, endS: -8990 - 3000 * k, way: { kind: 'steady' }, transitS: 0 },
        emptying: {
          startS: -7000 - 3000 * k,
          endS: -6990 - 3000 * k + uniform(500),
          gasLeft: pick([0, uniform(0.2)], random),
          progenyLeft: random.uniform(),
        },
        radonKBqPerM3: logUniform(0.01, 1000, random),
        uKBqPerM3: pick([0, logUniform(0.01, 300, random)], random),
        gasLeftU: pick([0, uniform(0.1)], random),
      })),
      thoron: 'none',
    };
    const found = reduceCounts(sample);
    const [low, high] = found.interval95KBqPerM3;
    const inside = Math.max(0, found.estimateKBqPerM3);
    expect(Number.isFinite(found.estimateKBqPerM3)).toBe(true);
    expect(found.randomUKBqPerM3).toBeGreaterThan(0);
    expect(low).toBeLessThanOrEqual(inside * (1 + 1e-9) + 1e-12);
    expect(high).toBeGreaterThanOrEqual(inside * (1 - 1e-9));
    expect(high).toBeGreaterThan(low);
    expect(found.best.estimate).toBeGreaterThan(0);
    expect(found.best.high).toBeGreaterThan(found.best.low);
  }
});
