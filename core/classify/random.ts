/**
 * Deterministic random numbers (xoshiro128**, Blackman and Vigna 2018, seeded by splitmix32). One stream for each
 * pair of seed and realisation, so a realisation is the same whatever else was drawn before it. Not for secrets.
 */
export interface RandomStream {
  /** Uniform on [0, 1), 32 bits fine. */
  uniform(): number;
  /** Whole number from 0 to n - 1. */
  below(n: number): number;
  /** Standard normal deviate (Box-Muller). */
  normal(): number;
}

export function randomStream(seed: number, realisation: number): RandomStream {
  let mix = (Math.imul(seed | 0, 0x9e3779b1) ^ Math.imul((realisation | 0) + 1, 0x85ebca6b)) >>> 0;
  const splitmix = () => {
    mix = (mix + 0x9e3779b9) >>> 0;
    let z = mix;
    z = Math.imul(z ^ (z >>> 16), 0x21f0aaad);
    z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
    return (z ^ (z >>> 15)) >>> 0;
  };
  let a = splitmix();
  let b = splitmix();
  let c = splitmix();
  let d = splitmix() | 1;
  const next = () => {
    const scrambled = Math.imul(rotateLeft(Math.imul(b, 5), 7), 9) >>> 0;
    const t = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= t;
    d = rotateLeft(d, 11);
    return scrambled;
  };
  const uniform = () => next() / 0x1_0000_0000;
  let spare: number | null = null;
  return {
    uniform,
    below: (n) => Math.floor(uniform() * n),
    normal: () => {
      if (spare !== null) {
        const value = spare;
        spare = null;
        return value;
      }
      const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
      const angle = 2 * Math.PI * uniform();
      spare = radius * Math.sin(angle);
      return radius * Math.cos(angle);
    },
  };
}

function rotateLeft(x: number, bits: number): number {
  return (x << bits) | (x >>> (32 - bits));
}
