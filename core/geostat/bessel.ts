/**
 * Modified Bessel function of the second kind, scaled by exp(x) so that large arguments keep their digits.
 *
 * Temme's series below x = 2, Steed's continued fraction above (Temme, J. Comput. Phys. 19, 1975;
 * Campbell, Comput. Phys. Commun. 24, 1981), then upward recurrence in the order.
 */

/** Lanczos approximation with g = 7, nine terms: about 15 digits for x > 0 (Lanczos, SIAM J. Numer. Anal. B 1, 1964). */
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

/** Natural logarithm of the gamma function, x > 0. */
export function logGamma(x: number): number {
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const y = x - 1;
  let sum = LANCZOS[0] as number;
  for (let i = 1; i < LANCZOS.length; i++) sum += (LANCZOS[i] as number) / (y + i);
  const t = y + 7.5;
  return 0.5 * Math.log(2 * Math.PI) + (y + 0.5) * Math.log(t) - t + Math.log(sum);
}

const EULER_GAMMA = 0.5772156649015329;

/**
 * Temme's two gamma functions of |mu| <= 1/2:
 * g1 = (1/Gamma(1-mu) - 1/Gamma(1+mu)) / (2 mu), g2 = (1/Gamma(1-mu) + 1/Gamma(1+mu)) / 2.
 */
function temmeGammas(mu: number): {
  g1: number;
  g2: number;
  inverseGammaPlus: number;
  inverseGammaMinus: number;
} {
  const inverseGammaPlus = Math.exp(-logGamma(1 + mu));
  const inverseGammaMinus = Math.exp(-logGamma(1 - mu));
  // The difference quotient loses its digits near 0; the odd part of 1/Gamma(1+mu) is taken from its series there
  // (Abramowitz and Stegun 6.1.34: c2 = gamma, c4 = -0.0420026350340952, c6 = -0.0421977345555443, ...).
  const m2 = mu * mu;
  const g1 =
    Math.abs(mu) < 0.1
      ? -(
          EULER_GAMMA +
          m2 *
            (-0.0420026350340952 +
              m2 * (-0.0421977345555443 + m2 * (0.0072189432466631 + m2 * -0.0002152416741149)))
        )
      : (inverseGammaMinus - inverseGammaPlus) / (2 * mu);
  return { g1, g2: (inverseGammaMinus + inverseGammaPlus) / 2, inverseGammaPlus, inverseGammaMinus };
}

/**
 * exp(x) K_nu(x) for nu >= 0 and x > 0.
 * @returns the scaled value; Infinity where it overflows (x near 0)
 */
export function scaledBesselK(nu: number, x: number): number {
  const steps = Math.floor(nu + 0.5);
  const mu = nu - steps;
  let kMu: number;
  let kNext: number;
  if (x < 2) {
    const { g1, g2, inverseGammaPlus, inverseGammaMinus } = temmeGammas(mu);
    const piMu = Math.PI * mu;
    const logTwoOverX = Math.log(2 / x);
    const e = mu * logTwoOverX;
    const sineFactor = Math.abs(piMu) < 1e-15 ? 1 : piMu / Math.sin(piMu);
    const sinhFactor = Math.abs(e) < 1e-15 ? 1 : Math.sinh(e) / e;
    let f = sineFactor * (g1 * Math.cosh(e) + g2 * sinhFactor * logTwoOverX);
    let p = (0.5 * Math.exp(e)) / inverseGammaPlus;
    let q = (0.5 * Math.exp(-e)) / inverseGammaMinus;
    let c = 1;
    let sum = f;
    let sumNext = p;
    const quarterX2 = 0.25 * x * x;
    for (let k = 1; k < 500; k++) {
      f = (k * f + p + q) / (k * k - mu * mu);
      c *= quarterX2 / k;
      p /= k - mu;
      q /= k + mu;
      const term = c * f;
      sum += term;
      sumNext += c * (p - k * f);
      if (Math.abs(term) < Math.abs(sum) * 1e-17) break;
    }
    const scale = Math.exp(x);
    kMu = sum * scale;
    kNext = ((sumNext * 2) / x) * scale;
  } else {
    let b = 2 * (1 + x);
    let d = 1 / b;
    let h = d;
    let delta = d;
    let q1 = 0;
    let q2 = 1;
    const a1 = 0.25 - mu * mu;
    let c = a1;
    let q = a1;
    let a = -a1;
    let s = 1 + q * delta;
    for (let k = 2; k < 10_000; k++) {
      a -= 2 * (k - 1);
      c = (-a * c) / k;
      const qNew = (q1 - b * q2) / a;
      q1 = q2;
      q2 = qNew;
      q += c * qNew;
      b += 2;
      d = 1 / (b + a * d);
      delta = (b * d - 1) * delta;
      h += delta;
      const ds = q * delta;
      s += ds;
      if (Math.abs(ds / s) < 1e-17) break;
    }
    h *= a1;
    kMu = Math.sqrt(Math.PI / (2 * x)) / s;
    kNext = (kMu * (mu + x + 0.5 - h)) / x;
  }
  for (let i = 1; i <= steps; i++) {
    const up = kMu + ((2 * (mu + i)) / x) * kNext;
    kMu = kNext;
    kNext = up;
  }
  return kMu;
}
