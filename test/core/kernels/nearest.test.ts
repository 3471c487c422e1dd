/** The nearest points, asked place after place as a surface does, against a look at all of them. */
import { expect, test } from 'vitest';
import { buildSpatialIndex, nearestSearch } from '../../../core/geostat/spatial-index.ts';
import { seededUniform } from '../geostat/simulate.ts';

function nearestOfAll(
  xs: Float64Array,
  ys: Float64Array,
  x: number,
  y: number,
  nearest: number,
  maxDistanceM: number,
  skip: number,
): number[] {
  const squared = Array.from(xs, (px, i) => (px - x) ** 2 + ((ys[i] as number) - y) ** 2);
  return [...squared.keys()]
    .filter((i) => i !== skip && (squared[i] as number) <= maxDistanceM ** 2)
    .sort((a, b) => (squared[a] as number) - (squared[b] as number) || a - b)
    .slice(0, nearest)
    .sort((a, b) => a - b);
}

const uniform = seededUniform(21);
const scattered = Array.from({ length: 400 }, () => [100 * uniform(), 100 * uniform()] as const);
const lattice = Array.from({ length: 400 }, (_, i) => [5 * (i % 20), 5 * Math.floor(i / 20)] as const);

test.each([
  ['scattered', scattered, 12, Number.POSITIVE_INFINITY],
  ['on a lattice, many equally far', lattice, 12, Number.POSITIVE_INFINITY],
  ['within a distance', scattered, 12, 6.5],
  ['all of them', scattered.slice(0, 9), 12, Number.POSITIVE_INFINITY],
  ['nearly all', scattered.slice(0, 15), 12, Number.POSITIVE_INFINITY],
] as const)('%s', (_, points, nearest, maxDistanceM) => {
  const xs = Float64Array.from(points, (p) => p[0]);
  const ys = Float64Array.from(points, (p) => p[1]);
  const search = nearestSearch(buildSpatialIndex(xs, ys), nearest);
  // rows of close cells, with jumps and points left out in between
  for (let r = -5; r < 106; r += 7)
    for (let x = -10; x < 110; x += 0.4) {
      const skip = Math.round(10 * x) % 9 === 0 ? Math.floor(points.length * uniform()) : -1;
      const y = Math.round(10 * x) % 31 === 0 ? r + 40 : r;
      const count = search.search(x, y, maxDistanceM, skip);
      const found = [...search.found.subarray(0, count)].sort((a, b) => a - b);
      expect(found).toEqual(nearestOfAll(xs, ys, x, y, nearest, maxDistanceM, skip));
    }
});
