import { normalCdf, normalQuantile } from '../geostat/normal.ts';

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

/** Standard uncertainty of a net count rate that is truly `ratePerS`, with a background known from its own count. */
export function netRateU(
  ratePerS: number,
  backgroundPerS: number,
  grossS: number,
  backgroundS: number,
): number {
  return Math.sqrt((ratePerS + backgroundPerS) / grossS + backgroundPerS / backgroundS);
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
  const omega = normalCdf(y / u);
  const tail = 1 - coverage;
  if (omega < 1e-300) return { estimate: 0, u: 0, low: 0, high: 0 };
  const estimate = y + (u * Math.exp((-y * y) / (2 * u * u))) / (omega * Math.sqrt(2 * Math.PI));
  return {
    estimate,
    u: Math.sqrt(Math.max(0, u * u - (estimate - y) * estimate)),
    low: Math.max(0, y - u * normalQuantile(omega * (1 - tail / 2))),
    high: y - u * normalQuantile((omega * tail) / 2),
  };
}
