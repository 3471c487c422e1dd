// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { empiricalVariogram, sparseLags } from './empirical-variogram.ts';
import type { LikelihoodFit } from './likelihood.ts';
import { practicalRangeM, semivariances, type VariogramModel } from './models.ts';
import type { PointSet } from './points.ts';

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
  const metres = (v: number) => `${Number(v.toPrecision(2))} m`;
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

/** Beyond this ratio, either way, a person sees that model and bins differ. */
const VISIBLE_GAP = 1.6;
/** As the variogram shown beside the model has them. */
const PAIRS_PER_LAG = 10;

/**
 * Says why the model does not run through the bins, where it plainly does not. The likelihood knows that pairs share
 * points: a rise over the whole lot counts once for it, in the bins as often as there are pairs across it.
 * @param data after the model's transform
 */
export function explainGap(data: PointSet, model: VariogramModel, reasons: string[]): void {
  const bins = empiricalVariogram(data, { ...sparseLags(data), minimumPairs: PAIRS_PER_LAG });
  const n = data.values.length;
  const error = (data.errorVariances ?? new Float64Array(n)).reduce((sum, v) => sum + v, 0) / n;
  const curve = semivariances(model, bins.distM);
  let shown = 0;
  let expected = 0;
  bins.semivariance.forEach((semivariance, i) => {
    if (!((bins.pairs[i] ?? 0) > 0)) return;
    shown += (bins.pairs[i] ?? 0) * semivariance;
    expected += (bins.pairs[i] ?? 0) * ((curve[i] ?? 0) + error);
  });
  const ratio = shown / expected;
  if (!(ratio > VISIBLE_GAP || ratio < 1 / VISIBLE_GAP)) return;
  const times = ratio > 1 ? ratio : 1 / ratio;
  reasons.push(
    `The points' own variogram lies about ${times.toFixed(1)} times ${ratio > 1 ? 'above' : 'below'} the model. ${
      ratio > 1
        ? 'A rise across the whole lot is one event seen by many pairs; the likelihood, which knows that pairs share points, counts it once.'
        : 'The likelihood allows for variation that the bins, short of the distance at which it would show, do not hold.'
    } Judge the errors by the left-out points, not by the bins.`,
  );
}
