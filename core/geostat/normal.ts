/** Complementary error function by continued fraction or series, about 1e-15 relative (Abramowitz and Stegun 7.1.5, 7.1.14). */
export function erfc(x: number): number {
  if (x < 0) return 2 - erfc(-x);
  if (x < 2.5) {
    let term = x;
    let sum = x;
    for (let k = 1; k < 200; k++) {
      term *= (2 * x * x) / (2 * k + 1);
      sum += term;
      if (term < sum * 1e-17) break;
    }
    return 1 - (2 / Math.sqrt(Math.PI)) * Math.exp(-x * x) * sum;
  }
  if (x > 27) return 0;
  let tail = x;
  for (let k = 60; k > 0; k--) tail = x + k / 2 / tail;
  return Math.exp(-x * x) / Math.sqrt(Math.PI) / tail;
}

/** Standard normal distribution function. */
export function normalCdf(z: number): number {
  return 0.5 * erfc(-z / Math.SQRT2);
}

/** Standard normal quantile by bisection and Newton on {@link normalCdf}; 0 < p < 1. */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1))
    return p === 0 ? Number.NEGATIVE_INFINITY : p === 1 ? Number.POSITIVE_INFINITY : Number.NaN;
  if (p > 0.5) return -normalQuantile(1 - p);
  let low = -38;
  let high = 0;
  let z = -1;
  for (let i = 0; i < 100; i++) {
    const miss = normalCdf(z) - p;
    if (miss > 0) high = z;
    else low = z;
    const density = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
    const next = z - miss / density;
    const step = next > low && next < high ? next : (low + high) / 2;
    if (Math.abs(step - z) < 1e-14 * (1 + Math.abs(z))) return step;
    z = step;
  }
  return z;
}
