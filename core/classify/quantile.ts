/** How a quantile falls between two ranked values; published schemes rarely say, and the class can hang on it. */
export type QuantileRule = 'linear-n-1' | 'n+1' | 'midpoint';

export const QUANTILE_RULES: readonly QuantileRule[] = ['linear-n-1', 'n+1', 'midpoint'];

export const QUANTILE_RULE_NAMES: Record<QuantileRule, string> = {
  'linear-n-1': 'linear n-1 rule (rank 1 + p(n-1))',
  'n+1': 'n+1 rule (rank p(n+1))',
  midpoint: 'midpoint rule (rank pn + 1/2)',
};

/**
 * Quantile `p` of the values, by linear interpolation between ranks. Types 7, 6 and 5 of Hyndman and Fan (1996),
 * The American Statistician 50, 361-365, in the order of `QUANTILE_RULES`. Positive infinity is allowed as a value
 * that is known to be above all others; NaN for no values.
 */
export function quantile(values: ArrayLike<number>, p: number, rule: QuantileRule): number {
  const sorted = Float64Array.from(values).sort();
  const n = sorted.length;
  if (n === 0) return Number.NaN;
  const rank = rule === 'linear-n-1' ? 1 + p * (n - 1) : rule === 'n+1' ? p * (n + 1) : p * n + 0.5;
  const held = Math.min(Math.max(rank, 1), n);
  const below = Math.floor(held + 1e-12);
  const share = Math.max(held - below, 0);
  const low = sorted[below - 1] ?? Number.NaN;
  if (share < 1e-12 || below >= n) return low;
  const high = sorted[below] ?? Number.NaN;
  return high === low ? low : low + share * (high - low);
}
