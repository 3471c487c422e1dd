/**
 * How far next probes are from what any choice of places can attain. Two lots here, on few candidates; the first 20 lots on
 * the program's own candidates: ATTAINABLE_LOTS=20 in the environment (about five minutes of one core). What they gave is in
 * docs/planning.md.
 */
import { expect, test } from 'vitest';
import type { PositionM } from '../../../core/contract/model.ts';
import { chooseGreedily, exchangePlaces } from '../../../core/plan/choose-places.ts';
import { gridPointsInside, stepForCount } from '../../../core/plan/ground-test.ts';
import {
  CANDIDATES,
  DEFAULT_APART_M,
  placesApartFrom,
  proposeNextProbes,
} from '../../../core/plan/next-probes.ts';
import { prepareVarianceUpdate } from '../../../core/plan/variance-update.ts';
import {
  annealChoice,
  type ChoiceProblem,
  choiceProblem,
  lowerBound,
  meanVarianceWith,
} from './attainable.ts';
import { meanVariance, regularInfills, type SimulatedLot, simulateLot } from './simulated-lots.ts';

const LOTS = Number(process.env['ATTAINABLE_LOTS'] ?? 0);
const quiet = { stopped: () => false, progress: () => {} };

interface Setting {
  readonly lot: SimulatedLot;
  readonly places: readonly PositionM[];
  readonly targets: readonly PositionM[];
  readonly problem: ChoiceProblem;
}

function setUp(seed: number, candidates: number, targetCount: number, count?: number): Setting {
  const drawn = simulateLot(seed);
  const lot = { ...drawn, count: count ?? drawn.count };
  const grid = (n: number) => gridPointsInside(lot.ground, stepForCount(lot.areaM2, n));
  const places = placesApartFrom(grid(candidates), lot.measured, DEFAULT_APART_M);
  const targets = grid(targetCount);
  return { lot, places, targets, problem: choiceProblem(lot, places, targets) };
}

/** The program's search on the candidates as they are, without the finer places it looks at afterwards. */
function searchOnCandidates({ lot, places, targets, problem }: Setting): number {
  const data = { xy: Float64Array.from(lot.measured.flat()), values: new Float64Array(lot.measured.length) };
  const update = prepareVarianceUpdate(data, lot.model, 'constant', 0, places, targets);
  const choice = {
    members: [{ update, weight: 1 }],
    places,
    criterion: 'mean' as const,
    apartM: DEFAULT_APART_M,
  };
  const greedy = chooseGreedily(choice, lot.count, quiet, [0, 1]);
  return meanVarianceWith(problem, exchangePlaces(choice, greedy, quiet, [0, 1]));
}

test('the bound is under the best of all pairs, and annealing finds it', () => {
  const { problem } = setUp(3, 60, 60, 2);
  let best = Infinity;
  for (let a = 0; a < problem.candidates; a++)
    for (let b = 0; b < a; b++) best = Math.min(best, meanVarianceWith(problem, [a, b]));
  expect(annealChoice(problem, 5_000, 1).mean).toBeCloseTo(best, 12);
  const bound = lowerBound(problem, 30);
  expect(bound).toBeLessThan(best);
  expect(bound).toBeGreaterThan(0.9 * best);
});

test('the search is within a hundredth of the best found by long annealing, which no bound contradicts', () => {
  const setting = setUp(2, 150, 150);
  const found = searchOnCandidates(setting);
  const annealed = annealChoice(setting.problem, 60_000, 1).mean;
  expect(found).toBeLessThan(1.01 * annealed);
  const bound = lowerBound(setting.problem, 30);
  expect(bound).toBeLessThan(annealed);
  expect(bound).toBeGreaterThan(0.85 * annealed);
}, 60_000);

if (LOTS > 0)
  test(`attainable on ${LOTS} lots`, () => {
    const rows = Array.from({ length: LOTS }, (_, k) => {
      const seed = k + 1;
      const setting = setUp(seed, CANDIDATES, 400);
      const { lot, targets, problem } = setting;
      const annealed = Math.min(...[1, 2].map((s) => annealChoice(problem, 150_000, s).mean));
      const finer = setUp(seed, 4 * CANDIDATES, 400);
      const annealedFiner = Math.min(...[1, 2].map((s) => annealChoice(finer.problem, 150_000, s).mean));
      const proposed = proposeNextProbes(
        {
          points: {
            xy: Float64Array.from(lot.measured.flat()),
            values: new Float64Array(lot.measured.length),
          },
          members: [{ model: lot.model, transform: 'none', weight: 1 }],
          count: lot.count,
          ground: lot.ground,
          target: lot.ground,
          criterion: 'mean',
          occupied: lot.measured,
        },
        quiet,
      ).after.mean;
      const [best] = regularInfills(lot)
        .map((nodes) => ({ nodes, variance: meanVariance(lot, nodes) }))
        .toSorted((a, b) => a.variance - b.variance);
      const regularPlaces = best?.nodes ?? [];
      const regular = meanVarianceWith(choiceProblem(lot, regularPlaces, targets), [...regularPlaces.keys()]);
      const bound = lowerBound(problem, 40);
      return {
        seed,
        clustered: lot.clustered,
        searchOverAnnealed: searchOnCandidates(setting) / annealed,
        proposedOverAnnealedFiner: proposed / annealedFiner,
        boundOverAnnealed: bound / annealed,
        annealedFinerOverRegular: annealedFiner / regular,
        boundOverRegular: bound / regular,
      };
    });
    for (const row of rows) console.log(JSON.stringify(row));
    for (const row of rows) {
      expect(row.searchOverAnnealed).toBeLessThan(1.02);
      expect(row.boundOverAnnealed).toBeLessThan(1);
    }
  }, 7_200_000);
