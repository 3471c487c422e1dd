import type { Measured } from '../contract/model.ts';

/** One-sided 95 % of a normal distribution. */
const LOWER_BOUND_U = 1.645;

/** What the truth is at least where a value is known to read low: value - 1.645 u, never under 0, kBq/m3. */
export function lowerBoundOf(value: Extract<Measured, { kind: 'value' }>): number {
  const u = Math.hypot(value.randomUKBqPerM3, value.estimateKBqPerM3 * value.commonURel);
  return Math.max(0, value.estimateKBqPerM3 - LOWER_BOUND_U * u);
}
