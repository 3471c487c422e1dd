// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { normalCdf, normalQuantile } from '../geostat/normal.ts';
import { type Field, type FieldModel, fieldModels, makeField } from './scatter-field.ts';
import {
  AIR_SHARES,
  type Channel,
  type ChannelKind,
  type ChannelReading,
  ratioOf,
  readingDensity,
  SHARE_WEIGHTS,
  SHARES,
} from './sign-density.ts';

/** A likelihood over shares of outside air that needs no other hole, such as a repeat in the same one. */
export interface DirectEvidence {
  readonly sampleId: string;
  /** Density at each share, over the density without a leak. */
  readonly ratio: Float64Array;
  /** Of the log value without a leak. */
  readonly variance: number;
}

export const PRIOR_DILUTED = 0.12;
/** Radon rises and falls over a lot as its rock does; gases follow the soil cover, suction the soil alone. */
const BEND_SD = { radon: 0.35, gas: 0.15, suction: 0 } as const;
const USUAL_SCATTER = { radon: 0.55, gas: 0.3, suction: 0.4 } as const;
/** Variance that a chance p of dilution adds to a hole's word on its neighbours: little under one in five, all from one in two. */
const distrustOf = (p: number) => (6 * p ** 2.5) / (1 - p);
const ROUNDS = 5;
const ROUNDS_OF_LARGE_LOT = 3;
const KEEP_MODEL = 0.01;

export interface SampleOdds {
  /** Likelihood ratio of all signs together: over 1 speaks for outside air. */
  readonly ratio: number;
  /** Standard normal deviate that a clean sample passes as seldom as this ratio; 0 where it speaks for clean. */
  readonly z: number;
  /** The same for each sign alone. */
  readonly alone: { readonly [K in ChannelKind]?: { readonly ratio: number; readonly z: number } };
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
 * How much likelier a sample's numbers are with outside air in them than without, all signs taken together.
 *
 * Outside air of share m takes every excess of the ground over the air to (1 - m) of itself: radon, the oxygen
 * deficit, the carbon dioxide excess; and, pumped at the same flow, the suction too, since only (1 - m) of it passes
 * the soil. On logs all shift by ln(1 - m) together. What each would be without a leak comes from the other holes
 * (`scatter-field.ts`); what the signs say of one m is multiplied, and m is averaged over.
 *
 * Priors, none of them measured: m even from 0 to 1; 12 % of samples diluted, as far as the lot itself does not say
 * otherwise; scatter between holes about GSD 1.7 for radon, 1.35 for the gases, 1.5 for suction, the log scatter free
 * by a factor of 1.6; one hole in 20 odd by nature (2.5 times the scatter); one in ten of suctions from a looser lens
 * whose radon is as it is elsewhere.
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
    field: makeField(channel.points, BEND_SD[channel.kind]),
    models: fieldModels(USUAL_SCATTER[channel.kind]).map((model) => ({ model, weight: 0 })),
    predictions: [],
  }));
  const ids = new Set([
    ...channels.flatMap((c) => c.readings.map((r) => r.sampleId)),
    ...direct.map((d) => d.sampleId),
  ]);
  const rounds = channels.every((c) => c.points.length <= MOST_JUDGES) ? ROUNDS : ROUNDS_OF_LARGE_LOT;
  let rate = PRIOR_DILUTED;
  let breathing = USUAL_BREATHING ** 2;
  let chance = firstGuess(channels, ids, certain);
  let curves = new Map<string, Curve>();
  for (let round = 0; round < rounds; round++) {
    for (const state of states) refit(state, chance, round === 0);
    const spoken = gatherSpoken(states);
    if (round > 0) breathing = chooseBreathing(spoken, chance);
    curves = gatherCurves(spoken, direct, breathing);
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
  const readings = new Map<string, { [K in Channel['kind']]?: ChannelReading }>();
  for (const { kind, readings: list } of channels)
    for (const r of list) readings.set(r.sampleId, { ...readings.get(r.sampleId), [kind]: r });
  return new Map([...curves].map(([id, curve]) => [id, summarise(curve, states, readings.get(id) ?? {})]));
}

/** The prior rate of dilution counts as so many samples; the lot's own then move it. */
const RATE_WORTH = 25;
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
      if (p.logValue - p.priorMean < limit)
        guess.set(pointSampleIds[i]!, Math.max(guess.get(pointSampleIds[i]!) ?? 0, GUESSED));
    });
  }
  return guess;
}

/** Likelihood ratio at each share of outside air. */
interface Curve {
  readonly all: Float64Array;
  readonly alone: Partial<Record<ChannelKind, { readonly ratio: Float64Array; readonly variance: number }>>;
  /** Part of the variance that all channels share. */
  readonly breathingVariance: number;
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
      for (let k = 0; k < SHARES; k++)
        leaky += SHARE_WEIGHTS[k]! * readingDensity(channel.kind, reading, at, k);
      logWeight += Math.log((1 - p) * readingDensity(channel.kind, reading, at, -1) + p * leaky + 1e-300);
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

/** What one channel says of one sample, before it is set against no leak. */
interface Spoken {
  readonly kind: Channel['kind'];
  readonly reading: ChannelReading;
  readonly at: readonly { readonly weight: number; readonly mean: number; readonly variance: number }[];
  readonly fieldVariance: number;
}

function gatherSpoken(states: readonly ChannelState[]): Map<string, Spoken[]> {
  const spoken = new Map<string, Spoken[]>();
  for (const { channel, predictions } of states) {
    for (const reading of channel.readings) {
      const at = predictions.map((p) => ({
        weight: p.weight,
        mean: p.mean[reading.point]!,
        variance: p.variance[reading.point]!,
      }));
      const fieldVariance = at.reduce((sum, p) => sum + p.weight * p.variance, 0);
      const list = spoken.get(reading.sampleId) ?? [];
      list.push({ kind: channel.kind, reading, at, fieldVariance });
      spoken.set(reading.sampleId, list);
    }
  }
  return spoken;
}

function gatherCurves(
  spoken: ReadonlyMap<string, readonly Spoken[]>,
  direct: readonly DirectEvidence[],
  breathing: number,
): Map<string, Curve> {
  const curves = new Map([...spoken].map(([id, list]) => [id, curveOf(list, breathing)]));
  for (const { sampleId, ratio, variance } of direct) {
    const before = curves.get(sampleId) ?? curveOf([], 0);
    curves.set(sampleId, {
      ...before,
      all: before.all.map((v, k) => v * ratio[k]!),
      alone: { ...before.alone, repeat: { ratio, variance } },
    });
  }
  return curves;
}

/**
 * Ground breathes: where it is looser, radon, gases and suction are all lower without any leak, which looks like a
 * little outside air. How much (standard deviation of the log) is learnt from how the signs of the lot go together,
 * from equal chances of these.
 */
const BREATHING = [0.06, 0.12, 0.18, 0.25] as const;
const USUAL_BREATHING = 0.15;
/** Even steps of 0.75 standard deviations, weighted as a normal deviate: close enough for no gaps between them. */
const BREATHING_RULE = (() => {
  const at = Array.from({ length: 9 }, (_, i) => 0.75 * (i - 4));
  const weights = at.map((a) => Math.exp(-0.5 * a * a));
  const total = weights.reduce((sum, w) => sum + w, 0);
  return at.map((a, i) => ({ at: a, weight: weights[i]! / total }));
})();

/** Mean variance of the breathing over the candidates, by how likely each makes the samples thought clean. */
function chooseBreathing(
  spoken: ReadonlyMap<string, readonly Spoken[]>,
  chance: ReadonlyMap<string, number>,
): number {
  const logs = BREATHING.map((sd) => {
    let sum = 0;
    let used = 0;
    for (const [id, list] of spoken) {
      if (list.length < 2) continue;
      if (used++ > MOST_JUDGES) break;
      const { joint } = cleanOf(list, sharedVariance(list, sd ** 2));
      sum += (1 - (chance.get(id) ?? 0)) * Math.log(joint + 1e-300);
    }
    return sum;
  });
  const top = Math.max(...logs);
  const weights = logs.map((l) => Math.exp(l - top));
  const total = weights.reduce((a, b) => a + b, 0);
  return weights.reduce((sum, w, i) => sum + (w / total) * BREATHING[i]! ** 2, 0);
}

/** What a channel's scatter already shows cannot be more than nearly all of it. */
function sharedVariance(list: readonly Spoken[], breathing: number): number {
  return list.length < 2 ? 0 : Math.min(breathing, 0.8 * Math.min(...list.map((s) => s.fieldVariance)));
}

function averageDensity({ kind, reading, at }: Spoken, k: number, shift: number, variance: number): number {
  let sum = 1e-300;
  for (const p of at) sum += p.weight * readingDensity(kind, reading, p, k, { shift, variance });
  return sum;
}

/** Density without a leak, of all channels together and of each alone. */
function cleanOf(list: readonly Spoken[], variance: number): { joint: number; alone: number[] } {
  const alone = list.map(() => 0);
  let joint = 0;
  for (const { at, weight } of BREATHING_RULE) {
    let product = weight;
    list.forEach((s, i) => {
      const density = averageDensity(s, -1, at * Math.sqrt(variance), variance);
      product *= density;
      alone[i]! += weight * density;
    });
    joint += product;
  }
  return { joint, alone };
}

function curveOf(list: readonly Spoken[], breathing: number): Curve {
  const variance = sharedVariance(list, breathing);
  const clean = cleanOf(list, variance);
  const all = new Float64Array(SHARES).fill(1);
  const alone: { -readonly [K in ChannelKind]?: { ratio: Float64Array; variance: number } } = {};
  list.forEach((s, i) => {
    const ratio = new Float64Array(SHARES);
    for (let k = 0; k < SHARES; k++) {
      const leaky = averageDensity(s, k, 0, variance);
      ratio[k] = leaky / clean.alone[i]!;
      all[k]! *= leaky;
    }
    alone[s.kind] = { ratio, variance: s.fieldVariance + s.reading.cleanErrorVariance };
  });
  return {
    all: all.map((v) => v / (list.length === 0 ? 1 : clean.joint)),
    alone,
    breathingVariance: variance,
  };
}

function summarise(
  curve: Curve,
  states: readonly ChannelState[],
  readings: { readonly [K in Channel['kind']]?: ChannelReading },
): SampleOdds {
  const alone = Object.fromEntries(
    Object.entries(curve.alone).map(([kind, c]) => {
      const ratio = ratioOf(c.ratio);
      return [kind, { ratio, z: equivalentZ(ratio, c.variance) }];
    }),
  );
  const ratio = ratioOf(curve.all);
  const shared = curve.breathingVariance;
  let information = 0;
  for (const [kind, c] of Object.entries(curve.alone))
    information += 1 / (kind === 'repeat' ? c.variance : c.variance - shared);
  return {
    ratio,
    z: equivalentZ(ratio, 1 / information + (curve.alone.repeat === undefined ? shared : 0)),
    alone,
    airShare: spanOf(curve.all),
    gasAirShare: curve.alone.gas === undefined ? null : spanOf(curve.alone.gas.ratio),
    radon: zOf(readings.radon, 'radon', states),
    suction: zOf(readings.suction, 'suction', states),
  };
}

/**
 * With the share even from 0 to 1, a log value z standard deviations low gives a ratio of about
 * sqrt(2 pi) sd exp(z^2 / 2) while the sd is small: solved for z, so that one limit means one rate of false alarms
 * however much the ground scatters.
 */
function equivalentZ(ratio: number, variance: number): number {
  return Math.sqrt(2 * Math.max(0, Math.log(ratio / Math.sqrt(2 * Math.PI * variance))));
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
function zOf(reading: ChannelReading | undefined, kind: Channel['kind'], states: readonly ChannelState[]) {
  for (const { channel, field, predictions } of states) {
    if (channel.kind !== kind || reading === undefined) continue;
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
