import { expect, test } from 'vitest';
import { directionalVariograms } from '../../../core/geostat/directional-variograms.ts';
import { empiricalVariogram } from '../../../core/geostat/empirical-variogram.ts';

// One direction alone is checked against gstat in variogram.test.ts.
test('the four sectors share all pairs of points that do not coincide', () => {
  const xy = Float64Array.from({ length: 60 }, (_, i) => ((i * 7919) % 101) + i / 60);
  const values = Float64Array.from({ length: 30 }, (_, i) => Math.sin(i));
  const lags = { cutoffM: 80, lagM: 20, minimumPairs: 1 };
  const sum = (pairs: Float64Array) => pairs.reduce((a, b) => a + b, 0);
  const sectors = directionalVariograms({ xy, values }, lags).map((d) => sum(d.variogram.pairs));
  expect(sectors.every((pairs) => pairs > 0)).toBe(true);
  expect(sectors.reduce((a, b) => a + b, 0)).toBe(sum(empiricalVariogram({ xy, values }, lags).pairs));
});

// By hand: values rise by 1 a metre to the east only, so half the mean squared difference is h^2 / 2 along
// east to west and 0 along north to south.
test('a slope to the east shows along east to west only', () => {
  const xy = Float64Array.from({ length: 50 }, (_, i) => (i % 2 === 0 ? (i / 2) % 5 : Math.floor(i / 10)));
  const values = Float64Array.from({ length: 25 }, (_, i) => xy[2 * i] ?? 0);
  const [north, , east] = directionalVariograms({ xy, values }, { cutoffM: 1, lagM: 1, minimumPairs: 1 });
  expect(north?.azimuthDeg).toBe(0);
  expect([...(north?.variogram.semivariance ?? [])]).toEqual([0]);
  expect([...(east?.variogram.semivariance ?? [])]).toEqual([0.5]);
});
