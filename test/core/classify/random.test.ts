import { expect, test } from 'vitest';
import { randomStream } from '../../../core/classify/random.ts';

test('a stream is the same for the same seed and realisation, and another for another', () => {
  const draw = (seed: number, realisation: number) => {
    const random = randomStream(seed, realisation);
    return Array.from({ length: 5 }, () => random.uniform());
  };
  expect(draw(1, 0)).toEqual(draw(1, 0));
  const first = new Set(Array.from({ length: 2000 }, (_, i) => draw(1, i)[0]));
  expect(first.size).toBe(2000);
  expect(draw(2, 0)).not.toEqual(draw(1, 0));
});

test('moments over realisations: uniform 1/2 and 1/12, normal 0, 1 and kurtosis 3', () => {
  const n = 100_000;
  let u1 = 0;
  let u2 = 0;
  let z1 = 0;
  let z2 = 0;
  let z4 = 0;
  for (let i = 0; i < n; i++) {
    const random = randomStream(7, i);
    const u = random.uniform();
    const z = random.normal();
    u1 += u / n;
    u2 += (u - 0.5) ** 2 / n;
    z1 += z / n;
    z2 += z ** 2 / n;
    z4 += z ** 4 / n;
  }
  // Five standard errors of each mean at n = 100 000.
  expect(Math.abs(u1 - 0.5)).toBeLessThan(0.0046);
  expect(Math.abs(u2 - 1 / 12)).toBeLessThan(0.0012);
  expect(Math.abs(z1)).toBeLessThan(0.016);
  expect(Math.abs(z2 - 1)).toBeLessThan(0.023);
  expect(Math.abs(z4 - 3)).toBeLessThan(0.16);
});

test('whole numbers under n come equally often', () => {
  const random = randomStream(3, 0);
  const tally = Array<number>(15).fill(0);
  for (let i = 0; i < 30_000; i++) {
    const k = random.below(15);
    tally[k] = (tally[k] ?? 0) + 1;
  }
  // Chi-square with 14 degrees of freedom: 36.1 is its 99.9 % point.
  expect(tally.reduce((sum, t) => sum + (t - 2000) ** 2 / 2000, 0)).toBeLessThan(36.1);
});
