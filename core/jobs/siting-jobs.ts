/** Realisations of the ground on its grid, drawn once and held by the engine, and what is read off them under a place. */
import type { RingM } from '../contract/model.ts';
import type { GridSpec } from '../contract/results.ts';
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import type { SurfaceMethod } from '../geostat/predict-surface.ts';
import {
  prepareSimulation,
  runsByMember,
  type Simulation,
  type SimulationRequest,
  simulator,
} from '../geostat/simulate.ts';
import { type CellCover, coverCells } from '../site/cell-cover.ts';
import { comparePlacements, type PlacementDifference } from '../site/compare-placements.ts';
import {
  checkEnsemble,
  describeUnder,
  type Ensemble,
  type EstimateOnGrid,
  emptyValues,
  fillValues,
  type GroundUnder,
  groundUnder,
  type RealisationValues,
  statisticsUnder,
  type UnderFootprint,
} from '../site/statistics-under.ts';
import { type SingleJob, type TiledJob, throwIfStopped } from './job.ts';
import { allocateShared, toShared } from './shared.ts';
import { REALISATIONS_PER_TILE } from './simulate.ts';

export interface DrawEnsembleInput extends SimulationRequest {
  readonly points: SurfacePoints;
  readonly surface: SurfaceMethod;
  readonly grid: GridSpec;
  /** Cells of the grid that have a surface, in the order of `cellsXy`. */
  readonly cells: Int32Array;
}

interface DrawEnsembleShared {
  readonly simulation: Simulation;
  readonly grid: GridSpec;
  readonly cells: Int32Array;
  readonly values: Float32Array;
  readonly tiles: readonly (readonly number[])[];
}

/** Single precision: half the memory, and what a place is asked about need not be known to a millionth. */
export const drawEnsemble: TiledJob<DrawEnsembleInput, DrawEnsembleShared, Ensemble> = {
  form: 'tiled',

  prepare({ points, surface, grid, cells, ...request }, context) {
    const shared = { ...request, cellsXy: toShared(request.cellsXy) };
    const simulation = prepareSimulation(points, surface, shared, allocateShared, (done) => {
      throwIfStopped(context);
      context.progress(done, 'setting up the models');
    });
    const length = grid.columns * grid.rows * request.realisations;
    const values = new Float32Array(new SharedArrayBuffer(length * Float32Array.BYTES_PER_ELEMENT));
    return {
      simulation,
      grid,
      cells,
      values: values.fill(Number.NaN),
      tiles: runsByMember(simulation, REALISATIONS_PER_TILE),
    };
  },

  open({ simulation, grid, cells, values, tiles }, context) {
    const drawRun = gridDrawer(simulation, grid, cells, values);
    return {
      count: tiles.length,
      stage: 'drawing the ground',
      run(index) {
        if (!context.stopped()) drawRun(tiles[index] ?? []);
      },
    };
  },

  finish: ({ simulation, grid, values }) => ({ grid, count: simulation.memberOf.length, values }),
};

/** Puts each realisation of a run, all of one member, to its place in `values`, in grid order. */
export function gridDrawer(
  simulation: Simulation,
  grid: GridSpec,
  cells: Int32Array,
  values: Float32Array,
): (run: readonly number[]) => void {
  const size = grid.columns * grid.rows;
  const draw = simulator(simulation);
  const scratch = new Float64Array(REALISATIONS_PER_TILE * cells.length);
  const own = (k: number) => scratch.subarray(k * cells.length, (k + 1) * cells.length);
  return (run) => {
    draw(run, (r) => own(run.indexOf(r)));
    run.forEach((r, k) => {
      const at = r * size;
      const drawn = own(k);
      for (let i = 0; i < cells.length; i++) values[at + (cells[i] ?? 0)] = drawn[i] ?? Number.NaN;
    });
  };
}

export interface UnderPlaceInput {
  readonly ring: RingM;
  readonly estimate: EstimateOnGrid;
  readonly ensemble: Ensemble;
  readonly limitsKBqPerM3: readonly number[];
}

interface UnderPlaceShared extends UnderPlaceInput {
  readonly cover: CellCover;
  readonly ground: GroundUnder;
  readonly values: RealisationValues;
}

/** Few enough for a short wait, so many that no thread is left over. */
const PARTS = 8;

/** The realisations shared out among the threads: a hand is waiting. */
export const underPlaceJob: TiledJob<UnderPlaceInput, UnderPlaceShared, UnderFootprint> = {
  form: 'tiled',

  prepare(input) {
    const { ring, estimate, ensemble, limitsKBqPerM3 } = input;
    checkEnsemble(ensemble, estimate);
    const cover = coverCells(ring, ensemble.grid);
    return {
      ...input,
      cover,
      ground: groundUnder(cover, ensemble),
      values: emptyValues(ensemble.count, limitsKBqPerM3.length, allocateShared),
    };
  },

  open({ ground, ensemble, limitsKBqPerM3, values }) {
    const size = Math.ceil(ensemble.count / PARTS);
    return {
      count: PARTS,
      stage: 'reading the ground',
      run(index) {
        const to = Math.min(ensemble.count, (index + 1) * size);
        fillValues(ground, ensemble, limitsKBqPerM3, index * size, to, values);
      },
    };
  },

  finish: ({ cover, ground, values, estimate, ensemble, limitsKBqPerM3 }) =>
    describeUnder(cover, ground, values, estimate, ensemble, limitsKBqPerM3),
};

export interface ComparePlacesInput extends Omit<UnderPlaceInput, 'ring'> {
  readonly places: readonly { readonly name: string; readonly ring: RingM }[];
  readonly leastDifferenceKBqPerM3: number;
}

export interface ComparePlacesOutput {
  readonly statistics: readonly UnderFootprint[];
  /** Of every two places on the surface, by their numbers in the input. */
  readonly pairs: readonly Pick<PlacementDifference, 'first' | 'second' | 'verdict'>[];
  readonly differences: readonly string[];
}

/** A place that lies off the surface, by more than a trifle, is not compared, and it is said. */
export const comparePlacesJob: SingleJob<ComparePlacesInput, ComparePlacesOutput> = {
  form: 'single',
  run({ places, estimate, ensemble, limitsKBqPerM3, leastDifferenceKBqPerM3 }, context) {
    const statistics = places.map(({ ring }) => {
      throwIfStopped(context);
      return statisticsUnder(ring, estimate, ensemble, limitsKBqPerM3);
    });
    const isOn = (i: number) => (statistics[i]?.offSurfaceShare ?? 1) <= MOST_OFF_SURFACE;
    const kept = places.flatMap((place, number) => (isOn(number) ? [{ ...place, number }] : []));
    const off = places.filter((_, i) => !isOn(i));
    const compared =
      kept.length < 2
        ? []
        : comparePlacements(
            kept.map((p) => p.ring),
            kept.map((p) => p.name),
            ensemble,
            { statistic: 'block-mean', leastDifferenceKBqPerM3 },
          ).differences;
    const numberOf = (i: number) => kept[i]?.number ?? i;
    return {
      statistics,
      pairs: compared.map(({ first, second, verdict }) => ({
        first: numberOf(first),
        second: numberOf(second),
        verdict,
      })),
      differences: [
        ...compared.map((d) => d.message),
        ...off.map(({ name }) => `Not compared, as it lies where there is no surface: ${name}.`),
      ],
    };
  },
};

const MOST_OFF_SURFACE = 0.01;
