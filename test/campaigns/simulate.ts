import { type RandomStream, randomStream } from '../../core/classify/random.ts';
import type { Probe, Sample } from '../../core/contract/model.ts';

/**
 * Invented field campaigns with known truth. Nothing here is shared with the flags but the mixing of soil gas with
 * outside air; the ground is drawn by other means (a moving average of white noise, an arctangent trend) than the
 * flags assume.
 */
export interface Campaign {
  readonly seed: number;
  readonly probeCount: number;
  readonly layout: 'square' | 'strip' | 'scattered';
  readonly spacingM: number;
  readonly medianKBqPerM3: number;
  /** Scatter of ground radon within the lot, trend left out. */
  readonly gsd: number;
  /** Share of the variance of the log that each hole has for itself. */
  readonly nuggetShare: number;
  readonly rangeM: number;
  /** Radon at one end of the lot over that at the other. */
  readonly trendRatio: number;
  readonly leakRate: number;
  /** Share of outside air, even between these. */
  readonly leak: readonly [least: number, most: number];
  readonly gases: 'both' | 'oxygen' | 'carbon dioxide' | 'none';
  readonly groundOxygenPct: number;
  readonly groundCarbonDioxidePct: number;
  /** Scatter of the oxygen deficit and of carbon dioxide from hole to hole. */
  readonly gasGsd: number;
  /** How far the two go together, 0 to 1. */
  readonly gasCoupling: number;
  /** Looser ground that breathes lowers radon, both gases and suction alike: its GSD from hole to hole. */
  readonly breathingGsd: number;
  readonly suction: boolean;
  /** Scatter of suction within one soil, and share of holes that meet a loose lens not described. */
  readonly suctionGsd: number;
  readonly lensRate: number;
  /** How the pump is set: at one flow; by hand, anew at each hole, 80 to 250 mL/min; or by hand and noted. */
  readonly flow: 'steady' | 'by hand' | 'by hand, noted';
  readonly soils: 1 | 2;
  readonly repeatRate: number;
  readonly wetRate: number;
  /** Share of the sample before that is left in the system. */
  readonly carryOver: number;
  readonly countingURel: number;
}

export interface SimulatedSample {
  readonly sample: Sample;
  /** Share of outside air in it. */
  readonly leak: number;
  readonly isWet: boolean;
  readonly groundKBqPerM3: number;
  /** Left in the system from the sample before. */
  readonly carriedKBqPerM3: number;
}

/** What an onlooker who knows the rules of the game, but not the dice, expects of a hole (`oracle.ts`). */
export interface SimulatedHole {
  readonly usualKBqPerM3: number;
  readonly groundKBqPerM3: number;
  /** Of the noise that neighbours share, by node; unit length. */
  readonly nodeWeights: ReadonlyMap<number, number>;
  readonly usualSuctionPa: number;
}

export interface SimulatedCampaign {
  readonly probes: readonly Probe[];
  readonly samples: readonly SimulatedSample[];
  readonly holes: readonly SimulatedHole[];
}

export const OUTSIDE = { oxygenPct: 20.95, carbonDioxidePct: 0.042, radonKBqPerM3: 0.008 } as const;

/** Two draws of one hole differ by this, on the log. */
export const REPEAT_SD = 0.05;
/** A loose lens lowers suction by up to this, on the log. */
export const LENS_SPAN = Math.log(20);

const STEADY_ML_PER_MIN = 150;
/** Typical suction at a sampling flow by soil, Pa: orders of magnitude. */
const SOILS = [
  { soil: 'sandy till', suctionPa: 900 },
  { soil: 'silty clay', suctionPa: 6000 },
  { soil: 'gravelly sand', suctionPa: 120 },
] as const;

export function simulateCampaign(c: Campaign): SimulatedCampaign {
  const random = randomStream(c.seed, 0);
  const flows = randomStream(c.seed, 1);
  const places = layOut(c, random);
  const field = smoothNoise(c, places, random);
  const sigma = Math.log(c.gsd);
  const firstSoil = random.below(SOILS.length);
  const secondSoil = random.below(SOILS.length);
  const borderX = random.uniform() * Math.max(...places.map((p) => p[0]));
  const direction = 2 * Math.PI * random.uniform();
  const along = places.map(([x, y]) => x * Math.cos(direction) + y * Math.sin(direction));
  const [near, far] = [Math.min(...along), Math.max(...along)];
  const probes: Probe[] = [];
  const samples: SimulatedSample[] = [];
  const holes: SimulatedHole[] = [];
  let before = 0;
  places.forEach(([x, y], n) => {
    const soil = SOILS[c.soils === 2 && x > borderX ? secondSoil : firstSoil] ?? SOILS[0];
    probes.push(probeAt(n, x, y, soil.soil));
    const position = (2 * ((along[n] ?? 0) - near)) / (far - near) - 1;
    const trend = (0.5 * Math.log(c.trendRatio) * Math.atan(2 * position)) / Math.atan(2);
    const own = Math.sqrt(c.nuggetShare) * random.normal();
    const shared = Math.sqrt(1 - c.nuggetShare) * (field[n]?.value ?? 0);
    const breath = Math.exp(Math.log(c.breathingGsd) * random.normal());
    const usual = c.medianKBqPerM3 * Math.exp(trend);
    const ground = usual * breath * Math.exp(sigma * (own + shared));
    holes.push({
      usualKBqPerM3: usual,
      groundKBqPerM3: ground,
      nodeWeights: field[n]?.weights ?? new Map(),
      usualSuctionPa: soil.suctionPa,
    });
    const gas = groundGas(c, breath, random);
    const loose = random.uniform() < c.lensRate ? Math.exp(-LENS_SPAN * random.uniform()) : 1;
    const tight = soil.suctionPa * loose * breath * Math.exp(Math.log(c.suctionGsd) * random.normal());
    const flowMlPerMin = c.flow === 'steady' ? STEADY_ML_PER_MIN : 80 * (250 / 80) ** flows.uniform();
    const isWet = random.uniform() < c.wetRate;
    const isLeaky = random.uniform() < c.leakRate;
    const [least, most] = c.leak;
    let leak = isLeaky ? least + (most - least) * random.uniform() : 0;
    const draws = random.uniform() < c.repeatRate ? 2 : 1;
    for (let draw = 0; draw < draws; draw++) {
      // More gas drawn through the same gap: the way opens, or stays as it was.
      if (draw > 0 && isLeaky && random.uniform() < 0.6) leak += (1 - leak) * 0.7 * random.uniform();
      const truth = (1 - leak) * ground + leak * OUTSIDE.radonKBqPerM3;
      const again = draw === 0 ? 1 : Math.exp(REPEAT_SD * random.normal());
      const carried = c.carryOver * before;
      const expected = truth * again + carried;
      before = expected;
      const u = Math.hypot(c.countingURel * expected, 0.15 * Math.sqrt(expected) * c.countingURel * 10, 0.05);
      const value = Math.max(expected + u * random.normal(), 0.01);
      const readsOxygen = c.gases === 'both' || c.gases === 'oxygen';
      const readsCarbon = c.gases === 'both' || c.gases === 'carbon dioxide';
      const mixed = (inGround: number, outside: number) => (1 - leak) * inGround + leak * outside;
      samples.push({
        leak,
        isWet,
        groundKBqPerM3: ground,
        carriedKBqPerM3: carried,
        sample: {
          id: `s${samples.length}`,
          probeId: `p${n}`,
          kind: draw === 0 ? 'grab' : 'repeat',
          takenUtc: new Date(Date.UTC(2030, 4, 2, 8, 9 * samples.length)).toISOString(),
          depthM: 0.8,
          radonKBqPerM3: isWet ? null : Number(value.toPrecision(4)),
          radonUKBqPerM3: isWet ? null : Number(u.toPrecision(3)),
          radonBelowKBqPerM3: null,
          oxygenPct:
            readsOxygen && !isWet ? meter(mixed(gas.oxygenPct, OUTSIDE.oxygenPct), 0.15, 0.1, random) : null,
          carbonDioxidePct:
            readsCarbon && !isWet
              ? meter(mixed(gas.carbonDioxidePct, OUTSIDE.carbonDioxidePct), 0.04, 0.01, random)
              : null,
          suctionPa: !c.suction
            ? null
            : isWet
              ? 21_000
              : Math.round(
                  Math.max((1 - leak) * tight * (flowMlPerMin / STEADY_ML_PER_MIN) + 10 * random.normal(), 0),
                ),
          ...(c.flow === 'by hand, noted' ? { flowMlPerMin: Math.round(flowMlPerMin) } : {}),
          saidFreshAir: false,
          saidWater: isWet,
          remark: null,
          source: { file: 'campaign.csv', row: samples.length + 2 },
        },
      });
    }
  });
  return { probes, samples, holes };
}

function layOut(c: Campaign, random: RandomStream): (readonly [number, number])[] {
  const n = c.probeCount;
  const side = c.spacingM * Math.sqrt(n);
  if (c.layout === 'scattered')
    return Array.from({ length: n }, () => [side * random.uniform(), side * random.uniform()] as const);
  const columns = c.layout === 'square' ? Math.ceil(Math.sqrt(n)) : Math.ceil(Math.sqrt(n / 3));
  const jitter = () => 0.15 * c.spacingM * (random.uniform() - 0.5);
  return Array.from(
    { length: n },
    (_, i) =>
      [c.spacingM * (i % columns) + jitter(), c.spacingM * Math.floor(i / columns) + jitter()] as const,
  );
}

/** Unit-variance noise, correlated over about `rangeM`: white noise at many nodes under a round bell. */
function smoothNoise(
  c: Campaign,
  places: readonly (readonly [number, number])[],
  random: RandomStream,
): { readonly value: number; readonly weights: ReadonlyMap<number, number> }[] {
  const reach = Math.max(c.rangeM, 0.1);
  const low = (axis: 0 | 1) => Math.min(...places.map((p) => p[axis])) - reach;
  const high = (axis: 0 | 1) => Math.max(...places.map((p) => p[axis])) + reach;
  const step = Math.max(reach / 3, Math.max(high(0) - low(0), high(1) - low(1)) / 60);
  const nodes: { x: number; y: number; value: number }[] = [];
  for (let x = low(0); x <= high(0); x += step)
    for (let y = low(1); y <= high(1); y += step) nodes.push({ x, y, value: random.normal() });
  return places.map(([x, y]) => {
    const weights = new Map<number, number>();
    let sum = 0;
    let squares = 0;
    nodes.forEach((node, i) => {
      const d = Math.hypot(node.x - x, node.y - y) / reach;
      if (d >= 1) return;
      const weight = (1 - d * d) ** 2;
      weights.set(i, weight);
      sum += weight * node.value;
      squares += weight * weight;
    });
    if (squares === 0) return { value: random.normal(), weights };
    const scale = 1 / Math.sqrt(squares);
    for (const [i, weight] of weights) weights.set(i, weight * scale);
    return { value: sum * scale, weights };
  });
}

function groundGas(
  c: Campaign,
  breath: number,
  random: RandomStream,
): { oxygenPct: number; carbonDioxidePct: number } {
  const s = Math.log(c.gasGsd);
  const common = random.normal();
  const own = () => Math.sqrt(c.gasCoupling) * common + Math.sqrt(1 - c.gasCoupling) * random.normal();
  const deficit = (OUTSIDE.oxygenPct - c.groundOxygenPct) * breath * Math.exp(s * own());
  const excess = (c.groundCarbonDioxidePct - OUTSIDE.carbonDioxidePct) * breath * Math.exp(s * own());
  return {
    oxygenPct: OUTSIDE.oxygenPct - Math.min(deficit, 20),
    carbonDioxidePct: OUTSIDE.carbonDioxidePct + Math.min(excess, 20),
  };
}

function meter(truth: number, u: number, step: number, random: RandomStream): number {
  const read = Math.max(truth + u * random.normal(), 0);
  return Number((step * Math.round(read / step)).toFixed(2));
}

function probeAt(n: number, x: number, y: number, soil: string): Probe {
  return {
    id: `p${n}`,
    label: `P${n + 1}`,
    state: 'driven',
    positionM: [x, y],
    native: [x, y],
    depthM: 0.8,
    soil,
    fineFractionPct: null,
    permeabilityM2: null,
    permeabilityClass: null,
    note: null,
    added: false,
  };
}

/** A campaign drawn anew for each seed from wide ranges, with what the study holds fixed put over it. */
export function drawCampaign(seed: number, fixed: Partial<Campaign> = {}): Campaign {
  const random = randomStream(seed, 7);
  const between = (a: number, b: number) => a + (b - a) * random.uniform();
  const logBetween = (a: number, b: number) => Math.exp(between(Math.log(a), Math.log(b)));
  const oneOf = <T>(...items: readonly [T, ...T[]]): T => items[random.below(items.length)] ?? items[0];
  return {
    seed,
    probeCount: oneOf(15, 15, 20, 30),
    layout: oneOf('square', 'strip', 'scattered'),
    spacingM: oneOf(5, 8, 10),
    medianKBqPerM3: logBetween(12, 90),
    gsd: oneOf(1.3, 1.5, 2),
    nuggetShare: between(0.15, 1),
    rangeM: logBetween(6, 60),
    trendRatio: oneOf(1, 1, 1.5, 2.5),
    leakRate: between(0.05, 0.3),
    leak: [0, 1],
    gases: 'both',
    groundOxygenPct: between(5, 20),
    groundCarbonDioxidePct: logBetween(0.3, 8),
    gasGsd: between(1.1, 1.35),
    gasCoupling: between(0, 0.9),
    breathingGsd: oneOf(1, 1.1, 1.2),
    suction: true,
    suctionGsd: between(1.3, 1.8),
    lensRate: 0.05,
    flow: 'steady',
    soils: oneOf(1, 2),
    repeatRate: 0.2,
    wetRate: 0.05,
    carryOver: oneOf(0, 0.01, 0.02),
    countingURel: between(0.03, 0.08),
    ...fixed,
  };
}
