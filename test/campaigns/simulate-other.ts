import { type RandomStream, randomStream } from '../../core/classify/random.ts';
import type { Probe } from '../../core/contract/model.ts';
import { OUTSIDE, type SimulatedSample } from './simulate.ts';

/**
 * A second simulator, built on other assumptions than the first (`simulate.ts`), to see whether the flags hold on
 * ground they were not set on: values normal, not log-normal; radon in patches with steps between them; depth by
 * diffusion; crews that leak in a way of their own; leaks in runs of neighbouring holes; sensors that are worse.
 * The limits were set on the first one (docs/flags.md says what this one had a say in).
 */
export interface OtherCampaign {
  readonly seed: number;
  readonly probeCount: number;
  readonly layout: 'two rows' | 'corner' | 'clumps';
  /** Mean radon at 0.8 m, its coefficient of variation from hole to hole, and steps between patches. */
  readonly meanKBqPerM3: number;
  readonly radonCv: number;
  readonly patches: number;
  readonly patchCv: number;
  /** Radon at the far end over that at the near one, rising evenly. */
  readonly riseRatio: number;
  readonly depthsM: readonly [least: number, most: number];
  readonly gases: 'both' | 'oxygen' | 'carbon dioxide' | 'none';
  readonly oxygenPct: number;
  readonly oxygenSdPct: number;
  readonly carbonDioxidePct: number;
  readonly carbonDioxideCv: number;
  /** Carbon dioxide and oxygen deficit follow radon from hole to hole, as far as this (0 to 1). */
  readonly tie: number;
  readonly oxygenSensorU: number;
  readonly carbonSensorU: number;
  /** Fault of the oxygen sensor that all samples share. */
  readonly oxygenOffsetPct: number;
  readonly suction: boolean;
  readonly permeabilityGsd: number;
  readonly leakRate: number;
  readonly leaks: 'any' | 'one crew' | 'runs';
  readonly leak: readonly [least: number, most: number];
  readonly repeatRate: number;
  readonly radonURel: number;
  /** Whether the sheet gives the uncertainty. */
  readonly isUGiven: boolean;
}

export interface OtherSimulated {
  readonly probes: readonly Probe[];
  readonly samples: readonly Pick<SimulatedSample, 'sample' | 'leak' | 'isWet'>[];
}

export function drawOther(seed: number, fixed: Partial<OtherCampaign> = {}): OtherCampaign {
  const random = randomStream(seed, 31);
  const between = (a: number, b: number) => a + (b - a) * random.uniform();
  const oneOf = <T>(...items: readonly [T, ...T[]]): T => items[random.below(items.length)] ?? items[0];
  return {
    seed,
    probeCount: oneOf(12, 15, 18, 24),
    layout: oneOf('two rows', 'corner', 'clumps'),
    meanKBqPerM3: between(10, 120),
    radonCv: between(0.2, 0.4),
    patches: oneOf(1, 2, 3),
    patchCv: between(0, 0.4),
    riseRatio: oneOf(1, 1, 2),
    depthsM: [0.75, 0.85],
    gases: 'both',
    oxygenPct: between(10, 19.5),
    oxygenSdPct: between(0.2, 0.8),
    carbonDioxidePct: between(0.6, 5),
    carbonDioxideCv: between(0.08, 0.25),
    tie: oneOf(0, 0.5),
    oxygenSensorU: oneOf(0.1, 0.2, 0.3),
    carbonSensorU: oneOf(0.02, 0.05, 0.1),
    oxygenOffsetPct: between(-0.2, 0.2),
    suction: true,
    permeabilityGsd: between(1.4, 2.5),
    leakRate: between(0.08, 0.3),
    leaks: 'any',
    leak: [0, 1],
    repeatRate: 0.15,
    radonURel: between(0.04, 0.12),
    isUGiven: oneOf(true, true, false),
    ...fixed,
  };
}

export function simulateOther(c: OtherCampaign): OtherSimulated {
  const random = randomStream(c.seed, 32);
  const places = place(c, random);
  const centres = Array.from({ length: c.patches }, () => ({
    at: places[random.below(places.length)] ?? ([0, 0] as const),
    level: Math.max(1 + c.patchCv * random.normal(), 0.3),
  }));
  const farthest = Math.max(...places.map(([x]) => x), 1);
  const usualSuctionPa = Math.exp(Math.log(100) + Math.log(60) * random.uniform());
  const leaks = spreadLeaks(c, places, random);
  const probes: Probe[] = [];
  const samples: OtherSimulated['samples'][number][] = [];
  places.forEach(([x, y], n) => {
    const depthM = c.depthsM[0] + (c.depthsM[1] - c.depthsM[0]) * random.uniform();
    // Steady diffusion to an open surface, relaxation length 0.6 to 1.6 m (known to nobody), 1 at 0.8 m.
    const lengthM = 0.6 + random.uniform();
    const profile = (1 - Math.exp(-depthM / lengthM)) / (1 - Math.exp(-0.8 / lengthM));
    const patch = centres.reduce((best, p) =>
      Math.hypot(p.at[0] - x, p.at[1] - y) < Math.hypot(best.at[0] - x, best.at[1] - y) ? p : best,
    );
    const rise = (1 + (c.riseRatio - 1) * (x / farthest)) / (0.5 * (1 + c.riseRatio));
    const own = random.normal();
    const ground = c.meanKBqPerM3 * patch.level * rise * profile * Math.max(1 + c.radonCv * own, 0.15);
    const tied = () => c.tie * own + Math.sqrt(1 - c.tie ** 2) * random.normal();
    const oxygen = Math.min(Math.max(c.oxygenPct - c.oxygenSdPct * tied(), 0), 20.8);
    const carbon = c.carbonDioxidePct * Math.max(1 + c.carbonDioxideCv * tied(), 0.15);
    const suctionPa = usualSuctionPa * Math.exp(Math.log(c.permeabilityGsd) * random.normal());
    probes.push({
      id: `p${n}`,
      label: `P${n + 1}`,
      state: 'driven',
      positionM: [x, y],
      native: [x, y],
      depthM: Number(depthM.toFixed(2)),
      soil: null,
      fineFractionPct: null,
      permeabilityM2: null,
      permeabilityClass: null,
      note: null,
      added: false,
    });
    const draws = random.uniform() < c.repeatRate ? 2 : 1;
    for (let draw = 0; draw < draws; draw++) {
      // The crew tamps anew before a repeat: half of the leaks are then gone.
      const leak = draw > 0 && random.uniform() < 0.5 ? 0 : (leaks[n] ?? 0);
      const mix = (inGround: number, outside: number) => (1 - leak) * inGround + leak * outside;
      const expected = mix(ground, OUTSIDE.radonKBqPerM3);
      const u = Math.hypot(c.radonURel * expected, 0.3);
      const radon = Math.max(expected + u * random.normal(), 0.02);
      const sensor = (truth: number, noise: number) => Math.max(truth + noise * random.normal(), 0);
      const readsOxygen = c.gases === 'both' || c.gases === 'oxygen';
      const readsCarbon = c.gases === 'both' || c.gases === 'carbon dioxide';
      const oxygenRead = sensor(mix(oxygen, OUTSIDE.oxygenPct) + c.oxygenOffsetPct, c.oxygenSensorU);
      const carbonRead = sensor(mix(carbon, OUTSIDE.carbonDioxidePct), c.carbonSensorU);
      samples.push({
        leak,
        isWet: false,
        sample: {
          id: `s${samples.length}`,
          probeId: `p${n}`,
          kind: draw === 0 ? 'grab' : 'repeat',
          takenUtc: new Date(Date.UTC(2031, 8, 3, 7, 12 * samples.length)).toISOString(),
          depthM: Number(depthM.toFixed(2)),
          radonKBqPerM3: Number(radon.toPrecision(3)),
          radonUKBqPerM3: c.isUGiven ? Number(u.toPrecision(2)) : null,
          radonBelowKBqPerM3: null,
          oxygenPct: readsOxygen ? Number(Math.min(oxygenRead, 21.5).toFixed(1)) : null,
          carbonDioxidePct: readsCarbon ? Number(carbonRead.toFixed(2)) : null,
          suctionPa: c.suction
            ? Math.round(Math.max((1 - leak) * suctionPa * (1 + 0.05 * random.normal()), 0))
            : null,
          saidFreshAir: false,
          saidWater: false,
          remark: null,
          source: { file: 'other.csv', row: samples.length + 2 },
        },
      });
    }
  });
  return { probes, samples };
}

function place(c: OtherCampaign, random: RandomStream): (readonly [number, number])[] {
  const wobble = () => random.normal();
  return Array.from({ length: c.probeCount }, (_, i) => {
    if (c.layout === 'two rows') return [7 * Math.floor(i / 2) + wobble(), 12 * (i % 2) + wobble()] as const;
    const half = c.probeCount / 2;
    if (c.layout === 'corner')
      return i < half
        ? ([6 * i + wobble(), wobble()] as const)
        : ([wobble(), 6 * (i - half + 1) + wobble()] as const);
    return [25 * (i % 3) + 4 * wobble(), 18 * (Math.floor(i / 3) % 2) + 4 * wobble()] as const;
  });
}

/** Share of outside air by hole. */
function spreadLeaks(
  c: OtherCampaign,
  places: readonly (readonly [number, number])[],
  random: RandomStream,
): number[] {
  const [least, most] = c.leak;
  const share = () => least + (most - least) * random.uniform();
  const wanted = c.leakRate * places.length;
  if (c.leaks === 'one crew') {
    // The second crew drives every third hole; its fitting draws the same share whenever it draws.
    const own = share();
    return places.map((_, n) => (n % 3 === 0 && random.uniform() < Math.min(3 * c.leakRate, 1) ? own : 0));
  }
  if (c.leaks === 'runs') {
    const from = places[random.below(places.length)] ?? ([0, 0] as const);
    const count = Math.floor(wanted) + (random.uniform() < wanted % 1 ? 1 : 0);
    const near = places
      .map(([x, y], n) => ({ n, d: Math.hypot(x - from[0], y - from[1]) }))
      .sort((a, b) => a.d - b.d);
    const chosen = new Set(near.slice(0, count).map((p) => p.n));
    return places.map((_, n) => (chosen.has(n) ? share() : 0));
  }
  return places.map(() => (random.uniform() < c.leakRate ? share() : 0));
}

/** What is asked of the flags on this ground; each row of the study. */
export const OTHER_ROWS: readonly (readonly [name: string, fixed: Partial<OtherCampaign>, least: number])[] =
  [
    ['both gases', { leak: [0.3, 1] }, 0.3],
    [
      'oxygen even over the lot, sensor 0.2 %',
      { gases: 'oxygen', oxygenSdPct: 0.05, oxygenSensorU: 0.2, leak: [0.3, 1] },
      0.3,
    ],
    [
      'oxygen even over the lot, sensor 0.5 %',
      { gases: 'oxygen', oxygenSdPct: 0.05, oxygenSensorU: 0.5, leak: [0.3, 1] },
      0.3,
    ],
    ['carbon dioxide only', { gases: 'carbon dioxide', leak: [0.3, 1] }, 0.3],
    ['both, radon and gases tied', { tie: 0.9, leak: [0.3, 1] }, 0.3],
    ['both, 8 to 12 probes', { probeCount: 10, leak: [0.3, 1] }, 0.3],
    ['both, one crew leaks alike', { leaks: 'one crew', leak: [0.3, 1] }, 0.3],
    ['both, leaks side by side', { leaks: 'runs', leak: [0.3, 1] }, 0.3],
    ['both, depths 0.5 to 1.0 m', { depthsM: [0.5, 1], leak: [0.3, 1] }, 0.3],
    [
      'airy ground: oxygen 19.5 to 20.3 %',
      { oxygenPct: 20, oxygenSdPct: 0.2, carbonDioxidePct: 0.6, leak: [0.3, 1] },
      0.3,
    ],
    ['no gases, coefficient of variation 0.4', { gases: 'none', radonCv: 0.4, leak: [0.6, 1] }, 0.6],
    ['no gases, 0.6 (as GSD 2)', { gases: 'none', radonCv: 0.6, leak: [0.6, 1] }, 0.6],
    ['no gases, leaks side by side', { gases: 'none', leaks: 'runs', leak: [0.6, 1] }, 0.6],
    ['no gases, radon rises four-fold', { gases: 'none', riseRatio: 4, leak: [0.6, 1] }, 0.6],
    ['no gases, 10 probes', { gases: 'none', probeCount: 10, leak: [0.6, 1] }, 0.6],
    ['clean, both gases', { leakRate: 0 }, 1],
    ['clean, both gases, tied', { leakRate: 0, tie: 0.9 }, 1],
    ['clean, oxygen sensor 0.5 %', { leakRate: 0, gases: 'oxygen', oxygenSensorU: 0.5 }, 1],
    ['clean, no gases', { leakRate: 0, gases: 'none' }, 1],
    ['clean, no gases, rises four-fold', { leakRate: 0, gases: 'none', riseRatio: 4 }, 1],
  ];
