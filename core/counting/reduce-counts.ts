// biome-ignore-all lint/style/noNonNullAssertion: indices run over arrays of the plan's own sizes
import { AppError } from '../errors.ts';
import { normalQuantile } from '../geostat/normal.ts';
import { chiSquareSurvival } from './chi-square.ts';
import type { CountingPlan, CountingSetup, PlannedInterval } from './counting-plan.ts';
import { planCounting } from './counting-plan.ts';
import type { CharacteristicLimits } from './iso-11929.ts';
import { bestEstimate, characteristicLimits } from './iso-11929.ts';
import type { Misfit, PoissonFit } from './poisson-fit.ts';
import { covarianceOf, expectedCounts, fitPoisson, misfitOf, profileBound } from './poisson-fit.ts';
import type { FitQuality, ReducedSample } from './reduced-sample.ts';
import { toMeasured } from './reduced-sample.ts';

export interface CountedInterval extends PlannedInterval {
  readonly counts: number;
}

export interface CountedSample extends Omit<CountingSetup, 'intervals'> {
  readonly intervals: readonly CountedInterval[];
}

/** Error probabilities of the decision threshold and the detection limit; 0.05 each is common practice. */
export interface LimitOptions {
  readonly alpha: number;
  readonly beta: number;
}

const USUAL_LIMITS: LimitOptions = { alpha: 0.05, beta: 0.05 };
const COVERAGE = 0.95;
const K95 = normalQuantile(0.5 + COVERAGE / 2);
/** Under this many of its standard uncertainties a result is close enough to 0 for its interval to be lopsided. */
const NEAR_ZERO = 3;
/** With fewer counts of its own a result's information-based uncertainty is not to be trusted. */
const FEW_COUNTS = 10;
const BAD_FIT = 0.01;

/**
 * Radon of one sample from its counts, by Poisson maximum likelihood.
 * @throws AppError BAD_INPUT for unusable intervals; SINGULAR where the counts cannot part what is asked for
 */
export function reduceCounts(sample: CountedSample, limits: LimitOptions = USUAL_LIMITS): ReducedSample {
  return reducePlanned(
    planCounting(sample),
    sample.intervals.map((i) => i.counts),
    limits,
  );
}

/** As {@link reduceCounts}, for a plan made beforehand. @param counts one for each interval of the plan */
export function reducePlanned(
  plan: CountingPlan,
  counts: readonly number[],
  limits: LimitOptions = USUAL_LIMITS,
): ReducedSample {
  const { model, setup } = plan;
  const data = dataOf(plan, counts);
  // First, since this refuses a plan that cannot part its parameters whatever was counted.
  const { decisionThreshold, detectionLimit } = findLimits(plan, limits);
  const restart = feasibleStart(plan);
  const fit = fitPoisson(model, data, firstGuess(plan, data, restart));
  const covariance = covarianceOf(model, fit.expected, 'observed', data);
  const estimate = fit.theta[0]!;
  const informationU = Math.sqrt(covariance[0]!);
  const bound = (k: number, side: -1 | 1) =>
    profileBound(model, data, fit, 0, k, side, informationU, 0, restart);
  const own = ownCounts(plan, estimate);
  const lopsided = estimate < NEAR_ZERO * informationU || own < FEW_COUNTS;
  // An estimate under 0 is not surer than that of a blank, however few counts made it.
  const least = !lopsided ? 0 : estimate < 0 ? uIfTrue(plan, 0) : bound(1, 1) - estimate;
  const randomU = Math.max(informationU, least);
  const commonURel = setup.detector.calibrationURel;
  const high = bound(K95, 1);
  const best = bestEstimate(estimate, Math.hypot(randomU, commonURel * estimate), COVERAGE);
  const quality = qualityOf(misfitOf(model, data, fit));
  return {
    path: 'counts',
    measured: toMeasured(estimate, randomU, commonURel, decisionThreshold, detectionLimit, best.high),
    estimateKBqPerM3: estimate,
    randomUKBqPerM3: randomU,
    uBasis: randomU === informationU ? 'information' : estimate < 0 ? 'blank' : 'profile',
    // A result far under 0 has no interval of its own over 0: the truncated normal still has one.
    interval95KBqPerM3:
      high > 0 ? [bound(K95, -1), high] : [0, bestEstimate(estimate, randomU, COVERAGE).high],
    intervalBasis: high > 0 ? 'profile likelihood' : 'normal',
    best,
    commonURel,
    decisionThresholdKBqPerM3: decisionThreshold,
    detectionLimitKBqPerM3: detectionLimit,
    fit: quality,
    thoron: thoronOf(plan, fit, covariance),
    notes: notesOf(quality, estimate, decisionThreshold, detectionLimit),
  };
}

/** Counts of the intervals, then of the backgrounds, in the order of the model's rows. */
export function dataOf(plan: CountingPlan, counts: readonly number[]): Float64Array {
  const { intervals, background } = plan.setup;
  if (counts.length !== intervals.length)
    throw new AppError('BAD_INPUT', `${counts.length} counts for ${intervals.length} intervals`, {
      field: 'counts',
    });
  counts.forEach((n, i) => {
    if (!(Number.isInteger(n) && n >= 0))
      throw new AppError('BAD_INPUT', `Counts of interval ${i + 1} must be a whole number from 0, not ${n}`, {
        field: 'counts',
        index: i,
      });
  });
  const own = plan.backgroundWindowIds.map((id) => background.find((b) => b.windowId === id)!.counts);
  return Float64Array.from([...counts, ...own]);
}

/** Parameters with radon at 0 and every expectation over 0. */
function feasibleStart(plan: CountingPlan): Float64Array {
  const start = new Float64Array(plan.model.columns);
  plan.backgroundWindowIds.forEach((_, w) => {
    start[plan.firstBackgroundColumn + w] = backgroundRate(plan, w);
  });
  return start;
}

/** Best rate of a window's background; a background without counts stands for at most one. */
function backgroundRate(plan: CountingPlan, w: number): number {
  const found = plan.setup.background.find((b) => b.windowId === plan.backgroundWindowIds[w])!;
  return Math.max(found.counts, 1) / found.liveS;
}

function firstGuess(plan: CountingPlan, data: Float64Array, restart: Float64Array): Float64Array {
  const { model } = plan;
  const at0 = expectedCounts(model, restart);
  let excess = 0;
  let response = 0;
  for (let r = 0; r < plan.setup.intervals.length; r++) {
    excess += data[r]! - at0[r]!;
    response += model.design[r * model.columns]!;
  }
  if (!(response > 0))
    throw new AppError('BAD_INPUT', 'No interval counts anything of radon: check its windows and times', {
      field: 'intervals',
    });
  const guess = Float64Array.from(restart);
  guess[0] = Math.max(excess / response, 1 / response);
  if (plan.thoronColumn !== null) guess[plan.thoronColumn] = 0;
  return guess;
}

/** Counts that radon itself brought. */
function ownCounts(plan: CountingPlan, radonKBqPerM3: number): number {
  let sum = 0;
  for (let r = 0; r < plan.setup.intervals.length; r++)
    sum += plan.model.design[r * plan.model.columns]! * radonKBqPerM3;
  return sum;
}

/**
 * Standard uncertainty of the radon estimate where radon truly is `radonKBqPerM3`, by the expected information, with
 * background, carry-over and thoron at what is known of them without this sample.
 */
export function uIfTrue(plan: CountingPlan, radonKBqPerM3: number, from?: Float64Array): number {
  const theta = from === undefined ? feasibleStart(plan) : Float64Array.from(from);
  theta[0] = radonKBqPerM3;
  const mu = expectedCounts(plan.model, theta);
  return Math.sqrt(covarianceOf(plan.model, mu, 'expected')[0]!);
}

const limitsOfPlan = new WeakMap<CountingPlan, Map<string, CharacteristicLimits>>();

/** Limits hang on the plan only, so they are found once for it. The calibration's uncertainty is in the detection limit. */
function findLimits(plan: CountingPlan, { alpha, beta }: LimitOptions): CharacteristicLimits {
  const key = `${alpha} ${beta}`;
  const known = limitsOfPlan.get(plan) ?? new Map<string, CharacteristicLimits>();
  limitsOfPlan.set(plan, known);
  const found =
    known.get(key) ??
    characteristicLimits(
      (y) => Math.hypot(uIfTrue(plan, y), plan.setup.detector.calibrationURel * y),
      normalQuantile(1 - alpha),
      normalQuantile(1 - beta),
    );
  known.set(key, found);
  return found;
}

function qualityOf(misfit: Misfit): FitQuality {
  const none = misfit.dof <= 0;
  return {
    ...misfit,
    pPearson: none ? null : chiSquareSurvival(misfit.pearson, misfit.dof),
    pDeviance: none ? null : chiSquareSurvival(misfit.deviance, misfit.dof),
  };
}

function thoronOf(plan: CountingPlan, fit: PoissonFit, covariance: Float64Array): ReducedSample['thoron'] {
  const j = plan.thoronColumn;
  if (j === null) return null;
  const n = plan.model.columns;
  const u = Math.sqrt(covariance[j * n + j]!);
  return {
    estimateKBqPerM3: fit.theta[j]!,
    uKBqPerM3: u,
    correlation: covariance[j]! / (Math.sqrt(covariance[0]!) * u),
  };
}

function notesOf(
  quality: FitQuality,
  estimate: number,
  decisionThreshold: number,
  detectionLimit: number | null,
): string[] {
  const notes: string[] = [];
  if (quality.pPearson !== null && quality.pPearson < BAD_FIT)
    notes.push(
      `The counts do not follow ingrowth and decay (chi-square ${quality.pearson.toFixed(1)} with ${quality.dof} degrees of freedom, p ${quality.pPearson.toPrecision(2)}): thoron, a leak, an unstable counter or a wrong time.`,
    );
  if (quality.leastExpected < 5)
    notes.push('Some intervals expect fewer than 5 counts: the chi-square is rough there.');
  if (estimate < decisionThreshold)
    notes.push(
      detectionLimit === null
        ? 'Not detected, and no detection limit exists: the calibration is too uncertain.'
        : `Not detected: under the decision threshold of ${decisionThreshold.toPrecision(3)} kBq/m3; the detection limit is ${detectionLimit.toPrecision(3)} kBq/m3.`,
    );
  return notes;
}
