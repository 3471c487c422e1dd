/** Made ground for tests: exact Gaussian fields at given places, seeded. */
import {
  compileModel,
  structuredCovariance,
  totalSill,
  type VariogramModel,
} from '../../../core/geostat/models.ts';
import { factorCholesky } from '../../../core/geostat/solve.ts';

/** Uniform on (0, 1): mulberry32 (public domain, T. Ettinger). */
export function seededUniform(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296;
  };
}

/** Standard normal, by Box and Muller. */
export function seededNormal(seed: number): () => number {
  const uniform = seededUniform(seed);
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

/** Mean 0, covariance of the model; each place has its own nugget. */
export function simulateField(xy: Float64Array, model: VariogramModel, normal: () => number): Float64Array {
  const n = xy.length / 2;
  const factor = new Float64Array(n * n);
  const compiled = compileModel(model);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++)
      factor[i * n + j] = structuredCovariance(
        compiled,
        (xy[2 * i] as number) - (xy[2 * j] as number),
        (xy[2 * i + 1] as number) - (xy[2 * j + 1] as number),
      );
    factor[i * n + i] = totalSill(model) * (1 + 1e-9);
  }
  if (factorCholesky(factor, n) >= 0) throw new Error('field cannot be simulated');
  const white = Float64Array.from({ length: n }, normal);
  return Float64Array.from({ length: n }, (_, i) => {
    let sum = 0;
    for (let k = 0; k <= i; k++) sum += (factor[i * n + k] as number) * (white[k] as number);
    return sum;
  });
}
