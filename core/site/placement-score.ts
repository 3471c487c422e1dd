// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** How good a placement is by the objective chosen; lower is better. */
import type { RingM } from '../contract/model.ts';
import { type CellCover, coverCells } from './cell-cover.ts';
import { distanceMovedM, type Pose } from './placement.ts';
import { type Ensemble, type EstimateOnGrid, shareAbove, valuesUnder } from './statistics-under.ts';

export type Objective = {
  /** Added to the score for each metre the centroid moves from where it is drawn; 0 where distance is free. */
  readonly perMetreMoved: number;
} & (
  | { readonly kind: 'lowest-estimate' }
  | {
      readonly kind: 'lowest-probability';
      readonly limitKBqPerM3: number;
      readonly of: 'block-mean' | 'upper-quartile';
    }
);

export interface Score {
  /** kBq/m3 or probability, without the price of moving. */
  readonly statistic: number;
  readonly value: number;
  /** Decides between equal values, as probabilities of 0 often are: the mean of the estimate, price included. */
  readonly tieBreak: number;
}

/** Ground off the surface by more than this: nothing can be said, and the placement is not considered. */
const MOST_OFF_SURFACE = 0.01;

export function isBetter(a: Score, b: Score): boolean {
  return a.value !== b.value ? a.value < b.value : a.tieBreak < b.tieBreak;
}

/** Null where more than 1 % of the ring lies off the surface. */
export function scoreOn(
  ring: RingM,
  pose: Pose,
  objective: Objective,
  estimate: EstimateOnGrid,
  ensemble: Ensemble,
): Score | null {
  const cover = coverCells(ring, estimate.grid);
  const mean = estimateUnder(cover, estimate);
  if (mean === null) return null;
  const price = objective.perMetreMoved * distanceMovedM(pose);
  if (objective.kind === 'lowest-estimate')
    return { statistic: mean, value: mean + price, tieBreak: mean + price };
  const { limitKBqPerM3, of } = objective;
  const values =
    of === 'upper-quartile' ? valuesUnder(cover, ensemble).upperQuartiles : blockMeansUnder(cover, ensemble);
  const statistic = shareAbove(values, limitKBqPerM3);
  return { statistic, value: statistic + price, tieBreak: mean };
}

function estimateUnder(cover: CellCover, estimate: EstimateOnGrid): number | null {
  if (cover.offGridShare > MOST_OFF_SURFACE) return null;
  const { cells, shares } = cover;
  let [sum, weight, all] = [0, 0, 0];
  for (let k = 0; k < cells.length; k++) {
    const value = estimate.estimateKBqPerM3[cells[k]!]!;
    const share = shares[k]!;
    all += share;
    if (Number.isNaN(value)) continue;
    sum += share * value;
    weight += share;
  }
  return weight >= (1 - MOST_OFF_SURFACE) * all && weight > 0 ? sum / weight : null;
}

function blockMeansUnder(cover: CellCover, ensemble: Ensemble): Float64Array {
  const { cells, shares } = cover;
  const { values, count, grid } = ensemble;
  const stride = grid.columns * grid.rows;
  const kept: number[] = [];
  for (let k = 0; k < cells.length; k++) if (!Number.isNaN(values[cells[k]!]!)) kept.push(k);
  const total = kept.reduce((s, k) => s + shares[k]!, 0);
  const out = new Float64Array(count);
  for (let r = 0; r < count; r++) {
    const at = r * stride;
    let sum = 0;
    for (const k of kept) sum += shares[k]! * values[at + cells[k]!]!;
    out[r] = sum / total;
  }
  return out;
}

/** The first realisations of an ensemble: enough for a first look. */
export function firstOf(ensemble: Ensemble, count: number): Ensemble {
  if (ensemble.count <= count) return ensemble;
  const cells = ensemble.grid.columns * ensemble.grid.rows;
  return { ...ensemble, count, values: ensemble.values.subarray(0, count * cells) };
}
