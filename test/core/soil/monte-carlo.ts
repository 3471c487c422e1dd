import { randomStream } from '../../../core/classify/random.ts';
import type { Uncertain } from '../../../core/soil/uncertainty.ts';

export interface MonteCarloResult extends Uncertain {
  readonly mean: number;
  readonly low95: number;
  readonly high95: number;
}

/**
 * What `propagate` does to first order, by Monte Carlo with normal inputs (GUM Supplement 1).
 * @returns value of f at the inputs, standard deviation and mean of the draws, and their 2.5 and 97.5 % points
 */
export function propagateMonteCarlo(
  f: (inputs: readonly number[]) => number,
  inputs: readonly Uncertain[],
  seed: number,
  draws = 20_000,
): MonteCarloResult {
  const random = randomStream(seed, 0);
  const results = new Float64Array(draws);
  for (let k = 0; k < draws; k++) results[k] = f(inputs.map((i) => i.value + i.u * random.normal()));
  results.sort();
  const mean = results.reduce((a, b) => a + b, 0) / draws;
  const variance = results.reduce((sum, r) => sum + (r - mean) ** 2, 0) / (draws - 1);
  const at = (p: number) => results[Math.min(draws - 1, Math.floor(p * draws))] ?? Number.NaN;
  return {
    value: f(inputs.map((i) => i.value)),
    u: Math.sqrt(variance),
    mean,
    low95: at(0.025),
    high95: at(0.975),
  };
}
