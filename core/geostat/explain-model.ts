// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import type { LikelihoodFit } from './likelihood.ts';
import { practicalRangeM, type VariogramModel } from './models.ts';

/** A model below this many points is the stated default, hardly touched by the data. */
export const FEW = 8;
/** Below this many points a variogram is a guess. */
const GUESS = 30;

/** Adds to `reasons` what was found, in plain words. */
export function explainModel(c: {
  readonly n: number;
  readonly ranges: readonly number[];
  readonly shares: readonly number[];
  readonly average: boolean;
  readonly members: number;
  readonly errorFactor: number;
  readonly outliers: readonly number[];
  readonly best: { model: VariogramModel; errors: LikelihoodFit['standardErrors'] | null };
  readonly reasons: string[];
}): void {
  const { n, ranges, shares, best, reasons, errorFactor, outliers } = c;
  const pairs = (n * (n - 1)) / 2;
  if (n < FEW)
    reasons.push(
      `With ${n} points the model is a stated default (ranges from the spacing to the extent of the points, any nugget share), not found in the data.`,
    );
  else if (n < GUESS) reasons.push(`${n} points are ${pairs} pairs: any single variogram would be a guess.`);
  if (c.average && c.members > 1)
    reasons.push(
      `${c.members} plausible models are averaged by restricted likelihood; the stated error holds their disagreement.`,
    );
  const metres = (v: number) => `${v.toPrecision(2)} m`;
  const [structure] = best.model.structures;
  reasons.push(
    structure === undefined
      ? 'Best single model: no structure at all, the values scatter about one mean.'
      : `Best single model: ${structure.kind}${structure.smoothness === undefined ? '' : ` (smoothness ${structure.smoothness})`}, practical range ${metres(practicalRangeM(best.model))}, nugget ${Math.round((100 * best.model.nugget) / (best.model.nugget + structure.partialSill))} % of the sill.`,
  );
  reasons.push(
    `Plausible practical ranges reach from ${metres(ranges[0]!)} to ${metres(ranges[2]!)}, nugget shares from ${Math.round(100 * shares[0]!)} to ${Math.round(100 * shares[2]!)} %.`,
  );
  if (Math.abs(errorFactor - 1) > 0.05)
    reasons.push(`Stated errors are multiplied by ${errorFactor.toFixed(2)}, as left-out points show.`);
  if (outliers.length > 0) {
    const named = outliers.slice(0, 5).map((i) => i + 1);
    const more = outliers.length > 5 ? ' and others' : '';
    reasons.push(
      `Far from what the others predict (used all the same, look at them): point ${named.join(', ')}${more}.`,
    );
  }
}
