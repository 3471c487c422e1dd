// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { factorCholesky, solveLower } from '../../core/geostat/solve.ts';
import { normalDensity } from '../../core/survey/sign-density.ts';
import {
  type Campaign,
  LENS_SPAN,
  OUTSIDE,
  REPEAT_SD,
  type SimulatedCampaign,
  type SimulatedSample,
  simulateCampaign,
} from './simulate.ts';

/**
 * The best test that there can be: an onlooker who knows every distribution that the simulator draws from, with all
 * its numbers, the true ground at every other hole and who leaks there, but not this hole. Likelihood ratio of outside
 * air in the hole against none, all draws of it together (Neyman and Pearson: no test finds more at the same rate of
 * false alarms). Nobody in the field knows any of this: what it misses cannot be found from these numbers.
 * @returns log likelihood ratio by sample id
 */
export function askOracle(c: Campaign, sim: SimulatedCampaign = simulateCampaign(c)): Map<string, number> {
  const expected = groundOf(c, sim);
  const byHole = new Map<string, SimulatedSample[]>();
  for (const s of sim.samples)
    if (!s.isWet) byHole.set(s.sample.probeId, [...(byHole.get(s.sample.probeId) ?? []), s]);
  const found = new Map<string, number>();
  sim.probes.forEach((probe, n) => {
    const draws = byHole.get(probe.id) ?? [];
    if (draws.length === 0) return;
    const density = (leaks: readonly number[]) =>
      densityOf(c, draws, leaks, expected[n]!, sim.holes[n]!.usualSuctionPa);
    let leaky = 0;
    let weights = 0;
    for (const { leaks, weight } of leakPaths(c, draws.length)) {
      leaky += weight * density(leaks);
      weights += weight;
    }
    const ratio = Math.log(leaky / weights + 1e-300) - Math.log(density(draws.map(() => 0)) + 1e-300);
    for (const d of draws) found.set(d.sample.id, ratio);
  });
  return found;
}

const SHARES = 16;
const GROWTHS = 6;

/** Shares of outside air of one or two draws, as the simulator lets them be. */
function leakPaths(c: Campaign, draws: number): { leaks: number[]; weight: number }[] {
  const [least, most] = c.leak;
  const count = most > least ? SHARES : 1;
  return Array.from({ length: count }, (_, i) => least + ((most - least) * (i + 0.5)) / count).flatMap((m) =>
    draws === 1
      ? [{ leaks: [m], weight: 1 }]
      : [
          { leaks: [m, m], weight: 0.4 },
          ...Array.from({ length: GROWTHS }, (_, k) => ({
            leaks: [m, m + (1 - m) * 0.7 * ((k + 0.5) / GROWTHS)],
            weight: 0.6 / GROWTHS,
          })),
        ],
  );
}

interface Expected {
  readonly mean: number;
  /** Of the log, what breathes left out. */
  readonly variance: number;
}

/** Log radon of the ground at each hole from the true ground at all others. */
function groundOf(c: Campaign, sim: SimulatedCampaign): Expected[] {
  const n = sim.holes.length;
  const scatter = Math.log(c.gsd) ** 2;
  const breath = Math.log(c.breathingGsd) ** 2;
  const covariance = sim.holes.map((a, i) =>
    sim.holes.map((b, j) => {
      if (i === j) return scatter + breath + 1e-9;
      let sum = 0;
      for (const [node, weight] of a.nodeWeights) sum += weight * (b.nodeWeights.get(node) ?? 0);
      return scatter * (1 - c.nuggetShare) * sum;
    }),
  );
  const residual = sim.holes.map((h) => Math.log(h.groundKBqPerM3 / h.usualKBqPerM3));
  return sim.holes.map((hole, i) => {
    const others = [...sim.holes.keys()].filter((j) => j !== i);
    const k = n - 1;
    const a = new Float64Array(k * k);
    others.forEach((p, r) => {
      others.forEach((q, s) => {
        a[r * k + s] = covariance[p]![q]!;
      });
    });
    const toPoint = Float64Array.from(others, (j) => covariance[i]![j]!);
    const values = Float64Array.from(others, (j) => residual[j]!);
    factorCholesky(a, k);
    solveLower(a, k, toPoint);
    solveLower(a, k, values);
    let mean = Math.log(hole.usualKBqPerM3);
    let variance = scatter;
    for (let j = 0; j < k; j++) {
      mean += toPoint[j]! * values[j]!;
      variance -= toPoint[j]! ** 2;
    }
    return { mean, variance: Math.max(variance, 1e-6) };
  });
}

const BREATHS = Array.from({ length: 11 }, (_, i) => 0.65 * (i - 5));
const COMMON = Array.from({ length: 15 }, (_, i) => 0.5 * (i - 7));
const STILL = [0];

/** Density of all numbers of a hole with these shares of outside air in its draws. */
function densityOf(
  c: Campaign,
  draws: readonly SimulatedSample[],
  leaks: readonly number[],
  radon: Expected,
  usualSuctionPa: number,
): number {
  const breathSd = Math.log(c.breathingGsd);
  let sum = 0;
  let weights = 0;
  for (const b of breathSd > 0 ? BREATHS : STILL) {
    const weight = Math.exp(-0.5 * b * b);
    weights += weight;
    const shift = b * breathSd;
    sum +=
      weight *
      radonDensity(c, draws, leaks, radon.mean + shift, radon.variance) *
      gasDensity(c, draws, leaks, shift) *
      (c.suction ? suctionDensity(c, draws, leaks, Math.log(usualSuctionPa) + shift) : 1);
  }
  return sum / weights;
}

/** Integral of a normal density on the log times what the readings say of e to that log. */
function overLog(
  mean: number,
  variance: number,
  readings: readonly {
    readonly at: (ground: number) => number;
    readonly logSd: number;
    readonly log: number;
  }[],
): number {
  const sd = Math.sqrt(variance);
  let low = mean - 5 * sd;
  let high = mean + 5 * sd;
  let narrow = sd;
  for (const r of readings) {
    narrow = Math.min(narrow, r.logSd);
    if (r.logSd < 0.3) {
      low = Math.max(low, r.log - 6 * r.logSd);
      high = Math.min(high, r.log + 6 * r.logSd);
    }
  }
  if (high <= low) return 0;
  const steps = Math.ceil((high - low) / (0.5 * narrow));
  const step = (high - low) / steps;
  let sum = 0;
  for (let i = 0; i <= steps; i++) {
    const x = low + i * step;
    let term = normalDensity(x - mean, variance);
    for (const r of readings) term *= r.at(Math.exp(x));
    sum += term;
  }
  return sum * step;
}

/** Additive error about (1 - m) ground + rest. */
function reading(value: number, leak: number, rest: number, uAt: (expected: number) => number) {
  const left = 1 - leak;
  const u = uAt(value);
  const ground = Math.max(value - rest, u) / left;
  return {
    at: (g: number) => {
      const expected = left * g + rest;
      return normalDensity(value - expected, uAt(expected) ** 2);
    },
    logSd: u / Math.max(value - rest, u),
    log: Math.log(ground),
  };
}

function radonDensity(
  c: Campaign,
  draws: readonly SimulatedSample[],
  leaks: readonly number[],
  mean: number,
  variance: number,
): number {
  const readings = draws.map((d, k) =>
    reading(
      d.sample.radonKBqPerM3!,
      leaks[k]!,
      leaks[k]! * OUTSIDE.radonKBqPerM3 + d.carriedKBqPerM3,
      (expected) =>
        Math.hypot(
          c.countingURel * expected,
          1.5 * Math.sqrt(Math.max(expected, 0)) * c.countingURel,
          0.05,
          k === 0 ? 0 : REPEAT_SD * expected,
        ),
    ),
  );
  return overLog(mean, variance, readings);
}

const GASES = [
  { u: Math.hypot(0.15, 0.1 / Math.sqrt(12)), most: 20 },
  { u: Math.hypot(0.04, 0.01 / Math.sqrt(12)), most: 20 },
] as const;

function gasDensity(
  c: Campaign,
  draws: readonly SimulatedSample[],
  leaks: readonly number[],
  shift: number,
): number {
  if (c.gases === 'none') return 1;
  const scatter = Math.log(c.gasGsd);
  const levels = [OUTSIDE.oxygenPct - c.groundOxygenPct, c.groundCarbonDioxidePct - OUTSIDE.carbonDioxidePct];
  const excess = (d: SimulatedSample, gas: number) =>
    gas === 0
      ? OUTSIDE.oxygenPct - d.sample.oxygenPct!
      : d.sample.carbonDioxidePct! - OUTSIDE.carbonDioxidePct;
  const read = [
    c.gases === 'both' || c.gases === 'oxygen',
    c.gases === 'both' || c.gases === 'carbon dioxide',
  ];
  const own = scatter ** 2 * (1 - c.gasCoupling);
  let sum = 0;
  let weights = 0;
  for (const common of c.gases === 'both' ? COMMON : STILL) {
    const weight = Math.exp(-0.5 * common * common);
    weights += weight;
    let product = weight;
    for (const gas of [0, 1]) {
      if (!read[gas]) continue;
      const { u, most } = GASES[gas]!;
      const mean = Math.log(levels[gas]!) + shift + common * scatter * Math.sqrt(c.gasCoupling);
      const readings = draws.map((d, k) => {
        const r = reading(excess(d, gas), leaks[k]!, 0, () => u);
        return { ...r, at: (g: number) => r.at(Math.min(g, most)) };
      });
      product *= overLog(mean, c.gases === 'both' ? own : scatter ** 2, readings);
    }
    sum += product;
  }
  return sum / weights;
}

const LENSES = 6;

function suctionDensity(
  c: Campaign,
  draws: readonly SimulatedSample[],
  leaks: readonly number[],
  mean: number,
): number {
  const readings = draws.map((d, k) => reading(d.sample.suctionPa!, leaks[k]!, 0, () => 10));
  const variance = Math.log(c.suctionGsd) ** 2;
  let sum = (1 - c.lensRate) * overLog(mean, variance, readings);
  for (let k = 0; k < LENSES; k++)
    sum += (c.lensRate / LENSES) * overLog(mean - LENS_SPAN * ((k + 0.5) / LENSES), variance, readings);
  return sum;
}
