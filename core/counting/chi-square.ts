import { logGamma } from '../geostat/bessel.ts';

/**
 * Chance that a chi-square with `dof` degrees of freedom is at least x (Abramowitz and Stegun 26.4.19, by the series
 * 6.5.29 or the continued fraction 6.5.31 of the incomplete gamma function).
 */
export function chiSquareSurvival(x: number, dof: number): number {
  if (!(dof > 0)) return Number.NaN;
  if (x <= 0) return 1;
  const a = dof / 2;
  const z = x / 2;
  const front = Math.exp(a * Math.log(z) - z - logGamma(a));
  if (z < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let n = 1; n < 1000; n++) {
      term *= z / (a + n);
      sum += term;
      if (term < sum * 1e-16) break;
    }
    return Math.max(0, 1 - front * sum);
  }
  // Lentz's method
  let b = z + 1 - a;
  let c = 1e300;
  let d = 1 / b;
  let h = d;
  for (let i = 1; i < 1000; i++) {
    const an = -i * (i - a);
    b += 2;
    d = 1 / (an * d + b);
    c = b + an / c;
    const step = d * c;
    h *= step;
    if (Math.abs(step - 1) < 1e-15) break;
  }
  return front * h;
}
