// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Conditional realisations, shared out among the threads, and what is read off them cell by cell. */
import { AppError } from '../errors.ts';
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import type { SurfaceMethod } from '../geostat/predict-surface.ts';
import {
  prepareSimulation,
  runsByMember,
  type Simulation,
  type SimulationRequest,
  simulator,
} from '../geostat/simulate.ts';
import { type TiledJob, throwIfStopped } from './job.ts';
import { allocateShared, toShared } from './shared.ts';

export interface SimulateInput extends SimulationRequest {
  readonly points: SurfacePoints;
  readonly surface: SurfaceMethod;
  /** Adds the share of realisations above each of these, in the unit of the values. */
  readonly limits?: readonly number[];
  /** Adds these quantiles, each 0 to 1. */
  readonly quantiles?: readonly number[];
}

export interface SimulateOutput {
  readonly realisations: number;
  /** Realisation by realisation, in memory that all threads see: it stays in the engine, never to cross to a window. */
  readonly ensemble: Float64Array;
  readonly mean: Float64Array;
  readonly standardDeviation: Float64Array;
  /** One array over the cells for each limit, and for each quantile. */
  readonly exceedance: readonly Float64Array[];
  readonly quantiles: readonly Float64Array[];
}

interface SimulateShared {
  readonly simulation: Simulation;
  readonly ensemble: Float64Array;
  readonly limits: readonly number[];
  readonly quantiles: readonly number[];
  /** Realisations of each tile, all of one member. */
  readonly tiles: readonly (readonly number[])[];
}

const MOST_BYTES = 1024 * 1024 * 1024;
/** Enough to pay for the covariances between cells and points, which a tile computes once. */
export const REALISATIONS_PER_TILE = 32;

export const simulate: TiledJob<SimulateInput, SimulateShared, SimulateOutput> = {
  form: 'tiled',

  prepare({ points, surface, limits = [], quantiles = [], ...request }, context) {
    const cells = request.cellsXy.length / 2;
    const bytes = 8 * cells * request.realisations;
    if (!(bytes <= MOST_BYTES))
      throw new AppError(
        'BAD_INPUT',
        `Simulation: ${request.realisations} realisations of ${cells} cells need ${Math.round(bytes / 1048576)} MB (at most ${MOST_BYTES / 1048576}): take larger cells or fewer realisations`,
      );
    for (const q of quantiles)
      if (!(q >= 0 && q <= 1))
        throw new AppError('BAD_INPUT', `Simulation: quantile ${q} is not within 0 to 1`);
    const shared = { ...request, cellsXy: toShared(request.cellsXy) };
    const simulation = prepareSimulation(points, surface, shared, allocateShared, (done) => {
      throwIfStopped(context);
      context.progress(done, 'setting up the models');
    });
    const ensemble = allocateShared(cells * request.realisations);
    return {
      simulation,
      ensemble,
      limits,
      quantiles,
      tiles: runsByMember(simulation, REALISATIONS_PER_TILE),
    };
  },

  open({ simulation, ensemble, tiles }) {
    const cells = simulation.cellsXy.length / 2;
    const draw = simulator(simulation);
    return {
      count: tiles.length,
      stage: 'drawing realisations',
      run: (index) => draw(tiles[index]!, (r) => ensemble.subarray(r * cells, (r + 1) * cells)),
    };
  },

  finish: ({ simulation, ensemble, limits, quantiles }) =>
    summarise(ensemble, simulation.cellsXy.length / 2, simulation.memberOf.length, limits, quantiles),
};

function summarise(
  ensemble: Float64Array,
  cells: number,
  realisations: number,
  limits: readonly number[],
  quantiles: readonly number[],
): SimulateOutput {
  const out = {
    realisations,
    ensemble,
    mean: new Float64Array(cells),
    standardDeviation: new Float64Array(cells),
    exceedance: limits.map(() => new Float64Array(cells)),
    quantiles: quantiles.map(() => new Float64Array(cells)),
  };
  const values = new Float64Array(realisations);
  for (let c = 0; c < cells; c++) {
    let sum = 0;
    for (let r = 0; r < realisations; r++) {
      values[r] = ensemble[r * cells + c]!;
      sum += values[r]!;
    }
    const mean = sum / realisations;
    let squares = 0;
    for (const v of values) squares += (v - mean) ** 2;
    out.mean[c] = mean;
    out.standardDeviation[c] = Math.sqrt(squares / Math.max(1, realisations - 1));
    limits.forEach((limit, l) => {
      let above = 0;
      for (const v of values) if (v > limit) above++;
      out.exceedance[l]![c] = above / realisations;
    });
    if (quantiles.length === 0) continue;
    values.sort();
    quantiles.forEach((q, k) => {
      // linear between order statistics, the first at 0 and the last at 1
      const at = q * (realisations - 1);
      const low = Math.floor(at);
      const high = Math.min(realisations - 1, low + 1);
      out.quantiles[k]![c] = values[low]! + (at - low) * (values[high]! - values[low]!);
    });
  }
  return out;
}
