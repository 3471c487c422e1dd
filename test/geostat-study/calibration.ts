/**
 * How honest errors and probabilities are on lots with few probes. Run by hand from the repository's root:
 *
 *   node test/geostat-study/calibration.ts [lots per cell, 1000] [first seed, 1]
 *
 * prints the tables of docs/surface.md and writes docs/reliability.svg.
 */
import { writeFileSync } from 'node:fs';
import { chooseModel } from '../../core/geostat/auto-model.ts';
import { krigingPredictor } from '../../core/geostat/krige.ts';
import {
  predictSurface,
  prepareSurface,
  probabilityAbove,
  type SurfaceMethod,
} from '../../core/geostat/predict-surface.ts';
import { drawReliability } from './draw-reliability.ts';
import { type InventedLot, inventLot, OUTSIDE, type TruthGroup, UNSEEN } from './truths.ts';

const BINS = 10;
const DOCUMENTED_LOTS = 1000;

class Tally {
  points = 0;
  covered = 0;
  squares = 0;
  scaled = 0;
  lots = 0;
  logRmse = 0;
  readonly predicted = new Float64Array(BINS);
  readonly over = new Float64Array(BINS);
  readonly counts = new Float64Array(BINS);
  brier = 0;

  add(lot: InventedLot, surface: SurfaceMethod & { method: 'kriging' }): void {
    const points = { xy: lot.xy, values: lot.values };
    const { estimate, standardError } = predictSurface(points, surface, lot.unseenXy);
    const sorted = lot.values.slice().sort();
    // a limit somewhere in the upper part of what was measured: that is where it matters
    const limit = sorted[Math.floor(sorted.length * 0.6)] as number;
    const overLimit = chances(points, surface, lot.unseenXy, () => limit);
    const overTruth = chances(points, surface, lot.unseenXy, (i) => lot.truth[i] as number);
    let squares = 0;
    lot.truth.forEach((t, i) => {
      const error = t - (estimate[i] as number);
      squares += error ** 2 / UNSEEN;
      this.scaled += (error / (standardError[i] as number)) ** 2;
      const rank = overTruth[i] as number;
      if (rank > 0.05 && rank < 0.95) this.covered++;
      const p = overLimit[i] as number;
      const bin = Math.min(BINS - 1, Math.floor(p * BINS));
      const is = t > limit ? 1 : 0;
      this.predicted[bin] = (this.predicted[bin] as number) + p;
      this.over[bin] = (this.over[bin] as number) + is;
      this.counts[bin] = (this.counts[bin] as number) + 1;
      this.brier += (p - is) ** 2;
      this.points++;
    });
    this.logRmse += 0.5 * Math.log(squares);
    this.lots++;
  }

  row(): string {
    const coverage = (100 * this.covered) / this.points;
    const rmse = Math.exp(this.logRmse / this.lots);
    return `${coverage.toFixed(1)} % | ${(this.scaled / this.points).toFixed(2)} | ${rmse.toFixed(2)} | ${(this.brier / this.points).toFixed(4)}`;
  }

  reliability(): { predicted: number; observed: number; count: number }[] {
    return [...this.counts.keys()].map((b) => ({
      predicted: (this.predicted[b] as number) / (this.counts[b] as number),
      observed: (this.over[b] as number) / (this.counts[b] as number),
      count: this.counts[b] as number,
    }));
  }
}

/** Probability of a value above `limitOf(place)` at each place, by the averaged distribution. */
function chances(
  points: { xy: Float64Array; values: Float64Array },
  surface: SurfaceMethod & { method: 'kriging' },
  cells: Float64Array,
  limitOf: (i: number) => number,
): Float64Array {
  const prepared = prepareSurface(points, surface);
  const n = cells.length / 2;
  const out = new Float64Array(n);
  if (prepared.method === 'idw') return out.fill(Number.NaN);
  const p = new Float64Array(n);
  const v = new Float64Array(n);
  for (const { state, transform, weight } of prepared.members) {
    krigingPredictor(state).predictInto(cells, 0, n, p, v);
    for (let i = 0; i < n; i++)
      out[i] = (out[i] as number) + weight * probabilityAbove(transform, p[i] as number, v[i] as number, prepared.errorFactor, limitOf(i)); // biome-ignore format: one line
  }
  return out;
}

const lots = Number(process.argv[2] ?? DOCUMENTED_LOTS);
const firstSeed = Number(process.argv[3] ?? 1);
const all = { averaged: new Tally(), single: new Tally() };
const byKind = new Map(
  ['as the priors say', ...OUTSIDE].map((k) => [k, { averaged: new Tally(), single: new Tally() }]),
);
const head = (first: string) =>
  `| ${first} | averaged: coverage | mean z^2 | RMSE | Brier | single: coverage | mean z^2 | RMSE | Brier |\n`;
process.stdout.write(`${head('probes | truths')}|${'---|'.repeat(10)}\n`);
for (const n of [15, 20, 30]) {
  for (const group of ['inside the priors', 'outside the priors'] satisfies TruthGroup[]) {
    const cell = { averaged: new Tally(), single: new Tally() };
    for (let i = 0; i < lots; i++) {
      const lot = inventLot(group, n, 100_000 * n + firstSeed + i);
      const choice = chooseModel({ xy: lot.xy, values: lot.values });
      if (choice.surface.method !== 'kriging' || choice.model === null) continue;
      const members = [{ model: choice.model, transform: choice.transform, weight: 1 }];
      const single = { method: 'kriging' as const, members, options: choice.surface.options };
      const kind = byKind.get(lot.kind);
      for (const tallies of [cell, all, kind]) {
        tallies?.averaged.add(lot, choice.surface);
        tallies?.single.add(lot, single);
      }
    }
    process.stdout.write(`| ${n} | ${group} | ${cell.averaged.row()} | ${cell.single.row()} |\n`);
  }
}
process.stdout.write(`\n${head('ground, all sizes')}|${'---|'.repeat(9)}\n`);
for (const [kind, { averaged, single }] of byKind)
  process.stdout.write(`| ${kind} | ${averaged.row()} | ${single.row()} |\n`);
const plots = { averaged: all.averaged.reliability(), single: all.single.reliability() };
process.stdout.write(`\n${JSON.stringify(plots)}\n`);
// a trial run leaves the documented figure alone
if (lots >= DOCUMENTED_LOTS)
  writeFileSync(
    new URL('../../docs/reliability.svg', import.meta.url),
    drawReliability(plots.averaged, plots.single, all.averaged.lots),
  );
