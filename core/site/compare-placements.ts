// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** What the difference between placements is worth: the same realisations under each, taken from each other. */

import type { RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { capital, chanceText } from '../text.ts';
import { coverCells } from './cell-cover.ts';
import { SITING_CAUTIONS } from './search-placements.ts';
import { type Ensemble, type Spread, spreadOf, valuesUnder } from './statistics-under.ts';

export interface ComparisonOptions {
  readonly statistic: 'block-mean' | 'upper-quartile';
  /** A difference below this is not worth moving a building for, however certain. */
  readonly leastDifferenceKBqPerM3: number;
  /** Share of realisations that must agree on which is lower; default 0.95. */
  readonly agreement?: number;
}

export interface PlacementDifference {
  /** Indices into the rings given. */
  readonly first: number;
  readonly second: number;
  /** Second less first, kBq/m3. */
  readonly difference: Spread;
  /** Share of realisations in which the first is lower; equal ones count half. */
  readonly probabilityFirstLower: number;
  readonly verdict: 'first-lower' | 'second-lower' | 'no-real-difference';
  readonly message: string;
}

export interface PlacementComparison {
  /** Each pair once. */
  readonly differences: readonly PlacementDifference[];
  readonly realisations: number;
  readonly cautions: readonly string[];
}

const DEFAULT_AGREEMENT = 0.95;
const LEAST_ON_SURFACE = 0.99;

/**
 * Every pair of the rings, on common realisations: what the placements share, such as an error of calibration or of the
 * level of the whole lot, drops out of the difference.
 * @param names what messages call them in the middle of a sentence, in the same order
 * @throws AppError BAD_INPUT for a ring off the surface, fewer than 20 realisations, or options out of bounds
 */
export function comparePlacements(
  rings: readonly RingM[],
  names: readonly string[],
  ensemble: Ensemble,
  options: ComparisonOptions,
): PlacementComparison {
  const { statistic, leastDifferenceKBqPerM3, agreement = DEFAULT_AGREEMENT } = options;
  if (!(agreement > 0.5 && agreement < 1))
    throw new AppError('BAD_INPUT', `Agreement ${agreement}: must be above 0.5 and below 1.`, {
      field: 'agreement',
    });
  if (!(leastDifferenceKBqPerM3 >= 0))
    throw new AppError(
      'BAD_INPUT',
      `Least difference ${leastDifferenceKBqPerM3} kBq/m³: must be 0 or more.`,
      {
        field: 'leastDifferenceKBqPerM3',
      },
    );
  if (ensemble.count < 20)
    throw new AppError('BAD_INPUT', `${ensemble.count} realisations tell no difference: 20 at least.`);
  const under = rings.map((ring, i) => {
    const values = valuesUnder(coverCells(ring, ensemble.grid), ensemble);
    if (values.onSurfaceShare < LEAST_ON_SURFACE)
      throw new AppError(
        'BAD_INPUT',
        `${(100 * (1 - values.onSurfaceShare)).toFixed(0)} % of ${names[i] ?? `placement ${i + 1}`} lies where there is no surface: it cannot be compared.`,
      );
    return statistic === 'block-mean' ? values.blockMeans : values.upperQuartiles;
  });
  const differences: PlacementDifference[] = [];
  for (let first = 0; first < rings.length; first++) {
    for (let second = first + 1; second < rings.length; second++) {
      const difference = under[second]!.map((value, r) => value - under[first]![r]!);
      const spread = spreadOf(difference);
      const lower = difference.reduce((s, d) => s + (d > 0 ? 1 : d === 0 ? 0.5 : 0), 0) / difference.length;
      const certain = lower >= agreement || lower <= 1 - agreement;
      const worth = Math.abs(spread.mean) >= leastDifferenceKBqPerM3;
      const verdict = !(certain && worth)
        ? 'no-real-difference'
        : lower > 0.5
          ? 'first-lower'
          : 'second-lower';
      differences.push({
        first,
        second,
        difference: spread,
        probabilityFirstLower: lower,
        verdict,
        message: wordDifference(
          [names[first] ?? `placement ${first + 1}`, names[second] ?? `placement ${second + 1}`],
          spread,
          lower,
          verdict,
          certain,
          options,
        ),
      });
    }
  }
  return { differences, realisations: ensemble.count, cautions: SITING_CAUTIONS };
}

function wordDifference(
  [first, second]: readonly [string, string],
  spread: Spread,
  lower: number,
  verdict: PlacementDifference['verdict'],
  certain: boolean,
  options: ComparisonOptions,
): string {
  const what =
    options.statistic === 'block-mean' ? 'mean under the footprint' : 'third quartile under the footprint';
  const [low, high, share] =
    lower > 0.5 ? ([first, second, lower] as const) : ([second, first, 1 - lower] as const);
  // higher less lower, whichever was named first
  const sign = lower > 0.5 ? 1 : -1;
  const ends = [sign * spread.low, sign * spread.high].sort((a, b) => a - b) as [number, number];
  const size = `${signed(sign * spread.mean)} kBq/m³ (90 % of the realisations from ${signed(ends[0])} to ${signed(ends[1])} kBq/m³)`;
  if (verdict !== 'no-real-difference')
    return `${capital(low)} is lower than ${high} by ${size} in the ${what}, and lower in ${chanceText(share)} of the realisations.`;
  const why = certain
    ? `that is under the ${options.leastDifferenceKBqPerM3} kBq/m³ that were said to matter`
    : `${low} is lower in ${chanceText(share)} of the realisations, fewer than the ${(100 * (options.agreement ?? DEFAULT_AGREEMENT)).toFixed(0)} % asked for`;
  return `No real difference between ${first} and ${second} in the ${what}: ${high} less ${low} comes to ${size}; ${why}.`;
}

/** One decimal, with a true minus sign and no sign on a zero. */
function signed(value: number): string {
  const text = Math.abs(value).toFixed(1);
  return value < 0 && Number(text) !== 0 ? `\u2212${text}` : text;
}
