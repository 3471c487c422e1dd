// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { normalQuantile } from '../geostat/normal.ts';
import {
  COARSE_SHARES,
  type Curve,
  curveOf,
  EVERY_SHARE,
  gatherSpoken,
  type PredictedChannel,
  type Spoken,
  USUAL_PATTERN,
  type Weighed,
  weighPatterns,
} from './joint-signs.ts';
import { type Field, type FieldModel, fieldModels, makeField } from './scatter-field.ts';
import {
  AIR_SHARES,
  type Channel,
  type ChannelKind,
  type ChannelReading,
  lowTail,
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
const USUAL_SCATTER = { radon: 0.55, gas: 0.22, suction: 0.4 } as const;
/** Of the logarithm of the scatter. */
const SCATTER_SPREAD = { radon: 0.5, gas: 0.8, suction: 0.5 } as const;
/** Variance that a chance p of dilution adds to a hole's word on its neighbours: little under one in five, all from one in two. */
const distrustOf = (p: number) => (6 * p ** 2.5) / (1 - p);
const ROUNDS = 4;
const ROUNDS_OF_LARGE_LOT = 3;
const KEEP_MODEL = 0.01;
/** So much of a hole's own chance stays when models are weighed. */
const GUESS_KEPT = { radon: 1, gas: 0.3, suction: 1 } as const;

export interface SampleOdds {
  /** Likelihood ratio of all signs together: over 1 speaks for outside air. */
  readonly ratio: number;
  /**
   * Standard normal deviate that a clean sample passes as seldom as this ratio; 0 where it speaks for clean. Raised a
   * little where many samples of the lot seem to leak, lowered where none does.
   */
  readonly z: number;
  /** The same for each sign alone. */
  readonly alone: { readonly [K in ChannelKind]?: { readonly ratio: number; readonly z: number } };
  /** Share of outside air by all signs together, median and 90 % interval, given that there is some. */
  readonly airShare: { readonly median: number; readonly low: number; readonly high: number };
  /** The same by oxygen and carbon dioxide alone. */
  readonly gasAirShare: { readonly median: number; readonly low: number; readonly high: number } | null;
  /** Robust z of the log radon value against the other holes, and what they predict (log) at this depth. */
  readonly radon: {
    readonly z: number;
    readonly logPredicted: number;
    readonly neighbourCount: number;
  } | null;
  /** Predicted at this sample's flow. */
  readonly suction: { readonly z: number; readonly logPredicted: number } | null;
}

interface ChannelState {
  readonly channel: Channel;
  readonly field: Field;
  models: FieldModel[];
  predictions: PredictedChannel['predictions'];
}

/**
 * How much likelier a sample's numbers are with outside air in them than without, all signs taken together.
 *
 * Outside air of share m takes every excess of the ground over the air to (1 - m) of itself: radon, the oxygen
 * deficit, the carbon dioxide excess; and, pumped at the same flow, the suction too, since only (1 - m) of it passes
 * the soil. On logs all shift by ln(1 - m) together. What each would be without a leak comes from the other holes
 * (`scatter-field.ts`), what the signs have in common without a leak from the lot (`joint-signs.ts`); m is averaged
 * over.
 *
 * Priors, none of them measured: m even from 0 to 1; 12 % of samples diluted, as far as the lot itself does not say
 * otherwise; scatter between holes about GSD 1.7 for radon, 1.25 for the gases, 1.5 for suction, the log scatter free
 * by a factor of 1.6 (gases 2.2); one hole in 25 odd by nature (2.5 times the scatter); one in ten of suctions from a looser lens
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
    models: fieldModels(USUAL_SCATTER[channel.kind], SCATTER_SPREAD[channel.kind]),
    predictions: [],
  }));
  const ids = new Set([
    ...channels.flatMap((c) => c.readings.map((r) => r.sampleId)),
    ...direct.map((d) => d.sampleId),
  ]);
  const rounds = channels.every((c) => c.points.length <= MOST_JUDGES) ? ROUNDS : ROUNDS_OF_LARGE_LOT;
  const hasOneGas = channels.filter((c) => c.kind === 'gas').length === 1;
  let rate = PRIOR_DILUTED;
  let patterns: readonly Weighed[] = [{ pattern: USUAL_PATTERN, weight: 1 }];
  let chance = firstGuess(channels, ids, certain);
  let curves = new Map<string, Curve>();
  for (let round = 0; round < rounds; round++) {
    for (const state of states)
      refit(state, chance, rate, round === 0, hasOneGas && state.channel.kind === 'gas');
    const spoken = gatherSpoken(states);
    if (round === 1 || round === rounds - 1) patterns = weighPatterns(spoken, rate);
    const isLast = round === rounds - 1;
    curves = gatherCurves(spoken, direct, patterns, isLast ? EVERY_SHARE : COARSE_SHARES);
    const next = new Map<string, number>();
    let sum = 0;
    for (const [id, curve] of curves) {
      const ratio = isLast ? ratioOf(curve.all) : coarseRatio(curve.all);
      const odds = (rate / (1 - rate)) * ratio;
      const p = certain.has(id) ? 0.98 : Math.min(0.98, odds / (1 + odds));
      next.set(id, p);
      sum += p;
    }
    chance = next;
    rate = Math.min(0.4, (sum + RATE_WORTH * PRIOR_DILUTED) / (curves.size + RATE_WORTH));
  }
  // Half of what the lot says of its leaks: the other half may be its ground.
  const lean = Math.sqrt(((rate / (1 - rate)) * (1 - PRIOR_DILUTED)) / PRIOR_DILUTED);
  const readings = new Map<string, { [K in Channel['kind']]?: ChannelReading }>();
  for (const { kind, readings: list } of channels)
    for (const r of list) readings.set(r.sampleId, { ...readings.get(r.sampleId), [kind]: r });
  return new Map(
    [...curves].map(([id, curve]) => [id, summarise(curve, states, readings.get(id) ?? {}, lean)]),
  );
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

function refit(
  state: ChannelState,
  chance: ReadonlyMap<string, number>,
  rate: number,
  isFirst: boolean,
  isOnlyGas: boolean,
): void {
  const { channel, field } = state;
  const n = channel.points.length;
  const chanceAt = channel.pointSampleIds.map((id) => chance.get(id) ?? PRIOR_DILUTED);
  const distrust = Float64Array.from(chanceAt, distrustOf);
  const judges =
    n > MOST_JUDGES
      ? Int32Array.from({ length: MOST_JUDGES }, (_, i) => Math.floor((i * n) / MOST_JUDGES))
      : Int32Array.from({ length: n }, (_, i) => i);
  const shares = isOnlyGas ? BUT_LAST_SHARES : COARSE_SHARES;
  const readingOf = new Map(channel.readings.map((r) => [r.sampleId, r]));
  const whole = n <= MOST_JUDGES;
  const predictions = state.models.map((model) => ({
    model,
    predicted: field.predict(model, distrust, whole ? undefined : judges),
  }));
  const candidates = predictions.flatMap((p) =>
    shapesOf(channel.kind, p.model).map((isEven) => ({ ...p, isEven })),
  );
  const fits = candidates.map(({ model, predicted, isEven }) => {
    let logWeight = model.logPrior;
    for (const i of judges) {
      const reading = readingOf.get(channel.pointSampleIds[i]!);
      if (reading === undefined) continue;
      // Not all of a hole's own chance: what was taken for a leak in one round would be left out of the scatter in the next.
      const p = Math.max(rate, GUESS_KEPT[channel.kind] * chanceAt[i]!);
      const at = { mean: predicted.mean[i]!, variance: predicted.variance[i]!, isEven };
      let leaky = 0;
      for (const k of shares) leaky += readingDensity(channel.kind, reading, at, k) / shares.length;
      logWeight += Math.log((1 - p) * readingDensity(channel.kind, reading, at, -1) + p * leaky + 1e-300);
    }
    return { model, predicted, isEven, logWeight };
  });
  const top = Math.max(...fits.map((f) => f.logWeight));
  const sum = fits.reduce((s, f) => s + Math.exp(f.logWeight - top), 0);
  const weighted = fits.map((f) => ({ ...f, weight: Math.exp(f.logWeight - top) / sum }));
  const kept = weighted.filter((f) => f.weight >= (whole ? KEEP_MODEL : 0.1));
  const keptSum = kept.reduce((s, f) => s + f.weight, 0);
  state.predictions = kept.map((f) => ({
    weight: f.weight / keptSum,
    isEven: f.isEven,
    ...(whole ? f.predicted : field.predict(f.model, distrust)),
  }));
  // The first round still believes every leak; models that only later prove right must not be dropped by it.
  if (!isFirst) {
    const used = new Set(weighted.filter((f) => f.weight >= 1e-4).map((f) => f.model));
    state.models = state.models.filter((m) => used.has(m));
  }
}

/**
 * Even gas shows the gaps between five shares as scatter. Of two gases one mostly falls where the other does not, and
 * the wider scatter keeps false alarms fewer on ground that the models do not know.
 */
const BUT_LAST_SHARES = EVERY_SHARE.slice(0, -2);

/** Numbers that scatter evenly about their mean by more than this would pass under nothing. */
const MOST_EVEN_SCATTER = { radon: 0.6, gas: 0.4, suction: 0 } as const;

function shapesOf(kind: Channel['kind'], model: FieldModel): readonly boolean[] {
  return model.scatter > MOST_EVEN_SCATTER[kind] ? [false] : [false, true];
}

/** So many points of a large lot choose its models. */
const MOST_JUDGES = 64;

function gatherCurves(
  spoken: ReadonlyMap<string, readonly Spoken[]>,
  direct: readonly DirectEvidence[],
  patterns: readonly Weighed[],
  shares: readonly number[],
): Map<string, Curve> {
  const curves = new Map([...spoken].map(([id, list]) => [id, curveOf(list, patterns, shares)]));
  for (const { sampleId, ratio, variance } of direct) {
    const before = curves.get(sampleId);
    const all = before === undefined ? ratio : before.all.map((v, k) => v * ratio[k]!);
    curves.set(sampleId, {
      all,
      alone: { ...before?.alone, repeat: { ratio, variance } },
      variance: before?.variance ?? variance,
    });
  }
  return curves;
}

function coarseRatio(curve: Float64Array): number {
  return COARSE_SHARES.reduce((sum, k) => sum + curve[k]!, 0) / COARSE_SHARES.length;
}

function summarise(
  curve: Curve,
  states: readonly ChannelState[],
  readings: { readonly [K in Channel['kind']]?: ChannelReading },
  lean: number,
): SampleOdds {
  const alone = Object.fromEntries(
    Object.entries(curve.alone).map(([kind, c]) => {
      const ratio = ratioOf(c.ratio);
      return [kind, { ratio, z: equivalentZ(ratio, c.variance) }];
    }),
  );
  const ratio = ratioOf(curve.all);
  return {
    ratio,
    z: equivalentZ(ratio * lean, curve.variance),
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
      tail += p.weight * lowTail(reading, p.mean[reading.point]!, p.variance[reading.point]!);
      logPredicted += p.weight * (p.mean[reading.point]! - reading.offset);
    }
    const z = normalQuantile(Math.min(Math.max(tail, 1e-15), 1 - 1e-15));
    return { z, logPredicted, neighbourCount: field.neighbourCount };
  }
  return null;
}
