// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import type { Probe, Sample } from '../contract/model.ts';
import { OUTSIDE_AIR } from '../soil/mixing.ts';
import type { DirectEvidence } from './dilution-odds.ts';
import { describedGround, sampleDepthM, uncertaintyOf } from './sample-facts.ts';
import type { FieldPoint } from './scatter-field.ts';
import { AIR_SHARES, type Channel, type ChannelReading, normalDensity } from './sign-density.ts';

/**
 * What hand-held meters resolve (standard uncertainty), and radon and suction that count as nothing. Assumptions of
 * this program from common meter sheets: 0.2 % oxygen, 0.05 % carbon dioxide and 3 % of it.
 */
const METER = {
  oxygen: { floor: 0.15, u: 0.2, uRel: 0 },
  carbonDioxide: { floor: 0.05, u: 0.05, uRel: 0.03 },
  radon: { floor: 0.05 },
  suction: { floor: 20, u: 10, uRel: 0.05 },
} as const;

/** Fewer holes than this and nothing is said of what a hole should show. */
const FEWEST = { radon: 8, gas: 6, suction: 6 } as const;

/** Two draws of one hole agree within this (relative, k = 1) beside their own uncertainty: common practice, 4 % seen within 1 m. */
const REPEAT_U_REL = 0.08;
/** Chance that a leak was there at both draws alike. */
const LEAK_STAYS = 0.7;

export interface DilutionSigns {
  readonly channels: readonly Channel[];
  readonly direct: readonly DirectEvidence[];
}

/** A number of one sample: its excess over outside air, on the way to a channel. */
interface Part {
  readonly excess: number;
  readonly floor: number;
  readonly u: number;
  readonly uRel: number;
}

/**
 * Everything in the lot's samples that outside air would move.
 * @param usable samples with gas in them: neither blanks nor out of a wet probe
 * @param certain ids of samples that other signs already show to be diluted
 */
export function gatherSigns(
  usable: readonly Sample[],
  probeById: ReadonlyMap<string, Probe>,
  certain: ReadonlySet<string>,
  referenceDepthM: number,
): DilutionSigns {
  const holes = groupByHole(usable, probeById, certain);
  const channels: Channel[] = [];
  const offer = (kind: Channel['kind'], channel: Channel | null) => {
    if (channel !== null && channel.points.length >= FEWEST[kind]) channels.push(channel);
  };
  offer('radon', radonChannel(holes, referenceDepthM));
  for (const channel of gasChannels(holes)) offer('gas', channel);
  offer('suction', suctionChannel(holes));
  return { channels, direct: holes.flatMap(repeatEvidence) };
}

interface Hole {
  readonly probe: Probe;
  /** In order of trust: first the sample that speaks for the hole. */
  readonly samples: readonly Sample[];
}

/** Holes by place and their samples by value, so that the order of rows cannot matter. Dilution only lowers: the highest speaks. */
function groupByHole(
  usable: readonly Sample[],
  probeById: ReadonlyMap<string, Probe>,
  certain: ReadonlySet<string>,
): Hole[] {
  const byProbe = new Map<string, Sample[]>();
  for (const s of usable) {
    const group = byProbe.get(s.probeId);
    if (group === undefined) byProbe.set(s.probeId, [s]);
    else group.push(s);
  }
  const trust = (s: Sample) => (certain.has(s.id) ? 0 : 1);
  const holes = [...byProbe].flatMap(([id, samples]) => {
    const probe = probeById.get(id);
    if (probe === undefined) return [];
    const sorted = [...samples].sort(
      (a, b) =>
        trust(b) - trust(a) ||
        (radonOf(b)?.value ?? -1) - (radonOf(a)?.value ?? -1) ||
        (b.oxygenPct ?? 0) - (a.oxygenPct ?? 0),
    );
    return [{ probe, samples: sorted }];
  });
  const key = (h: Hole) => [h.probe.positionM[0], h.probe.positionM[1], radonOf(h.samples[0]!)?.value ?? 0];
  return holes.sort((a, b) => {
    const ka = key(a);
    const kb = key(b);
    return ka[0]! - kb[0]! || ka[1]! - kb[1]! || ka[2]! - kb[2]!;
  });
}

function radonOf(s: Sample): { readonly value: number; readonly u: number } | null {
  if (s.radonKBqPerM3 !== null) return { value: Math.max(s.radonKBqPerM3, 0), u: uncertaintyOf(s) };
  if (s.radonBelowKBqPerM3 !== null) return { value: s.radonBelowKBqPerM3, u: 0.3 * s.radonBelowKBqPerM3 };
  return null;
}

/** Relaxation depth used only to compare holes of different depth: C(z) = Cinf (1 - exp(-z/L)), L 1 m for ordinary moist till. */
const COMPARISON_LENGTH_M = 1;

function radonChannel(holes: readonly Hole[], referenceDepthM: number): Channel {
  return build('radon', holes, (sample, probe) => {
    const radon = radonOf(sample);
    if (radon === null) return null;
    const depthM = sampleDepthM(sample, probe) ?? referenceDepthM;
    const reached = (z: number) => 1 - Math.exp(-Math.max(z, 0.05) / COMPARISON_LENGTH_M);
    const toReference = Math.log(reached(referenceDepthM) / reached(depthM));
    return {
      parts: [{ excess: radon.value, floor: METER.radon.floor, u: radon.u, uRel: 0 }],
      offset: toReference,
      extraVariance: (0.5 * toReference) ** 2,
      group: null,
      priorMean: Math.log(30),
    };
  });
}

/** Oxygen and carbon dioxide as one number where both were read, else each alone: both show one share of air. */
function gasChannels(holes: readonly Hole[]): Channel[] {
  const oxygen = (s: Sample): Part | null =>
    s.oxygenPct === null
      ? null
      : { excess: Math.max(OUTSIDE_AIR.oxygenPct - s.oxygenPct, 0), ...METER.oxygen };
  const carbon = (s: Sample): Part | null =>
    s.carbonDioxidePct === null
      ? null
      : { excess: Math.max(s.carbonDioxidePct - OUTSIDE_AIR.carbonDioxidePct, 0), ...METER.carbonDioxide };
  const channelOf = (take: (s: Sample) => (Part | null)[]) =>
    build('gas', holes, (sample) => {
      const parts = take(sample);
      return parts.some((p) => p === null)
        ? null
        : { parts: parts as Part[], offset: 0, extraVariance: 0, group: null, priorMean: GAS_PRIOR_MEAN };
    });
  const both = channelOf((s) => [oxygen(s), carbon(s)]);
  if (both.points.length >= FEWEST.gas) {
    const read = new Set(both.readings.map((r) => r.sampleId));
    const rest = [channelOf((s) => [oxygen(s)]), channelOf((s) => [carbon(s)])].map((c) => ({
      ...c,
      readings: c.readings.filter((r) => !read.has(r.sampleId)),
    }));
    return [both, ...rest.filter((c) => c.readings.length > 0)].slice(0, 2);
  }
  const [o, c] = [channelOf((s) => [oxygen(s)]), channelOf((s) => [carbon(s)])];
  return [o.points.length >= c.points.length ? o : c];
}

const USUAL_GAS_SPREAD = 0.3;
/** Excess of about 2 % by volume. */
const GAS_PRIOR_MEAN = Math.log(2);

/** Log suction in Pa to expect at a sampling flow: orders of magnitude, wide in the model. */
const SUCTION_PRIOR = {
  low: Math.log(4000),
  medium: Math.log(800),
  high: Math.log(80),
  unknown: Math.log(800),
} as const;

function suctionChannel(holes: readonly Hole[]): Channel {
  return build('suction', holes, (sample, probe) => {
    if (sample.suctionPa === null) return null;
    const ground = describedGround(probe);
    return {
      parts: [{ excess: Math.max(sample.suctionPa, 0), ...METER.suction }],
      offset: 0,
      extraVariance: 0,
      group: ground.key,
      priorMean: SUCTION_PRIOR[ground.cls ?? 'unknown'],
    };
  });
}

interface Taken {
  readonly parts: readonly Part[];
  readonly offset: number;
  readonly extraVariance: number;
  readonly group: string | null;
  readonly priorMean: number;
}

function build(
  kind: Channel['kind'],
  holes: readonly Hole[],
  take: (sample: Sample, probe: Probe) => Taken | null,
): Channel {
  const perHole = holes.flatMap(({ probe, samples }) => {
    const taken = samples.flatMap((sample) => {
      const t = take(sample, probe);
      return t === null ? [] : [{ sample, taken: t }];
    });
    return taken.length === 0 ? [] : [{ probe, taken }];
  });
  const scales = scalesOf(perHole.map((h) => h.taken[0]!.taken));
  const points: FieldPoint[] = [];
  const pointSampleIds: string[] = [];
  const readings: ChannelReading[] = [];
  for (const { probe, taken } of perHole) {
    const point = points.length;
    taken.forEach(({ sample, taken: t }, i) => {
      const logValue = sumOf(t.parts, (p, k) => scales[k]!.weight * Math.log(p.excess + p.floor)) + t.offset;
      // The reading's own error is judged at what it would be there, since a low reading looks surer than it is.
      const variance = (left: number) =>
        t.extraVariance +
        sumOf(t.parts, (p, k) => {
          const level = kind === 'gas' ? scales[k]!.level : p.excess;
          const at = kind === 'gas' ? level * left : level;
          return (scales[k]!.weight ** 2 * (p.u ** 2 + (p.uRel * at) ** 2)) / (at + p.floor) ** 2;
        });
      const shift = AIR_SHARES.map((m) =>
        sumOf(t.parts, (p, k) => {
          const { level, weight } = scales[k]!;
          return weight * Math.log((level * (1 - m) + p.floor) / (level + p.floor));
        }),
      );
      const scatterLeft = AIR_SHARES.map((m) =>
        sumOf(t.parts, (p, k) => {
          const left = scales[k]!.level * (1 - m);
          return (scales[k]!.weight * left) / (left + p.floor);
        }),
      );
      readings.push({
        sampleId: sample.id,
        point,
        logValue,
        shift,
        scatterLeft,
        errorVariance: AIR_SHARES.map((m) => Math.min(variance(1 - m), 1)),
        cleanErrorVariance: Math.min(variance(1), 1),
      });
      if (i > 0) return;
      pointSampleIds.push(sample.id);
      points.push({
        xM: probe.positionM[0],
        yM: probe.positionM[1],
        logValue,
        errorVariance: Math.min(variance(1), 1),
        group: t.group,
        priorMean: t.priorMean,
      });
    });
  }
  return { kind, points, pointSampleIds, readings };
}

/**
 * Level and weight of each part. The level is the upper third's edge, since leaks only lower. Two gases are weighed
 * by how little each scatters above its median.
 */
function scalesOf(taken: readonly Taken[]): { level: number; weight: number }[] {
  const count = taken[0]?.parts.length ?? 0;
  const raw = Array.from({ length: count }, (_, k) => {
    const parts = taken.map((t) => t.parts[k]!);
    const sorted = parts.map((p) => p.excess).sort((a, b) => a - b);
    const rank = (p: number) => sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))]!;
    const { floor, u } = parts[0]!;
    const level = Math.max(rank(0.6), floor);
    const upper = Math.log((rank(0.85) + floor) / (rank(0.5) + floor)) / 1.04;
    // A spread of fifteen numbers is itself uncertain: held towards the usual one.
    const scatter = 0.3 * Math.max(upper, 0.08) ** 2 + 0.7 * USUAL_GAS_SPREAD ** 2;
    const variance = scatter + (u / (level + floor)) ** 2;
    return { level, precision: 1 / variance };
  });
  const total = raw.reduce((s, r) => s + r.precision, 0);
  return raw.map(({ level, precision }) => ({ level, weight: precision / total }));
}

function sumOf<T>(items: readonly T[], of: (item: T, index: number) => number): number {
  return items.reduce((sum, item, i) => sum + of(item, i), 0);
}

/**
 * The lower of two draws of one hole against the higher: ground does not change between them, a leak can. Where both
 * agree little is said, as a leak may have been there both times. Duplicates are drawn together and say nothing.
 */
function repeatEvidence({ samples }: Hole): DirectEvidence[] {
  const drawn = samples.filter((s) => s.kind !== 'duplicate' && s.radonKBqPerM3 !== null);
  const [highest, ...rest] = [...drawn].sort((a, b) => b.radonKBqPerM3! - a.radonKBqPerM3!);
  if (highest === undefined) return [];
  const high = highest.radonKBqPerM3!;
  return rest.flatMap((sample) => {
    const low = Math.max(sample.radonKBqPerM3!, 0);
    if (!sameDepth(sample, highest) || high <= 0) return [];
    const d = Math.log((low + METER.radon.floor) / (high + METER.radon.floor));
    const relative = (s: Sample) => uncertaintyOf(s) / Math.max(high, 1e-9);
    const variance = Math.min(relative(sample) ** 2 + relative(highest) ** 2, 0.5) + 2 * REPEAT_U_REL ** 2;
    const clean = 0.98 * normalDensity(d, variance) + 0.02 * normalDensity(d, variance + 0.35 ** 2);
    const ratio = AIR_SHARES.map((m) => {
      const shift = Math.log((high * (1 - m) + METER.radon.floor) / (high + METER.radon.floor));
      return LEAK_STAYS + ((1 - LEAK_STAYS) * normalDensity(d - shift, variance)) / clean;
    });
    return [{ sampleId: sample.id, ratio, variance }];
  });
}

function sameDepth(a: Sample, b: Sample): boolean {
  return a.depthM === null || b.depthM === null || Math.abs(a.depthM - b.depthM) <= 0.1;
}
