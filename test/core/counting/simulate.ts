/** Simulated counting of samples, for recovery tests. The numbers of the counter are invented. */

import type { RandomStream } from '../../../core/classify/random.ts';
import type { PlannedInterval, PreviousSample } from '../../../core/counting/counting-plan.ts';
import type { Detector } from '../../../core/counting/detector.ts';
import { countsOf, windowById } from '../../../core/counting/detector.ts';
import type { Fill } from '../../../core/counting/history.ts';
import { decaysPerBq } from '../../../core/counting/history.ts';
import { RADON_CHAIN, THORON_CHAIN } from '../../../core/counting/nuclides.ts';
import type { CountedInterval, CountedSample } from '../../../core/counting/reduce-counts.ts';
import { logGamma } from '../../../core/geostat/bessel.ts';

/** Poisson deviate: by multiplication under a mean of 12, else Hoermann's transformed rejection (PTRS, 1993). */
export function poisson(mean: number, random: RandomStream): number {
  if (mean <= 0) return 0;
  if (mean < 12) {
    const stop = Math.exp(-mean);
    let product = random.uniform();
    let n = 0;
    while (product > stop) {
      product *= random.uniform();
      n++;
    }
    return n;
  }
  const b = 0.931 + 2.53 * Math.sqrt(mean);
  const a = -0.059 + 0.02483 * b;
  const inverseAlpha = 1.1239 + 1.1328 / (b - 3.4);
  const vr = 0.9277 - 3.6224 / (b - 2);
  for (;;) {
    const u = random.uniform() - 0.5;
    const v = random.uniform();
    const us = 0.5 - Math.abs(u);
    const k = Math.floor(((2 * a) / us + b) * u + mean + 0.43);
    if (us >= 0.07 && v <= vr) return k;
    if (k < 0 || (us < 0.013 && v > us)) continue;
    if (Math.log((v * inverseAlpha) / (a / (us * us) + b)) <= k * Math.log(mean) - mean - logGamma(k + 1))
      return k;
  }
}

export interface Truth {
  readonly radonKBqPerM3: number;
  readonly thoronKBqPerM3: number;
  readonly backgroundPerS: number;
  /** What was truly there before, and the share of gas it truly left. */
  readonly previous: readonly { readonly radonKBqPerM3: number; readonly gasLeft: number }[];
}

/** Expected counts by the simulator's own sum over sources: straight from the decays, not through the fit's model. */
export function simulateCounts(
  detector: Detector,
  fill: Fill,
  intervals: readonly PlannedInterval[],
  previous: readonly PreviousSample[],
  truth: Truth,
  random: RandomStream,
): CountedInterval[] {
  const scale = 1000 * detector.chamberVolumeM3;
  const radon = decaysPerBq(RADON_CHAIN, fill, intervals);
  const thoron = truth.thoronKBqPerM3 > 0 ? decaysPerBq(THORON_CHAIN, fill, intervals) : null;
  const left = previous.map((p, i) =>
    decaysPerBq(RADON_CHAIN, p.fill, intervals, {
      ...p.emptying,
      gasLeft: truth.previous[i]?.gasLeft ?? p.emptying.gasLeft,
    }),
  );
  return intervals.map((interval, i) => {
    const window = windowById(detector, interval.windowId);
    let mean = truth.radonKBqPerM3 * scale * countsOf(window, RADON_CHAIN, radon[i] ?? []);
    if (thoron !== null)
      mean += truth.thoronKBqPerM3 * scale * countsOf(window, THORON_CHAIN, thoron[i] ?? []);
    left.forEach((decays, p) => {
      const before = truth.previous[p]?.radonKBqPerM3 ?? 0;
      mean += before * scale * countsOf(window, RADON_CHAIN, decays[i] ?? []);
    });
    mean += truth.backgroundPerS * (interval.endS - interval.startS);
    return { ...interval, counts: poisson(mean, random) };
  });
}

export function logUniform(low: number, high: number, random: RandomStream): number {
  return low * (high / low) ** random.uniform();
}

export interface Campaign {
  readonly detector: Detector;
  readonly backgroundPerS: number;
  readonly backgroundS: number;
  readonly intervals: readonly PlannedInterval[];
}

/** One sample of a working day: a hotter or colder one before it, flushed for two minutes; all errors drawn anew. */
export function simulateSample(
  campaign: Campaign,
  radonKBqPerM3: number,
  random: RandomStream,
): CountedSample {
  const { detector, backgroundPerS, backgroundS, intervals } = campaign;
  const fill: Fill = { startS: 0, endS: 30, way: { kind: 'steady' }, transitS: 20 };
  const trueBefore = logUniform(0.5, 500, random);
  const trueGasLeft = Math.max(0, 0.02 + 0.004 * random.normal());
  const uBefore = 0.03 * trueBefore;
  const previous: PreviousSample = {
    fill: { startS: -2700, endS: -2670, way: { kind: 'steady' }, transitS: 20 },
    emptying: { startS: -150, endS: -30, gasLeft: 0.02, progenyLeft: 1 },
    radonKBqPerM3: Math.max(0.01, trueBefore + uBefore * random.normal()),
    uKBqPerM3: uBefore,
    gasLeftU: 0.004,
  };
  const counted = simulateCounts(
    detector,
    fill,
    intervals,
    [previous],
    {
      radonKBqPerM3,
      thoronKBqPerM3: 0,
      backgroundPerS,
      previous: [{ radonKBqPerM3: trueBefore, gasLeft: trueGasLeft }],
    },
    random,
  );
  return {
    detector,
    fill,
    intervals: counted,
    background: [
      {
        windowId: intervals[0]?.windowId ?? '',
        counts: poisson(backgroundPerS * backgroundS, random),
        liveS: backgroundS,
      },
    ],
    previous: [previous],
    thoron: 'none',
  };
}
