import { randomStream } from '../classify/random.ts';

/** A number with its standard uncertainty (k = 1), both in the same unit. */
export interface Uncertain {
  readonly value: number;
  readonly u: number;
}

export function exact(value: number): Uncertain {
  return { value, u: 0 };
}

/** Anything between value - halfWidth and value + halfWidth equally likely (GUM 4.3.7). */
export function withinHalfWidth(value: number, halfWidth: number): Uncertain {
  return { value, u: halfWidth / Math.sqrt(3) };
}

/**
 * Law of propagation for independent inputs, with each contribution as half the change of f over one standard
 * uncertainty to either side (GUM 5.1.3, note 2).
 */
export function propagate(f: (inputs: readonly number[]) => number, inputs: readonly Uncertain[]): Uncertain {
  const values = inputs.map((i) => i.value);
  const variance = inputs.reduce((sum, input, i) => {
    if (input.u === 0) return sum;
    const up = f(values.with(i, input.value + input.u));
    const down = f(values.with(i, input.value - input.u));
    return sum + ((up - down) / 2) ** 2;
  }, 0);
  return { value: f(values), u: Math.sqrt(variance) };
}

export interface MonteCarloResult extends Uncertain {
  readonly mean: number;
  readonly low95: number;
  readonly high95: number;
}

/**
 * The same by Monte Carlo with normal inputs (GUM Supplement 1), for relations that are not near to straight.
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
