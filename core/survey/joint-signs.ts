// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import {
  type Channel,
  type ChannelKind,
  type ChannelReading,
  type Prediction,
  rareDensity,
  rareShare,
  SHARES,
  usualDensity,
} from './sign-density.ts';

/** A channel with what the other holes predict of it, by several models. */
export interface PredictedChannel {
  readonly channel: Channel;
  readonly predictions: readonly {
    readonly weight: number;
    readonly isEven: boolean;
    readonly mean: Float64Array;
    readonly variance: Float64Array;
  }[];
}

/** Likelihood ratio at each share of outside air. */
export interface Curve {
  readonly all: Float64Array;
  readonly alone: Partial<Record<ChannelKind, { readonly ratio: Float64Array; readonly variance: number }>>;
  /** Variance of the log shift that all signs together can tell. */
  readonly variance: number;
}

/** What one channel says of one sample, before it is set against no leak. */
export interface Spoken {
  readonly kind: Channel['kind'];
  readonly reading: ChannelReading;
  readonly at: readonly (Prediction & { readonly weight: number })[];
  readonly pooled: Prediction;
  readonly fieldVariance: number;
}

export function gatherSpoken(states: readonly PredictedChannel[]): Map<string, Spoken[]> {
  const spoken = new Map<string, Spoken[]>();
  for (const { channel, predictions } of states) {
    for (const reading of channel.readings) {
      const at = [false, true].flatMap((isEven) =>
        mergePredictions(
          predictions
            .filter((p) => p.isEven === isEven)
            .map((p) => ({
              weight: p.weight,
              isEven,
              mean: p.mean[reading.point]!,
              variance: p.variance[reading.point]!,
            })),
        ),
      );
      const fieldVariance = at.reduce((sum, p) => sum + p.weight * p.variance, 0);
      const list = spoken.get(reading.sampleId) ?? [];
      const pooled = {
        isEven: false,
        mean: at.reduce((sum, p) => sum + p.weight * p.mean, 0),
        variance: fieldVariance,
      };
      list.push({ kind: channel.kind, reading, at, pooled, fieldVariance });
      spoken.set(reading.sampleId, list);
    }
  }
  return spoken;
}

/** Predictions of many models as two, by their moments: narrow and wide. */
const MERGED = 2;

function mergePredictions(
  all: readonly (Prediction & { readonly weight: number })[],
): (Prediction & { readonly weight: number })[] {
  if (all.length <= MERGED) return [...all];
  const sorted = [...all].sort((a, b) => a.variance - b.variance);
  const total = sorted.reduce((sum, p) => sum + p.weight, 0);
  const bins: { weight: number; mean: number; square: number; variance: number }[] = [];
  let before = 0;
  for (const p of sorted) {
    const bin = Math.min(MERGED - 1, Math.floor((MERGED * (before + 0.5 * p.weight)) / total));
    before += p.weight;
    bins[bin] ??= { weight: 0, mean: 0, square: 0, variance: 0 };
    const b = bins[bin];
    b.weight += p.weight;
    b.mean += p.weight * p.mean;
    b.square += p.weight * p.mean ** 2;
    b.variance += p.weight * p.variance;
  }
  const isEven = sorted[0]!.isEven;
  return bins
    .filter((b) => b !== undefined)
    .map(({ weight, mean, square, variance }) => {
      const m = mean / weight;
      return { weight, isEven, mean: m, variance: variance / weight + Math.max(square / weight - m * m, 0) };
    });
}

/**
 * How the signs of a hole go together without any leak. Where ground is looser it breathes: radon, gases and suction
 * are all lower by one factor, which looks like a little outside air. Or both gases go together, made by the same
 * respiration; or radon with them, held by the same cover. Which of these, and how much, is learnt from the lot.
 */
interface Pattern {
  readonly prior: number;
  /** Standard deviation that each channel has in common with the others. */
  readonly loads: (list: readonly Spoken[]) => number[];
}

export interface Weighed {
  readonly pattern: Pattern;
  readonly weight: number;
}

/** Equal shift of all logs; of what is left to the gases, they have this share in common besides. */
function breathing(sd: number, gasShare: number, prior: number): Pattern {
  return {
    prior,
    loads: (list) =>
      list.map(({ kind, fieldVariance }) => {
        const shared = Math.min(sd * sd, MOST_SHARED * fieldVariance);
        return Math.sqrt(kind === 'gas' ? shared + gasShare * (fieldVariance - shared) : shared);
      }),
  };
}

/** Share of each one's variance. */
function going(together: readonly Channel['kind'][], share: number, prior: number): Pattern {
  return {
    prior,
    loads: (list) => list.map((s) => (together.includes(s.kind) ? Math.sqrt(share * s.fieldVariance) : 0)),
  };
}

const MOST_SHARED = 0.8;
export const USUAL_PATTERN = breathing(0.2, 0.5, 1);
const PATTERNS: readonly Pattern[] = [
  breathing(0.06, 0, 0.05),
  breathing(0.12, 0.5, 0.15),
  breathing(0.2, 0.5, 0.2),
  breathing(0.2, 0.85, 0.1),
  breathing(0.28, 0.5, 0.1),
  going(['gas'], 0.6, 0.1),
  going(['gas'], 0.9, 0.15),
  going(['radon', 'gas'], 0.35, 0.08),
  going(['radon', 'gas'], 0.8, 0.07),
];
const KEEP_PATTERN = 0.05;

/** Even steps of half a standard deviation, weighted as a normal deviate: close enough for no gaps between them. */
const SHARED_RULE = (() => {
  const at = Array.from({ length: 13 }, (_, i) => 0.5 * (i - 6));
  const weights = at.map((a) => Math.exp(-0.5 * a * a));
  const total = weights.reduce((sum, w) => sum + w, 0);
  return at.map((a, i) => ({ at: a, weight: weights[i]! / total }));
})();
/** These shares of outside air, alike in weight, are enough on the way to the last round. */
export const COARSE_SHARES = [1, 5, 9, 13, 17];
const FEWEST_SHARES = [5, 10, 16];
export const EVERY_SHARE = Array.from({ length: SHARES }, (_, k) => k);

/** So many samples of a large lot choose its pattern. */
const MOST_JUDGES = 64;

/** Chance of each pattern by how likely it makes all samples, leaks allowed for. */
export function weighPatterns(spoken: ReadonlyMap<string, readonly Spoken[]>, rate: number): Weighed[] {
  const several = [...spoken.values()].filter((list) => list.length > 1).slice(0, MOST_JUDGES);
  const logs = PATTERNS.map((pattern) => {
    let sum = Math.log(pattern.prior);
    for (const list of several) {
      const loads = pattern.loads(list);
      let leaky = 0;
      for (const k of FEWEST_SHARES) leaky += densityOf(list, loads, k).joint / FEWEST_SHARES.length;
      sum += Math.log((1 - rate) * densityOf(list, loads, -1).joint + rate * leaky + 1e-300);
    }
    return sum;
  });
  const top = Math.max(...logs);
  const weights = logs.map((l) => Math.exp(l - top));
  const total = weights.reduce((a, b) => a + b, 0);
  const kept = PATTERNS.map((pattern, i) => ({ pattern, weight: weights[i]! / total })).filter(
    (w) => w.weight >= KEEP_PATTERN,
  );
  const keptTotal = kept.reduce((sum, w) => sum + w.weight, 0);
  return kept.map((w) => ({ ...w, weight: w.weight / keptTotal }));
}

function averageDensity(
  { kind, reading, at, pooled }: Spoken,
  k: number,
  shift: number,
  variance: number,
): number {
  const nature = { shift, variance };
  const rare = rareShare(kind);
  let usual = 1e-300;
  for (const p of at) usual += p.weight * usualDensity(reading, p, k, nature);
  return (1 - rare) * usual + rare * rareDensity(kind, reading, pooled, k, nature);
}

/** Density with share number `k` of outside air (-1: none): of all channels, of the gases, and of each alone. */
function densityOf(
  list: readonly Spoken[],
  loads: readonly number[],
  k: number,
): { joint: number; gas: number; alone: number[] } {
  const alone = list.map(() => 0);
  let joint = 0;
  let gas = 0;
  for (const { at, weight } of SHARED_RULE) {
    let product = weight;
    let gasProduct = weight;
    list.forEach((s, i) => {
      const load = loads[i]!;
      // What shares nothing need not be worked out for every step.
      const density = load === 0 && alone[i]! > 0 ? alone[i]! : averageDensity(s, k, at * load, load * load);
      product *= density;
      if (s.kind === 'gas') gasProduct *= density;
      if (load === 0) alone[i] = density;
      else alone[i]! += weight * density;
    });
    joint += product;
    gas += gasProduct;
  }
  return { joint, gas, alone };
}

export function curveOf(
  list: readonly Spoken[],
  patterns: readonly Weighed[],
  shares: readonly number[],
): Curve {
  const all = new Float64Array(SHARES);
  const gas = new Float64Array(SHARES);
  const each = list.map(() => new Float64Array(SHARES));
  const clean = { all: 0, gas: 0, each: list.map(() => 0) };
  let information = 0;
  for (const { pattern, weight } of patterns) {
    const loads = pattern.loads(list);
    const without = densityOf(list, loads, -1);
    clean.all += weight * without.joint;
    clean.gas += weight * without.gas;
    without.alone.forEach((d, i) => {
      clean.each[i]! += weight * d;
    });
    for (const k of shares) {
      const leaky = densityOf(list, loads, k);
      all[k]! += weight * leaky.joint;
      gas[k]! += weight * leaky.gas;
      leaky.alone.forEach((d, i) => {
        each[i]![k]! += weight * d;
      });
    }
    information += weight * informationOf(list, loads);
  }
  const alone: { -readonly [K in ChannelKind]?: { ratio: Float64Array; variance: number } } = {};
  list.forEach((s, i) => {
    const variance = s.fieldVariance + s.reading.cleanErrorVariance;
    const before = alone[s.kind]?.variance;
    alone[s.kind] = {
      ratio: s.kind === 'gas' ? gas.map((v) => v / clean.gas) : each[i]!.map((v) => v / clean.each[i]!),
      variance: before === undefined ? variance : 1 / (1 / before + 1 / variance),
    };
  });
  return { all: all.map((v) => v / clean.all), alone, variance: 1 / information };
}

/** Of a shift that all logs have in common, where each has its own variance and one part is shared. */
function informationOf(list: readonly Spoken[], loads: readonly number[]): number {
  let own = 0;
  let mixed = 0;
  let shared = 0;
  list.forEach((s, i) => {
    const load = loads[i]!;
    const variance = s.fieldVariance + s.reading.cleanErrorVariance - load * load;
    own += 1 / variance;
    mixed += load / variance;
    shared += load ** 2 / variance;
  });
  return own - mixed ** 2 / (1 + shared);
}
