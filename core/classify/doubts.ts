import type { ClassResult } from '../contract/results.ts';
import {
  decidingRoute,
  evaluate,
  findPermeability,
  type Permeability,
  type Rules,
  statisticOf,
} from './evaluate.ts';
import type { ValidPoint } from './points.ts';
import type { QuantileRule } from './quantile.ts';
import { randomStream } from './random.ts';

type Doubt = ClassResult['doubts'][number];

/** About this many numbers are drawn at most; large lots need fewer draws. */
const MOST_NUMBERS = 600_000;

/**
 * The two doubts of a class, from seeded draws: of measurement (the same points measured again: each value within
 * its u, all together within the common error, a non-detect anywhere under its limit) and of sampling (as many
 * other points of the same ground: the points drawn anew with replacement). They are not to be added.
 */
export function findDoubts(
  rules: Rules,
  points: readonly ValidPoint[],
  permeability: Permeability,
  rule: QuantileRule,
  seed: number,
  draws: number,
  lowerBoundCount = 0,
): Doubt[] {
  const n = points.length;
  const count = Math.max(200, Math.min(draws, Math.floor(MOST_NUMBERS / n)));
  const route = decidingRoute(rules.scheme, permeability);
  const values = new Float64Array(n);
  const measurement = new Float64Array(rules.classes.length);
  const sampling = new Float64Array(rules.classes.length);
  let samplingCount = 0;
  for (let draw = 0; draw < count; draw++) {
    const random = randomStream(seed, 2 * draw);
    const common = random.normal();
    points.forEach((p, i) => {
      values[i] = p.isNonDetect
        ? p.radonKBqPerM3 * random.uniform()
        : Math.max(0, (p.radonKBqPerM3 + p.randomUKBqPerM3 * random.normal()) * (1 + p.commonURel * common));
    });
    const again = evaluate(rules, statisticOf(values, rules.scheme, rule), permeability, route);
    if (again !== null) measurement[again.index] = (measurement[again.index] ?? 0) + 1;

    const other = randomStream(seed, 2 * draw + 1);
    const drawn = Array.from({ length: n }, () => points[other.below(n)]).filter((p) => p !== undefined);
    const ground = findPermeability(drawn, rules.scheme, rule);
    const statistic = statisticOf(
      drawn.map((p) => p.radonKBqPerM3),
      rules.scheme,
      rule,
    );
    const outcome = evaluate(rules, statistic, ground, decidingRoute(rules.scheme, ground));
    if (outcome !== null) {
      sampling[outcome.index] = (sampling[outcome.index] ?? 0) + 1;
      samplingCount++;
    }
  }
  const shares = (tally: Float64Array, total: number) =>
    rules.classes.map((c, i) => ({ classId: c.id, probability: total === 0 ? 0 : (tally[i] ?? 0) / total }));
  const common = points.some((p) => p.commonURel > 0)
    ? 'and all together by the common calibration error'
    : 'no common calibration error was entered, so none is in it';
  const bounds =
    lowerBoundCount === 0
      ? ''
      : `; ${lowerBoundCount} points known only by a lower bound are not in it, so higher classes are likelier than it says`;
  const lost =
    samplingCount === count ? '' : `; ${count - samplingCount} draws gave no class for want of permeability`;
  return [
    {
      kind: 'measurement',
      probabilities: shares(measurement, count),
      method: `the same ${n} points measured again, ${count} seeded draws: each value within its own u, ${common}; permeability held${bounds}`,
    },
    {
      kind: 'sampling',
      probabilities: shares(sampling, samplingCount),
      method: `${n} other points of the same ground, ${count} seeded draws of the points with replacement; points near each other are taken as independent, which understates the doubt${bounds}${lost}`,
    },
  ];
}
