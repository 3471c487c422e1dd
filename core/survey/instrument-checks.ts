import { NIGHT_H } from './working-days.ts';

/** The control probe: one hole, left in place, drawn from again through the day. */
export interface ControlReading {
  readonly takenUtc: string;
  readonly radonKBqPerM3: number;
  readonly uKBqPerM3: number;
}

export interface ControlCheck {
  /** At least two readings, and never longer than a half-day without one. */
  readonly isComplete: boolean;
  /** Drift over the whole span, per cent of the mean, with its standard uncertainty; null under two readings. */
  readonly driftPct: number | null;
  readonly driftUPct: number | null;
  /** True where the drift is more than its uncertainty (k = 2) and the repeatability of a hole explain. */
  readonly isDrifting: boolean;
  readonly words: string;
}

/** Two draws of one hole agree within this (relative, k = 1): common practice. */
const HOLE_REPEATABILITY = 0.05;

/**
 * Drift of ground and instrument together, from a straight line by weighted least squares through the control readings.
 * It cannot tell weather from the instrument; a cross-check of two instruments can.
 * @param gapHours longest time without a reading
 * @param span first and last sample of the day, which the readings must reach; null where it is not known
 */
export function checkControlProbe(
  readings: readonly ControlReading[],
  gapHours: number,
  span: readonly [firstUtc: string, lastUtc: string] | null,
): ControlCheck {
  const sorted = [...readings].sort((a, b) => Date.parse(a.takenUtc) - Date.parse(b.takenUtc));
  const hours = sorted.map((r) => Date.parse(r.takenUtc) / 3_600_000);
  const lengthH = (hours.at(-1) ?? 0) - (hours[0] ?? 0);
  if (sorted.length < 2 || !(lengthH > 0)) {
    return {
      isComplete: false,
      driftPct: null,
      driftUPct: null,
      isDrifting: false,
      words: `control readings: ${sorted.length}; at least two at different times are asked for`,
    };
  }
  const [firstH, lastH] = span === null ? [] : span.map((utc) => Date.parse(utc) / 3_600_000);
  const reached = [
    ...(firstH === undefined ? [] : [firstH]),
    ...hours,
    ...(lastH === undefined ? [] : [lastH]),
  ];
  const gaps = reached.slice(1).map((h, i) => h - (reached[i] ?? h));
  // A night between two days is no gap in the day's readings.
  const isComplete = gaps.every((g) => g <= gapHours || g >= NIGHT_H);
  const weights = sorted.map((r) => 1 / (r.uKBqPerM3 ** 2 + (HOLE_REPEATABILITY * r.radonKBqPerM3) ** 2));
  const total = weights.reduce((s, w) => s + w, 0);
  const mean = (values: readonly number[]) =>
    values.reduce((s, v, i) => s + v * (weights[i] ?? 0), 0) / total;
  const radon = sorted.map((r) => r.radonKBqPerM3);
  const [meanHour, meanRadon] = [mean(hours), mean(radon)];
  const spread = hours.reduce((s, h, i) => s + (weights[i] ?? 0) * (h - meanHour) ** 2, 0);
  const slope =
    hours.reduce((s, h, i) => s + (weights[i] ?? 0) * (h - meanHour) * ((radon[i] ?? 0) - meanRadon), 0) /
    spread;
  const driftPct = (100 * slope * lengthH) / meanRadon;
  const driftUPct = (100 * lengthH) / Math.sqrt(spread) / meanRadon;
  const isDrifting = Math.abs(driftPct) > 2 * driftUPct;
  const drift = `${driftPct > 0 ? '+' : ''}${driftPct.toFixed(0)} % over ${lengthH.toFixed(1)} h (u ${driftUPct.toFixed(0)} %)`;
  return {
    isComplete,
    driftPct,
    driftUPct,
    isDrifting,
    words: `${sorted.length} readings, ${drift}${isDrifting ? ': more than chance; weather or instrument changed through the day' : ''}${isComplete ? '' : `; more than ${gapHours} h of the day without one`}`,
  };
}

export interface CrossCheckPair {
  readonly label: string;
  readonly first: { readonly radonKBqPerM3: number; readonly uKBqPerM3: number };
  readonly second: { readonly radonKBqPerM3: number; readonly uKBqPerM3: number };
}

export interface CrossCheck {
  /** Second instrument over the first, weighted mean of the ratios, and its standard uncertainty. */
  readonly ratio: number;
  readonly u: number;
  /** Scatter of the ratios over what their uncertainties explain (square root of reduced chi-square); null for one pair. */
  readonly birgeRatio: number | null;
  readonly verdict: 'agree' | 'differ' | 'scatter';
  readonly words: string;
}

/**
 * Two instruments on the same gas. The ratio's u is widened by the Birge ratio where the pairs scatter more than they
 * should. 'differ' beyond k = 2 and 3 % (own assumption: less changes no class); null without a usable pair.
 */
export function crossCheck(pairs: readonly CrossCheckPair[]): CrossCheck | null {
  const logs = pairs
    .filter((p) => p.first.radonKBqPerM3 > 0 && p.second.radonKBqPerM3 > 0)
    .map(({ first, second }) => ({
      value: Math.log(second.radonKBqPerM3 / first.radonKBqPerM3),
      variance: (first.uKBqPerM3 / first.radonKBqPerM3) ** 2 + (second.uKBqPerM3 / second.radonKBqPerM3) ** 2,
    }))
    .filter((l) => l.variance > 0);
  if (logs.length === 0) return null;
  const total = logs.reduce((s, l) => s + 1 / l.variance, 0);
  const mean = logs.reduce((s, l) => s + l.value / l.variance, 0) / total;
  const chi2 = logs.reduce((s, l) => s + (l.value - mean) ** 2 / l.variance, 0);
  const birgeRatio = logs.length > 1 ? Math.sqrt(chi2 / (logs.length - 1)) : null;
  const u = Math.sqrt(1 / total) * Math.max(1, birgeRatio ?? 1);
  const ratio = Math.exp(mean);
  const isApart = Math.abs(mean) > 2 * u && Math.abs(mean) > 0.03;
  const verdict = isApart ? 'differ' : (birgeRatio ?? 0) > 2 ? 'scatter' : 'agree';
  const size = `${ratio.toFixed(3)} (u ${(ratio * u).toFixed(3)}, ${logs.length} pairs)`;
  const words = {
    agree: `The second reads ${size} of the first: they agree.`,
    differ: `The second reads ${size} of the first: they differ; find out which is right before mixing their samples.`,
    scatter: `The second reads ${size} of the first, but the pairs scatter more than their uncertainties: not the same gas, or an unsteady unit.`,
  }[verdict];
  return { ratio, u: ratio * u, birgeRatio, verdict, words };
}
