/** A number with its standard uncertainty (k = 1), both in the same unit. */
export interface Uncertain {
  readonly value: number;
  readonly u: number;
}

export function exact(value: number): Uncertain {
  return { value, u: 0 };
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
