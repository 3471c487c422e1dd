/**
 * What lower bounds are worth: invented lots of 20 probes of which 4 were diluted, their values taken down by an unknown
 * share. Run by hand from the repository's root: node test/geostat-study/lower-bounds.ts [lots, 600] [first seed, 1]
 */
import { chooseModel } from '../../core/geostat/auto-model.ts';
import type { SurfacePoints } from '../../core/geostat/lower-bounds.ts';
import { predictSurface } from '../../core/geostat/predict-surface.ts';
import { seededUniform } from '../core/geostat/simulate.ts';
import { inventLot, UNSEEN } from './truths.ts';

const PROBES = 20;
const DILUTED = 4;

const lots = Number(process.argv[2] ?? 600);
const firstSeed = Number(process.argv[3] ?? 1);
const ways = [
  'as if they were values',
  'left out',
  'as lower bounds',
  'undiluted (not known in the field)',
] as const;
const sums = ways.map(() => ({ logRmse: 0, error: 0, covered: 0, count: 0 }));
for (let i = 0; i < lots; i++) {
  const lot = inventLot('inside the priors', PROBES, 7_000_000 + firstSeed + i);
  if (lot.values.some((v) => v <= 0)) continue;
  const uniform = seededUniform(firstSeed + i);
  // probes lie in order of rows: every fifth is a scattered choice
  const isDiluted = (k: number) => k % (PROBES / DILUTED) === i % (PROBES / DILUTED);
  const read = lot.values.map((v, k) => (isDiluted(k) ? v * (0.3 + 0.6 * uniform()) : v));
  const pick = (wanted: boolean) => [...read.keys()].filter((k) => isDiluted(k) === wanted);
  const xyOf = (ids: number[]) =>
    Float64Array.from(ids.flatMap((k) => [...lot.xy.subarray(2 * k, 2 * k + 2)]));
  const sound = { xy: xyOf(pick(false)), values: Float64Array.from(pick(false), (k) => read[k] as number) };
  const lowerBounds = {
    xy: xyOf(pick(true)),
    bounds: Float64Array.from(pick(true), (k) => read[k] as number),
  };
  const sets: SurfacePoints[] = [
    { xy: lot.xy, values: read },
    sound,
    { ...sound, lowerBounds },
    { xy: lot.xy, values: lot.values },
  ];
  // judged near the diluted probes too: the unseen places and the diluted places themselves
  const places = Float64Array.from([...lot.unseenXy, ...lowerBounds.xy]);
  const truth = Float64Array.from([...lot.truth, ...pick(true).map((k) => lot.values[k] as number)]);
  const spread = Math.sqrt(truth.reduce((s, t) => s + t * t, 0) / truth.length);
  sets.forEach((points, w) => {
    const choice = chooseModel(points);
    const out = predictSurface(choice.points, choice.surface, places);
    const sum = sums[w] as (typeof sums)[number];
    let squares = 0;
    for (let k = 0; k < UNSEEN; k++) {
      const error = (truth[k] as number) - (out.estimate[k] as number);
      squares += error ** 2 / UNSEEN;
      sum.error += error / spread / UNSEEN;
      if (Math.abs(error) < 1.645 * (out.standardError[k] as number)) sum.covered += 1 / UNSEEN;
    }
    sum.logRmse += 0.5 * Math.log(squares);
    sum.count++;
  });
}
process.stdout.write(
  '| diluted probes taken | RMSE | mean (truth - estimate) / rms truth | within 1.645 errors |\n|---|---|---|---|\n',
);
ways.forEach((way, w) => {
  const { logRmse, error, covered, count } = sums[w] as (typeof sums)[number];
  process.stdout.write(
    `| ${way} | ${Math.exp(logRmse / count).toFixed(2)} | ${((100 * error) / count).toFixed(1)} % | ${((100 * covered) / count).toFixed(1)} % |\n`,
  );
});
