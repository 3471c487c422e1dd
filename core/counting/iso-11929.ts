import { erfc, normalCdf, normalQuantile } from '../geostat/normal.ts';

/** Characteristic limits after ISO 11929-1:2019 (form from the published abstract and common texts; standard not seen). */
export interface CharacteristicLimits {
  readonly decisionThreshold: number;
  /** null where none exists: with a relative uncertainty near 1/k no true value is safely detected. */
  readonly detectionLimit: number | null;
}

export interface BestEstimate {
  readonly estimate: number;
  readonly u: number;
  /** Probabilistically symmetric coverage interval; never under 0. */
  readonly low: number;
  readonly high: number;
}

/**
 * Decision threshold k_(1-alpha) u(0), and detection limit as the least y with y = y* + k_(1-beta) u(y), by iteration.
 * @param uAtTrue standard uncertainty of the estimator where the true value is y, in the unit of y
 */
export function characteristicLimits(
  uAtTrue: (y: number) => number,
  kAlpha: number,
  kBeta: number,
): CharacteristicLimits {
  const decisionThreshold = kAlpha * uAtTrue(0);
  let y = 2 * decisionThreshold;
  for (let i = 0; i < 10_000; i++) {
    const next = decisionThreshold + kBeta * uAtTrue(y);
    if (!Number.isFinite(next) || next > 1e6 * decisionThreshold) break;
    if (Math.abs(next - y) <= 1e-10 * next) return { decisionThreshold, detectionLimit: next };
    y = next;
  }
  return { decisionThreshold, detectionLimit: null };
}

/**
 * Best estimate of a quantity that cannot be negative: mean, standard deviation and coverage interval of the normal
 * distribution about y cut at 0 (ISO 11929-1:2019).
 * @param coverage for example 0.95
 */
export function bestEstimate(y: number, u: number, coverage: number): BestEstimate {
  const tail = 1 - coverage;
  const under = -y / u;
  if (under > FAR_UNDER) return farUnder(under, u, tail);
  const omega = normalCdf(y / u);
  const estimate = y + (u * Math.exp((-y * y) / (2 * u * u))) / (omega * Math.sqrt(2 * Math.PI));
  return {
    estimate,
    u: Math.sqrt(Math.max(0, u * u - (estimate - y) * estimate)),
    low: Math.max(0, y - u * normalQuantile(omega * (1 - tail / 2))),
    high: y - u * normalQuantile((omega * tail) / 2),
  };
}

/** So many standard uncertainties under 0 the quantiles of the cut tail are found in the tail itself. */
const FAR_UNDER = 5;
/** From here on the tail is an exponential to better than 0.3 %, and its chances leave the range of numbers. */
const EXPONENTIAL_FROM = 25;

function farUnder(under: number, u: number, tail: number): BestEstimate {
  if (under > EXPONENTIAL_FROM) {
    const mean = u / under;
    return { estimate: mean, u: mean, low: -mean * Math.log(1 - tail / 2), high: -mean * Math.log(tail / 2) };
  }
  const whole = erfc(under / Math.SQRT2);
  const mills = Math.exp((-under * under) / 2) / (0.5 * whole * Math.sqrt(2 * Math.PI));
  const estimate = u * (mills - under);
  const at = (p: number) => {
    let low = 0;
    let high = 40 / under;
    for (let i = 0; i < 80; i++) {
      const middle = (low + high) / 2;
      if (erfc((under + middle) / Math.SQRT2) > p * whole) low = middle;
      else high = middle;
    }
    return u * high;
  };
  return {
    estimate,
    u: Math.sqrt(Math.max(0, u * u - (estimate + under * u) * estimate)),
    low: at(1 - tail / 2),
    high: at(tail / 2),
  };
}
