// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * What the model says of the ground under a placed footprint. A model, not a class: a class comes from measured points
 * only.
 */
import type { PositionM, RingM } from '../contract/model.ts';
import type { GridSpec } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import { type CellCover, coverCells } from './cell-cover.ts';

/** Realisations of the ground on a grid: equally likely pictures that all honour the data. */
export interface Ensemble {
  readonly grid: GridSpec;
  readonly count: number;
  /** kBq/m3, realisation by realisation, each in grid order; NaN off the surface, at the same cells in all. */
  readonly values: Float32Array | Float64Array;
}

export interface EstimateOnGrid {
  readonly grid: GridSpec;
  /** kBq/m3 in grid order, NaN off the surface. */
  readonly estimateKBqPerM3: Float32Array | Float64Array;
}

export interface Spread {
  readonly mean: number;
  /** Standard deviation over the realisations. */
  readonly sd: number;
  /** Between these lie 90 % of the realisations. */
  readonly low: number;
  readonly high: number;
}

export interface OverLimit {
  readonly limitKBqPerM3: number;
  /** Share of realisations whose mean under the footprint is above the limit. */
  readonly blockMean: number;
  /** Share of realisations whose third quartile under the footprint is above the limit. */
  readonly upperQuartile: number;
  /** Share of the footprint's area expected above the limit. */
  readonly area: number;
}

export interface UnderFootprint {
  readonly areaM2: number;
  /** Part of the footprint where there is no surface; everything else is of the rest. 1: there is nothing to say. */
  readonly offSurfaceShare: number;
  /** Mean of the estimate over the footprint; null where it lies wholly off the surface, as all that follow. */
  readonly estimateKBqPerM3: number | null;
  readonly blockMeanKBqPerM3: Spread | null;
  /** Value that three quarters of the footprint's area stay under, in each realisation. */
  readonly upperQuartileKBqPerM3: Spread | null;
  readonly worstCell: {
    readonly positionM: PositionM;
    readonly estimateKBqPerM3: number;
    readonly sdKBqPerM3: number;
  } | null;
  readonly overLimits: readonly OverLimit[];
  readonly realisations: number;
}

/** One number for each realisation. */
export interface ValuesUnder {
  readonly blockMeans: Float64Array;
  readonly upperQuartiles: Float64Array;
  /** Share of the area above each limit, mean of the realisations. */
  readonly areaOver: Float64Array;
  /** Part of the ring's area with a surface. */
  readonly onSurfaceShare: number;
}

const BINS = 256;
const UPPER_QUARTILE = 0.75;

/**
 * Statistics under the ring; visits only the cells it touches, each weighted by its exact area under it.
 * @throws AppError BAD_INPUT where the grids differ or lengths do not fit
 */
export function statisticsUnder(
  ring: RingM,
  estimate: EstimateOnGrid,
  ensemble: Ensemble,
  limitsKBqPerM3: readonly number[],
): UnderFootprint {
  checkEnsemble(ensemble, estimate);
  const cover = coverCells(ring, ensemble.grid);
  const ground = groundUnder(cover, ensemble);
  const values = emptyValues(ensemble.count, limitsKBqPerM3.length);
  fillValues(ground, ensemble, limitsKBqPerM3, 0, ensemble.count, values);
  return describeUnder(cover, ground, values, estimate, ensemble, limitsKBqPerM3);
}

/** Puts what was found of each realisation into words and numbers for a person. */
export function describeUnder(
  cover: CellCover,
  ground: GroundUnder,
  values: RealisationValues,
  estimate: EstimateOnGrid,
  ensemble: Ensemble,
  limitsKBqPerM3: readonly number[],
): UnderFootprint {
  const surface = estimate.estimateKBqPerM3;
  let [sum, weight, worst] = [0, 0, -1];
  cover.cells.forEach((cell, k) => {
    const value = surface[cell]!;
    if (Number.isNaN(value)) return;
    const share = cover.shares[k]!;
    sum += share * value;
    weight += share;
    if (worst < 0 || value > surface[worst]!) worst = cell;
  });
  const nothing = weight === 0 || ground.onSurfaceShare === 0;
  const areaOver = meanAreas(values, limitsKBqPerM3.length);
  return {
    areaM2: cover.areaM2,
    offSurfaceShare: 1 - ground.onSurfaceShare,
    estimateKBqPerM3: nothing ? null : sum / weight,
    blockMeanKBqPerM3: nothing ? null : spreadOf(values.blockMeans),
    upperQuartileKBqPerM3: nothing ? null : spreadOf(values.upperQuartiles),
    worstCell: nothing ? null : worstCellOf(worst, surface[worst]!, ensemble),
    overLimits: nothing
      ? []
      : limitsKBqPerM3.map((limitKBqPerM3, i) => ({
          limitKBqPerM3,
          blockMean: shareAbove(values.blockMeans, limitKBqPerM3),
          upperQuartile: shareAbove(values.upperQuartiles, limitKBqPerM3),
          area: areaOver[i]!,
        })),
    realisations: ensemble.count,
  };
}

/** @throws AppError BAD_INPUT */
export function checkEnsemble(ensemble: Ensemble, estimate: EstimateOnGrid): void {
  const { grid, count, values } = ensemble;
  const cells = grid.columns * grid.rows;
  if (count < 1 || values.length !== count * cells)
    throw new AppError(
      'BAD_INPUT',
      `Realisations: ${values.length} values are not ${count} x ${grid.columns} x ${grid.rows}.`,
    );
  const other = estimate.grid;
  const same = (['x0M', 'y0M', 'cellM', 'columns', 'rows'] as const).every((key) => other[key] === grid[key]);
  if (!same || estimate.estimateKBqPerM3.length !== cells)
    throw new AppError('BAD_INPUT', 'The estimate and the realisations are not on the same grid.');
}

/** Mean, third quartile and area over limits under the cover, for each realisation. All NaN where no cell has a surface. */
export function valuesUnder(
  cover: CellCover,
  ensemble: Ensemble,
  limitsKBqPerM3: readonly number[] = [],
): ValuesUnder {
  const ground = groundUnder(cover, ensemble);
  const values = emptyValues(ensemble.count, limitsKBqPerM3.length);
  fillValues(ground, ensemble, limitsKBqPerM3, 0, ensemble.count, values);
  return {
    blockMeans: values.blockMeans,
    upperQuartiles: values.upperQuartiles,
    areaOver: meanAreas(values, limitsKBqPerM3.length),
    onSurfaceShare: ground.onSurfaceShare,
  };
}

/** Cells of a cover that have a surface, with their shares. */
export interface GroundUnder {
  readonly cells: Int32Array;
  readonly shares: Float64Array;
  readonly onSurfaceShare: number;
}

/** One number for each realisation, NaN until it is filled in; may lie in memory that threads share. */
export interface RealisationValues {
  readonly blockMeans: Float64Array;
  readonly upperQuartiles: Float64Array;
  /** Share of the area above limit l in realisation r at [r * limits + l]. */
  readonly areasOver: Float64Array;
}

export function emptyValues(
  count: number,
  limits: number,
  allocate: (length: number) => Float64Array = (length) => new Float64Array(length),
): RealisationValues {
  return {
    blockMeans: allocate(count).fill(Number.NaN),
    upperQuartiles: allocate(count).fill(Number.NaN),
    areasOver: allocate(count * limits),
  };
}

function meanAreas({ areasOver }: RealisationValues, limits: number): Float64Array {
  const count = limits === 0 ? 0 : areasOver.length / limits;
  return Float64Array.from({ length: limits }, (_, l) => {
    let sum = 0;
    for (let r = 0; r < count; r++) sum += areasOver[r * limits + l]!;
    return sum / count;
  });
}

export function groundUnder(cover: CellCover, { values }: Ensemble): GroundUnder {
  const has = (cell: number) => !Number.isNaN(values[cell]!);
  const onGrid = 1 - cover.offGridShare;
  if (cover.cells.length > 0 && cover.cells.every(has))
    return { cells: cover.cells, shares: cover.shares, onSurfaceShare: onGrid };
  const shares = cover.shares.filter((_, k) => has(cover.cells[k]!));
  const all = cover.shares.reduce((s, v) => s + v, 0);
  const kept = shares.reduce((s, v) => s + v, 0);
  return {
    cells: cover.cells.filter(has),
    shares,
    onSurfaceShare: kept === 0 ? 0 : (kept / all) * onGrid,
  };
}

/** Fills in realisations `from` to `to` (exclusive); none of them hangs on another. */
export function fillValues(
  { cells, shares }: GroundUnder,
  ensemble: Ensemble,
  limitsKBqPerM3: readonly number[],
  from: number,
  to: number,
  out: RealisationValues,
): void {
  const { values, grid } = ensemble;
  const cellCount = grid.columns * grid.rows;
  const n = cells.length;
  if (n === 0) return;
  const total = shares.reduce((s, v) => s + v, 0);
  const here = new Float64Array(n);
  const order = binOrder(shares);
  const limits = limitsKBqPerM3.length;
  const above = new Float64Array(limits);
  for (let r = from; r < to; r++) {
    const at = r * cellCount;
    let sum = 0;
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let k = 0; k < n; k++) {
      const value = values[at + cells[k]!]!;
      here[k] = value;
      sum += shares[k]! * value;
      if (value < low) low = value;
      if (value > high) high = value;
    }
    out.blockMeans[r] = sum / total;
    out.upperQuartiles[r] = order.look(here, low, high, UPPER_QUARTILE, limitsKBqPerM3, above);
    for (let l = 0; l < limits; l++) out.areasOver[r * limits + l] = above[l]! / total;
  }
}

interface BinOrder {
  /**
   * Puts the weights above each limit into `above`.
   * @returns the smallest value whose weight together with all lower ones reaches share `p`
   */
  look(
    values: Float64Array,
    low: number,
    high: number,
    p: number,
    limits: readonly number[],
    above: Float64Array,
  ): number;
}

/** Weighted values put into bins by size, so that only those in the bins asked about are looked at one by one. */
function binOrder(weights: Float64Array): BinOrder {
  const n = weights.length;
  const total = weights.reduce((s, v) => s + v, 0);
  const bins = new Float64Array(BINS);
  const asked = new Uint8Array(BINS);
  const binOf = new Uint8Array(n);
  const members = new Int32Array(n);
  return {
    look(values, low, high, p, limits, above) {
      const scale = high > low ? (BINS - 1e-6) / (high - low) : 0;
      bins.fill(0);
      asked.fill(0);
      for (let k = 0; k < n; k++) {
        const bin = ((values[k]! - low) * scale) | 0;
        binOf[k] = bin;
        bins[bin] = bins[bin]! + weights[k]!;
      }
      // a hair less, so that equal weights reach the share in spite of rounding
      const wanted = p * total * (1 - 1e-12);
      let below = 0;
      let quantileBin = 0;
      while (quantileBin < BINS - 1 && below + bins[quantileBin]! < wanted) below += bins[quantileBin++]!;
      asked[quantileBin] = 1;
      const limitBin = (limit: number) => ((limit - low) * scale) | 0;
      for (const limit of limits) if (limit >= low && limit < high) asked[limitBin(limit)] = 1;
      let count = 0;
      for (let k = 0; k < n; k++) if (asked[binOf[k]!] === 1) members[count++] = k;
      const looked = members.subarray(0, count);
      limits.forEach((limit, l) => {
        above[l] = limit < low ? total : 0;
        if (limit < low || limit >= high) return;
        const bin = limitBin(limit);
        for (let b = bin + 1; b < BINS; b++) above[l] = above[l]! + bins[b]!;
        for (const k of looked)
          if (binOf[k] === bin && values[k]! > limit) above[l] = above[l]! + weights[k]!;
      });
      let inside = 0;
      for (let m = 0; m < count; m++) if (binOf[members[m]!] === quantileBin) members[inside++] = members[m]!;
      const inBin = members.subarray(0, inside);
      sortBy(inBin, values);
      for (const k of inBin) {
        below += weights[k]!;
        if (below >= wanted) return values[k]!;
      }
      return inBin.length > 0 ? values[inBin.at(-1)!]! : high;
    },
  };
}

/** Few enough that putting each into its place costs less than a sort that calls back. */
const FEW = 64;

/** Sorts indices by their values, in place. */
function sortBy(indices: Int32Array, values: Float64Array): void {
  if (indices.length > FEW) {
    indices.sort((i, j) => values[i]! - values[j]!);
    return;
  }
  for (let m = 1; m < indices.length; m++) {
    const index = indices[m]!;
    const value = values[index]!;
    let at = m;
    for (; at > 0 && values[indices[at - 1]!]! > value; at--) indices[at] = indices[at - 1]!;
    indices[at] = index;
  }
}

export function spreadOf(values: Float64Array): Spread {
  const n = values.length;
  const mean = values.reduce((s, v) => s + v, 0) / n;
  const squares = values.reduce((s, v) => s + (v - mean) ** 2, 0);
  const sorted = values.toSorted();
  const at = (p: number) => sorted[Math.min(n - 1, Math.max(0, Math.round(p * (n - 1))))]!;
  return { mean, sd: n > 1 ? Math.sqrt(squares / (n - 1)) : 0, low: at(0.05), high: at(0.95) };
}

export function shareAbove(values: Float64Array, limit: number): number {
  let above = 0;
  for (const value of values) if (value > limit) above++;
  return above / values.length;
}

function worstCellOf(
  cell: number,
  estimateKBqPerM3: number,
  ensemble: Ensemble,
): UnderFootprint['worstCell'] {
  const { grid, count, values } = ensemble;
  const cells = grid.columns * grid.rows;
  const here = Float64Array.from({ length: count }, (_, r) => values[r * cells + cell]!);
  return {
    positionM: [
      grid.x0M + (cell % grid.columns) * grid.cellM,
      grid.y0M + Math.floor(cell / grid.columns) * grid.cellM,
    ],
    estimateKBqPerM3,
    sdKBqPerM3: spreadOf(here).sd,
  };
}
