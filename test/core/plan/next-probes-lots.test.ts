/**
 * Next probes on simulated lots. 10 lots here; all 500: LOTS=500 in the environment (eleven minutes of one core). What
 * they gave is in docs/planning.md.
 */
import { expect, test } from 'vitest';
import { quantile } from '../../../core/classify/quantile.ts';
import type { PositionM } from '../../../core/contract/model.ts';
import { gridPointsInside, stepForCount } from '../../../core/plan/ground-test.ts';
import { proposeNextProbes } from '../../../core/plan/next-probes.ts';
import { prepareInterest, worstGap } from '../../../core/plan/worst-gap.ts';
import { seededNormal, simulateField } from '../geostat/simulate.ts';
import {
  type IntendedBuilding,
  intendBuilding,
  meanVariance,
  plannerLayouts,
  regularInfills,
  type SimulatedLot,
  simulateLot,
} from './simulated-lots.ts';

const LOTS = Number(process.env['LOTS'] ?? 10);
const TIME_CAP_MS = LOTS <= 10 ? 60_000 : 14_400_000;
const quiet = { stopped: () => false, progress: () => {} };

/** Mean kriging variances of a target, with what is proposed and with each comparator. */
interface Comparison {
  readonly before: number;
  readonly proposed: number;
  /** Lowest mean variance of all regular infills tried: picked by the very figure they are judged by. */
  readonly bestByVariance: number;
  /** The regular infill that a person would pick without a variogram: smallest worst gap together with what is there. */
  readonly bestByGap: number;
  /** The best by variance of the planner's own square, triangular and offset layout for the number. */
  readonly bestPlanned: number;
}

interface Outcome extends Comparison {
  readonly nugget: number;
  readonly clustered: boolean;
  /** With an intended building and its surroundings as target; null where none fits on the lot. */
  readonly building: Comparison | null;
  /** Log of third quartile of points over third quartile of the ground: before, with the proposed, with the regular. */
  readonly quartile: readonly number[];
}

interface Compared extends Comparison {
  readonly places: PositionM[];
  readonly regularPlaces: PositionM[];
}

function compare(lot: SimulatedLot, building: IntendedBuilding | null): Compared {
  const target = building?.target ?? lot.ground;
  const places = proposeNextProbes(
    {
      points: { xy: Float64Array.from(lot.measured.flat()), values: new Float64Array(lot.measured.length) },
      members: [{ model: lot.model, transform: 'none', weight: 1 }],
      count: lot.count,
      ground: lot.ground,
      target,
      criterion: 'mean',
      occupied: lot.measured,
    },
    quiet,
  ).added.map((a) => a.positionM);
  const variance = (added: readonly PositionM[]) => meanVariance(lot, added, target);
  const interest = prepareInterest(target, 400);
  const judged = regularInfills(lot, target).map((nodes) => ({
    nodes,
    variance: variance(nodes),
    gapM: worstGap([...lot.measured, ...nodes], interest).gapM,
  }));
  const [byVariance] = judged.toSorted((a, b) => a.variance - b.variance);
  const [byGap] = judged.toSorted((a, b) => a.gapM - b.gapM);
  return {
    before: variance([]),
    proposed: variance(places),
    bestByVariance: byVariance?.variance ?? Number.NaN,
    bestByGap: byGap?.variance ?? Number.NaN,
    bestPlanned: Math.min(...plannerLayouts(lot, building).map(variance)),
    places,
    regularPlaces: byVariance?.nodes ?? [],
  };
}

function runLot(seed: number): Outcome {
  const lot = simulateLot(seed);
  const whole = compare(lot, null);
  const building = intendBuilding(lot, seed);
  return {
    ...whole,
    nugget: lot.model.nugget,
    clustered: lot.clustered,
    building: building === null ? null : compare(lot, building),
    quartile: quartileErrors(lot, whole.places, whole.regularPlaces, seed),
  };
}

function quartileErrors(
  lot: SimulatedLot,
  proposed: PositionM[],
  regular: PositionM[],
  seed: number,
): number[] {
  const cells = gridPointsInside(lot.ground, stepForCount(lot.areaM2, 250));
  const places = [...lot.measured, ...proposed, ...regular, ...cells];
  const field = simulateField(Float64Array.from(places.flat()), lot.model, seededNormal(seed));
  const at = (from: number, count: number) => [...field.subarray(from, from + count)];
  const [m, p, r] = [lot.measured.length, proposed.length, regular.length];
  const measured = at(0, m);
  // ln of a lognormal ground with geometric mean 30 kBq/m3 and geometric SD 2: quartiles commute with the logarithm
  const third = (values: number[]) => Math.log(2) * quantile(values, 0.75, 'linear-n-1');
  const truth = third(at(m + p + r, cells.length));
  return [measured, [...measured, ...at(m, p)], [...measured, ...at(m + p, r)]].map((v) => third(v) - truth);
}

const mean = <T>(of: readonly T[], pick: (o: T) => number) => of.reduce((s, o) => s + pick(o), 0) / of.length;
const share = <T>(of: readonly T[], pick: (o: T) => boolean) => of.filter(pick).length / of.length;

/** Ratios of mean variances, proposed over each comparator, on lots with their nugget. */
function ratios(of: readonly { readonly nugget: number; readonly on: Comparison }[]) {
  const against = (comparator: 'bestByVariance' | 'bestByGap' | 'bestPlanned') => ({
    ratio: mean(of, ({ on }) => on.proposed / on[comparator]),
    withoutNugget: mean(of, ({ nugget, on }) => (on.proposed - nugget) / (on[comparator] - nugget)),
    lotsLower: share(of, ({ on }) => on.proposed < on[comparator]),
    lotsTenPercentLower: share(of, ({ on }) => on.proposed <= 0.9 * on[comparator]),
    ratioOfFalls: mean(of, ({ on }) => (on.before - on.proposed) / (on.before - on[comparator])),
  });
  return {
    lots: of.length,
    bestByVariance: against('bestByVariance'),
    bestByGap: against('bestByGap'),
    bestPlanned: against('bestPlanned'),
  };
}

test(
  `mean kriging variance against regular infill, ${LOTS} lots`,
  () => {
    const started = performance.now();
    const outcomes: Outcome[] = [];
    for (let seed = 1; seed <= LOTS && performance.now() - started < TIME_CAP_MS; seed++)
      outcomes.push(runLot(seed));
    const whole = outcomes.map((o) => ({ ...o, on: o as Comparison }));
    const buildings = outcomes.flatMap((o) => (o.building === null ? [] : [{ ...o, on: o.building }]));
    const groups = (of: typeof whole) => ({
      all: ratios(of),
      clustered: ratios(of.filter((o) => o.clustered)),
      allOver: ratios(of.filter((o) => !o.clustered)),
      clusteredLittleNugget: ratios(of.filter((o) => o.clustered && o.nugget < 0.1)),
    });
    const figures = { whole: groups(whole), buildings: groups(buildings) };
    const quartile = [0, 1, 2].map((k) => {
      const bias = mean(outcomes, (o) => o.quartile[k] as number);
      const spread = mean(outcomes, (o) => ((o.quartile[k] as number) - bias) ** 2);
      return {
        biasPct: 100 * Math.expm1(bias),
        biasSePct: 100 * Math.sqrt(spread / (outcomes.length - 1)),
        rmsPct: 100 * Math.sqrt(mean(outcomes, (o) => (o.quartile[k] as number) ** 2)),
      };
    });
    if (LOTS > 10) console.log(JSON.stringify({ ...figures, quartile }, null, 1));
    expect(outcomes.length).toBeGreaterThanOrEqual(Math.min(LOTS, 6));
    const wanted = figures.whole.all;
    const asked = figures.buildings.all;
    for (const { lotsLower } of [wanted.bestByVariance, wanted.bestByGap, wanted.bestPlanned])
      expect(lotsLower).toBe(1);
    for (const { lotsLower } of [asked.bestByVariance, asked.bestByGap, asked.bestPlanned])
      expect(lotsLower).toBeGreaterThan(0.98);
    expect(wanted.bestByVariance.ratio).toBeLessThan(0.96);
    expect(wanted.bestPlanned.ratio).toBeLessThan(0.94);
    expect(asked.bestByVariance.ratio).toBeLessThan(0.985);
    expect(asked.bestPlanned.ratio).toBeLessThan(0.965);
    // The goal of 10 % below the best regular infill is not met on the mean of many lots, whichever way 'best' is read;
    // docs/planning.md says why it cannot be against the first. A run that says otherwise is to be looked into.
    if (LOTS >= 100)
      for (const of of [wanted, asked])
        for (const { ratio } of [of.bestByVariance, of.bestByGap, of.bestPlanned])
          expect(ratio).toBeGreaterThan(0.9);
  },
  TIME_CAP_MS + 60_000,
);
