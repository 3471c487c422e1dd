/**
 * From the kriged logarithm back to the value. p and v are estimate and variance of the natural logarithm,
 * L the Lagrange term in the sign v = C(0) - w'k + L. Which number is asked for must always be said.
 */
import { normalCdf } from './normal.ts';

/** Mean exp(p + v/2): right for simple kriging, and the predictive mean where the unknown mean has a flat prior. */
export function lognormalMean(p: number, v: number): number {
  return Math.exp(p + v / 2);
}

/** Mean exp(p + v/2 - L): unbiased for ordinary and drift kriging (Journel, Math. Geology 12, 1980). */
export function lognormalMeanUnbiased(p: number, v: number, lagrange: number): number {
  return Math.exp(p + v / 2 - lagrange);
}

/** Standard deviation of a lognormal value with the given mean and log variance v. */
export function lognormalSd(mean: number, v: number): number {
  return mean * Math.sqrt(Math.expm1(v));
}

/** Probability that a normal value with mean p and variance v lies above `limit`; 0, 1/2 or 1 where v is 0. */
export function exceedanceProbability(p: number, v: number, limit: number): number {
  if (!(v > 0)) return p > limit ? 1 : p < limit ? 0 : v === 0 ? 0.5 : Number.NaN;
  return normalCdf((p - limit) / Math.sqrt(v));
}
