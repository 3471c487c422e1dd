// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import type { Probe, Sample } from '../contract/model.ts';
import { median } from '../median.ts';
import { OUTSIDE_AIR } from '../soil/mixing.ts';
import type { DirectEvidence } from './dilution-odds.ts';
import { describedGround, sampleDepthM, uncertaintyOf } from './sample-facts.ts';
import type { FieldPoint } from './scatter-field.ts';
import { AIR_SHARES, type Channel, type ChannelReading, normalDensity } from './sign-density.ts';
import { ASSUMED_RELATIVE_U } from './thresholds.ts';

/**
 * What hand-held meters resolve (standard uncertainty), and radon and suction that count as nothing. Assumptions of
 * this program from common meter sheets: 0.2 % oxygen, 0.05 % carbon dioxide and 3 % of it.
 */
const METER = {
  oxygen: { floor: 0.15, u: 0.2, uRel: 0, most: 22 },
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
  /** The excess cannot pass this: oxygen ends at 0 %, and lots near it crowd there. */
  readonly most?: number;
}

/** Log of an excess; near its end stretched, so that scatter is alike on both sides. */
function scaled(x: number, { floor, most }: Part): number {
  return Math.log(x + floor) - (most === undefined ? 0 : Math.log(1 - x / most));
}

/** What the scaled value gains by 1 of the excess. */
function slopeAt(x: number, { floor, most }: Part): number {
  return 1 / (x + floor) + (most === undefined ? 0 : 1 / (most - x));
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
      part: { excess: radon.value, floor: METER.radon.floor, u: radon.u, uRel: 0 },
      offset: toReference,
      extraVariance: (0.5 * toReference) ** 2,
      group: null,
      priorMean: Math.log(30),
    };
  });
}

/**
 * Oxygen and carbon dioxide each by itself: one is often much evener over a lot than the other, and then speaks
 * louder. That both go together in some ground is allowed for where the signs are joined.
 */
function gasChannels(holes: readonly Hole[]): Channel[] {
  const oxygen = (s: Sample): Part | null =>
    s.oxygenPct === null
      ? null
      : {
          excess: Math.min(Math.max(OUTSIDE_AIR.oxygenPct - s.oxygenPct, 0), OUTSIDE_AIR.oxygenPct),
          ...METER.oxygen,
        };
  const carbon = (s: Sample): Part | null =>
    s.carbonDioxidePct === null
      ? null
      : { excess: Math.max(s.carbonDioxidePct - OUTSIDE_AIR.carbonDioxidePct, 0), ...METER.carbonDioxide };
  return [oxygen, carbon].map((take) =>
    build('gas', holes, (sample) => {
      const part = take(sample);
      return part === null
        ? null
        : { part, offset: 0, extraVariance: 0, group: null, priorMean: GAS_PRIOR_MEAN };
    }),
  );
}

/** Excess of about 2 % by volume. */
const GAS_PRIOR_MEAN = Math.log(2);

/** Log suction in Pa to expect at a sampling flow: orders of magnitude, wide in the model. */
const SUCTION_PRIOR = {
  low: Math.log(4000),
  medium: Math.log(800),
  high: Math.log(80),
  unknown: Math.log(800),
} as const;

/** Suction at one flow: by Darcy it is in proportion to it. A draw without a noted flow is taken to have the usual one. */
function suctionChannel(holes: readonly Hole[]): Channel {
  const flows = holes.flatMap((h) => h.samples.flatMap((s) => flowOf(s) ?? []));
  const usualFlow = flows.length === 0 ? 1 : median(flows);
  return build('suction', holes, (sample, probe) => {
    if (sample.suctionPa === null) return null;
    const ground = describedGround(probe);
    return {
      part: { excess: Math.max(sample.suctionPa, 0), ...METER.suction },
      offset: Math.log(usualFlow / (flowOf(sample) ?? usualFlow)),
      extraVariance: 0,
      group: ground.key,
      priorMean: SUCTION_PRIOR[ground.cls ?? 'unknown'],
    };
  });
}

function flowOf({ flowMlPerMin }: Sample): number | null {
  return flowMlPerMin !== undefined && flowMlPerMin > 0 ? flowMlPerMin : null;
}

interface Taken {
  readonly part: Part;
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
  const level = levelOf(perHole.map((h) => h.taken[0]!.taken.part));
  const points: FieldPoint[] = [];
  const pointSampleIds: string[] = [];
  const readings: ChannelReading[] = [];
  for (const { probe, taken } of perHole) {
    const point = points.length;
    taken.forEach(({ sample, taken: t }, i) => {
      const { part } = t;
      const { excess, floor, u, uRel } = part;
      const logValue = scaled(excess, part) + t.offset;
      const errorAt = (x: number) => t.extraVariance + (u ** 2 + (uRel * x) ** 2) * slopeAt(x, part) ** 2;
      // The error is judged at what would be there: a low gas reading looks surer than it is, and a low radon value,
      // by counts, less sure.
      const variance = (left: number) => {
        const at = level * left;
        if (kind === 'gas') return errorAt(at);
        if (kind !== 'radon' || at <= excess) return errorAt(excess);
        const byCounts = u * Math.sqrt((at + floor) / (excess + floor));
        const uAt = Math.min(byCounts, Math.max(u, ASSUMED_RELATIVE_U * at));
        return t.extraVariance + (uAt / (at + floor)) ** 2;
      };
      const left = (m: number) => level * (1 - m);
      const shift = AIR_SHARES.map((m) => scaled(left(m), part) - scaled(level, part));
      const scatterAt = (x: number) => x * slopeAt(x, part);
      const scatterLeft = AIR_SHARES.map((m) => scatterAt(left(m)) / Math.max(scatterAt(level), 1));
      readings.push({
        sampleId: sample.id,
        point,
        logValue,
        offset: t.offset,
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
        errorVariance: Math.min(errorAt(kind === 'gas' ? level : excess), 1),
        group: t.group,
        priorMean: t.priorMean,
      });
    });
  }
  return { kind, points, pointSampleIds, readings };
}

/** Upper third's edge, since leaks only lower. */
function levelOf(parts: readonly Part[]): number {
  const sorted = parts.map((p) => p.excess).sort((a, b) => a - b);
  const edge = sorted[Math.min(sorted.length - 1, Math.floor(0.6 * sorted.length))] ?? 0;
  return Math.max(edge, parts[0]?.floor ?? 0);
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
