// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { normalCdf, normalQuantile } from '../geostat/normal.ts';
import { type Field, type FieldModel, type FieldPoint, fieldModels, makeField } from './scatter-field.ts';

/**
 * How much likelier a sample's numbers are with outside air in them than without, all signs taken together.
 *
 * Outside air of share m takes every excess of the ground over the air to (1 - m) of itself: radon, the oxygen
 * deficit, the carbon dioxide excess; and, pumped at the same flow, the suction too, since only (1 - m) of it passes
 * the soil. On logs all shift by ln(1 - m) together. What each would be without a leak comes from the other holes
 * (`scatter-field.ts`); what the signs say of one m is multiplied, and m is averaged over.
 *
 * Priors, none of them measured: m even from 0 to 1; 12 % of samples diluted, as far as the lot itself does not say
 * otherwise; scatter between holes about GSD 1.7 for radon, 1.25 for the gases, 1.5 for suction, the log scatter free
 * by a factor of 1.6; one hole in 20 odd by nature (2.5 times the scatter); one in ten of suctions from a looser lens
 * whose radon is as it is elsewhere.
 */
export type ChannelKind = 'radon' | 'gas' | 'suction' | 'repeat';

/** One number of a sample on the log scale, and how outside air would move it. */
export interface ChannelReading {
  readonly sampleId: string;
  /** Index into the channel's points. */
  readonly point: number;
  readonly logValue: number;
  /** For each share of `AIR_SHARES`: shift of the log value, variance of the reading, share of the scatter left. */
  readonly shift: Float64Array;
  readonly errorVariance: Float64Array;
  readonly scatterLeft: Float64Array;
  /** The same three without a leak are 0, `cleanErrorVariance` and 1. */
  readonly cleanErrorVariance: number;
}

export interface Channel {
  readonly kind: 'radon' | 'gas' | 'suction';
  readonly points: readonly FieldPoint[];
  /** Sample that stands for each point. */
  readonly pointSampleIds: readonly string[];
  readonly readings: readonly ChannelReading[];
}

/** A likelihood over shares of outside air that needs no other hole, such as a repeat in the same one. */
export interface DirectEvidence {
  readonly sampleId: string;
  /** Density at each share, over the density without a leak. */
  readonly ratio: Float64Array;
}

/** Shares of outside air and their prior weight: even from 0 to 1, finer at the end where the logs run away. */
export const AIR_SHARES = Float64Array.from([
  ...Array.from({ length: 19 }, (_, i) => 0.025 + 0.05 * i),
  0.96,
  0.985,
  0.998,
]);
const SHARE_WEIGHTS = Float64Array.from([...Array.from({ length: 19 }, () => 0.05), 0.03, 0.015, 0.005]);
const SHARES = AIR_SHARES.length;

export const PRIOR_DILUTED = 0.12;
const USUAL_SCATTER = { radon: 0.55, gas: 0.22, suction: 0.4 } as const;
/** Variance that a chance p of dilution adds to a hole's word on its neighbours: little under one in five, all from one in two. */
const distrustOf = (p: number) => (6 * p * p) / (1 - p);
const ROUNDS = 5;
const KEEP_MODEL = 0.01;

export interface SampleOdds {
  /** Likelihood ratio of all signs together: over 1 speaks for outside air. */
  readonly ratio: number;
  /** The same for each sign alone. */
  readonly alone: { readonly [K in ChannelKind]?: number };
  /** Share of outside air by all signs together, median and 90 % interval, given that there is some. */
  readonly airShare: { readonly median: number; readonly low: number; readonly high: number };
  /** The same by oxygen and carbon dioxide alone. */
  readonly gasAirShare: { readonly median: number; readonly low: number; readonly high: number } | null;
  /** Robust z of the log radon value against the other holes, and what they predict (log). */
  readonly radon: {
    readonly z: number;
    readonly logPredicted: number;
    readonly neighbourCount: number;
  } | null;
  readonly suction: { readonly z: number; readonly logPredicted: number } | null;
}

interface ChannelState {
  readonly channel: Channel;
  readonly field: Field;
  models: { readonly model: FieldModel; weight: number }[];
  predictions: { readonly weight: number; readonly mean: Float64Array; readonly variance: Float64Array }[];
}

/**
 * @param certain samples known to be diluted by other signs: they are judged, but do not speak for their neighbours
 * @returns odds for every sample with a reading in some channel or direct evidence
 */
export function weighDilution(
  channels: readonly Channel[],
  direct: readonly DirectEvidence[],
  certain: ReadonlySet<string>,
): Map<string, SampleOdds> {
  const states: ChannelState[] = channels.map((channel) => ({
    channel,
    field: makeField(channel.points),
    models: fieldModels(USUAL_SCATTER[channel.kind]).map((model) => ({ model, weight: 0 })),
    predictions: [],
  }));
  const ids = new Set([
    ...channels.flatMap((c) => c.readings.map((r) => r.sampleId)),
    ...direct.map((d) => d.sampleId),
  ]);
  let rate = PRIOR_DILUTED;
  let chance = firstGuess(channels, ids, certain);
  let curves = new Map<string, Curve>();
  for (let round = 0; round < ROUNDS; round++) {
    for (const state of states) refit(state, chance, round === 0);
    curves = gatherCurves(states, direct);
    const next = new Map<string, number>();
    let sum = 0;
    for (const [id, curve] of curves) {
      const odds = (rate / (1 - rate)) * ratioOf(curve.all);
      const p = certain.has(id) ? 0.98 : Math.min(0.98, odds / (1 + odds));
      next.set(id, p);
      sum += p;
    }
    chance = next;
    rate = Math.min(0.4, (sum + RATE_WORTH * PRIOR_DILUTED) / (curves.size + RATE_WORTH));
  }
  return new Map([...curves].map(([id, curve]) => [id, summarise(id, curve, states)]));
}

/** The prior rate of dilution counts as so many samples; the lot's own then move it. */
const RATE_WORTH = 15;
const GUESSED = 0.7;

/** Who may be diluted before any field is known: more than 2.5 upper spreads under the median of a sign. */
function firstGuess(
  channels: readonly Channel[],
  ids: ReadonlySet<string>,
  certain: ReadonlySet<string>,
): Map<string, number> {
  const guess = new Map([...ids].map((id) => [id, certain.has(id) ? 0.98 : PRIOR_DILUTED]));
  for (const { points, pointSampleIds } of channels) {
    const values = points.map((p) => p.logValue - p.priorMean).sort((a, b) => a - b);
    const at = (p: number) => values[Math.min(values.length - 1, Math.floor(p * values.length))]!;
    const limit = at(0.5) - 2.5 * Math.max(at(0.84) - at(0.5), 0.15);
    points.forEach((p, i) => {
      if (p.logValue - p.priorMean < limit) guess.set(pointSampleIds[i]!, Math.max(guess.get(pointSampleIds[i]!) ?? 0, GUESSED));
    });
  }
  return guess;
}

/** Likelihood ratio at each share of outside air. */
interface Curve {
  readonly all: Float64Array;
  readonly alone: Partial<Record<ChannelKind, Float64Array>>;
}

function refit(state: ChannelState, chance: ReadonlyMap<string, number>, isFirst: boolean): void {
  const { channel, field } = state;
  const n = channel.points.length;
  const chanceAt = channel.pointSampleIds.map((id) => chance.get(id) ?? PRIOR_DILUTED);
  const distrust = Float64Array.from(chanceAt, distrustOf);
  const judges =
    n > MOST_JUDGES
      ? Int32Array.from({ length: MOST_JUDGES }, (_, i) => Math.floor((i * n) / MOST_JUDGES))
      : Int32Array.from({ length: n }, (_, i) => i);
  const readingOf = new Map(channel.readings.map((r) => [r.sampleId, r]));
  const whole = n <= MOST_JUDGES;
  const fits = state.models.map(({ model }) => {
    const predicted = field.predict(model, distrust, whole ? undefined : judges);
    let logWeight = model.logPrior;
    for (const i of judges) {
      const reading = readingOf.get(channel.pointSampleIds[i]!);
      if (reading === undefined) continue;
      const p = chanceAt[i]!;
      const at = { mean: predicted.mean[i]!, variance: predicted.variance[i]! };
      let leaky = 0;
      for (let k = 0; k < SHARES; k++) leaky += SHARE_WEIGHTS[k]! * density(channel.kind, reading, at, k);
      logWeight += Math.log((1 - p) * density(channel.kind, reading, at, -1) + p * leaky + 1e-300);
    }
    return { model, predicted, logWeight };
  });
  const top = Math.max(...fits.map((f) => f.logWeight));
  const sum = fits.reduce((s, f) => s + Math.exp(f.logWeight - top), 0);
  const weighted = fits.map((f) => ({ ...f, weight: Math.exp(f.logWeight - top) / sum }));
  const kept = weighted.filter((f) => f.weight >= (whole ? KEEP_MODEL : 0.1));
  const keptSum = kept.reduce((s, f) => s + f.weight, 0);
  state.predictions = kept.map((f) => ({
    weight: f.weight / keptSum,
    ...(whole ? f.predicted : field.predict(f.model, distrust)),
  }));
  // The first round still believes every leak; models that only later prove right must not be dropped by it.
  if (!isFirst)
    state.models = weighted.filter((f) => f.weight >= 1e-4).map(({ model, weight }) => ({ model, weight }));
}

/** So many points of a large lot choose its models. */
const MOST_JUDGES = 64;

const ODD_BY_NATURE = { share: 0.05, spread: 2.5 } as const;
const LENS = { share: 0.1, shift: -1.5, sd: 1 } as const;

/** Density of a reading where the others predict `at`, with share number `k` of outside air (-1: none). */
function density(
  kind: Channel['kind'],
  reading: ChannelReading,
  at: { readonly mean: number; readonly variance: number },
  k: number,
): number {
  const shift = k < 0 ? 0 : reading.shift[k]!;
  const error = k < 0 ? reading.cleanErrorVariance : reading.errorVariance[k]!;
  const left = k < 0 ? 1 : reading.scatterLeft[k]!;
  const variance = at.variance * left * left;
  const d = reading.logValue - at.mean - shift;
  if (kind === 'suction') {
    return (
      (1 - LENS.share) * normalDensity(d, variance + error) +
      LENS.share * normalDensity(d - LENS.shift, variance + error + LENS.sd ** 2)
    );
  }
  return (
    (1 - ODD_BY_NATURE.share) * normalDensity(d, variance + error) +
    ODD_BY_NATURE.share * normalDensity(d, variance * ODD_BY_NATURE.spread ** 2 + error)
  );
}

export function normalDensity(d: number, variance: number): number {
  return Math.exp((-0.5 * d * d) / variance) / Math.sqrt(2 * Math.PI * variance);
}

function gatherCurves(
  states: readonly ChannelState[],
  direct: readonly DirectEvidence[],
): Map<string, Curve> {
  const curves = new Map<string, Curve>();
  const add = (id: string, kind: ChannelKind, ratio: Float64Array) => {
    const before = curves.get(id) ?? { all: new Float64Array(SHARES).fill(1), alone: {} };
    curves.set(id, {
      all: before.all.map((v, k) => v * ratio[k]!),
      alone: { ...before.alone, [kind]: ratio },
    });
  };
  for (const { channel, predictions } of states) {
    for (const reading of channel.readings) {
      const ratio = new Float64Array(SHARES);
      let clean = 1e-300;
      for (const p of predictions) {
        const at = { mean: p.mean[reading.point]!, variance: p.variance[reading.point]! };
        clean += p.weight * density(channel.kind, reading, at, -1);
        for (let k = 0; k < SHARES; k++) ratio[k]! += p.weight * density(channel.kind, reading, at, k);
      }
      add(
        reading.sampleId,
        channel.kind,
        ratio.map((v) => v / clean),
      );
    }
  }
  for (const d of direct) add(d.sampleId, 'repeat', d.ratio);
  return curves;
}

function ratioOf(curve: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < SHARES; k++) sum += SHARE_WEIGHTS[k]! * curve[k]!;
  return sum;
}

function summarise(id: string, curve: Curve, states: readonly ChannelState[]): SampleOdds {
  const alone = Object.fromEntries(Object.entries(curve.alone).map(([kind, c]) => [kind, ratioOf(c)]));
  const radon = zOf(id, 'radon', states);
  const suction = zOf(id, 'suction', states);
  return {
    ratio: ratioOf(curve.all),
    alone,
    airShare: spanOf(curve.all),
    gasAirShare: curve.alone.gas === undefined ? null : spanOf(curve.alone.gas),
    radon,
    suction,
  };
}

/** Median and 90 % interval of the share, given that there is some. */
function spanOf(curve: Float64Array): { median: number; low: number; high: number } {
  const total = ratioOf(curve);
  const at = (p: number) => {
    let sum = 0;
    for (let k = 0; k < SHARES; k++) {
      sum += (SHARE_WEIGHTS[k]! * curve[k]!) / total;
      if (sum >= p) return AIR_SHARES[k]!;
    }
    return 1;
  };
  return { median: at(0.5), low: at(0.05), high: at(0.95) };
}

/** Standard normal deviate of the same tail as the averaged prediction, without the tails for odd holes. */
function zOf(id: string, kind: Channel['kind'], states: readonly ChannelState[]) {
  for (const { channel, field, predictions } of states) {
    if (channel.kind !== kind) continue;
    const reading = channel.readings.find((r) => r.sampleId === id);
    if (reading === undefined) continue;
    let tail = 0;
    let logPredicted = 0;
    for (const p of predictions) {
      const sd = Math.sqrt(p.variance[reading.point]! + reading.cleanErrorVariance);
      tail += p.weight * normalCdf((reading.logValue - p.mean[reading.point]!) / sd);
      logPredicted += p.weight * p.mean[reading.point]!;
    }
    const z = normalQuantile(Math.min(Math.max(tail, 1e-15), 1 - 1e-15));
    return { z, logPredicted, neighbourCount: field.neighbourCount };
  }
  return null;
}
