/** The whole way: points, conditional realisations, a footprint; held against block kriging of the same footprint. */
import { expect, test } from 'vitest';
import type { PositionM, RingM } from '../../../core/contract/model.ts';
import { krige } from '../../../core/geostat/krige.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import { prepareSimulation, simulateInto } from '../../../core/geostat/simulate.ts';
import { placeRing } from '../../../core/site/placement.ts';
import { statisticsUnder } from '../../../core/site/statistics-under.ts';
import { polygonBlock } from '../geostat/block.ts';
import { seededUniform } from '../geostat/simulate.ts';

const grid = { x0M: 0.25, y0M: 0.25, cellM: 0.5, columns: 60, rows: 48 };
const cells = grid.columns * grid.rows;
const cellsXy = Float64Array.from({ length: 2 * cells }, (_, k) => {
  const c = k >> 1;
  return k % 2 === 0 ? grid.x0M + (c % 60) * 0.5 : grid.y0M + Math.floor(c / 60) * 0.5;
});
const model: VariogramModel = {
  nugget: 0,
  structures: [{ kind: 'exponential', partialSill: 100, rangeM: 5 }],
};
const uniform = seededUniform(31);
const at = Array.from({ length: 20 }, (): PositionM => [30 * uniform(), 24 * uniform()]);
const points = {
  xy: Float64Array.from(at.flat()),
  values: Float64Array.from(at, ([x, y]) => 40 + 12 * Math.sin(x / 4) + 9 * Math.cos(y / 3)),
};
const ell: RingM = [
  [5, 5],
  [14, 5],
  [14, 9],
  [9, 9],
  [9, 13],
  [5, 13],
];

test('block mean and its doubt from 600 realisations are those of block kriging', () => {
  const simulation = prepareSimulation(
    points,
    { method: 'kriging', members: [{ model, transform: 'none', weight: 1 }], options: {} },
    { cellsXy, seed: 5, realisations: 600 },
  );
  const values = new Float64Array(600 * cells);
  simulateInto(simulation, 0, 600, values);
  const { estimate } = krige(points, model, cellsXy);
  for (const pose of [
    { dxM: 0, dyM: 0, turnDeg: 0, mirrored: false },
    { dxM: 9, dyM: 4, turnDeg: 37, mirrored: true },
  ]) {
    const ring = placeRing(ell, pose);
    const found = statisticsUnder(
      ring,
      { grid, estimateKBqPerM3: estimate },
      { grid, count: 600, values },
      [40],
    );
    const block = krige(points, model, new Float64Array(2), { block: polygonBlock([ring], 400) });
    const sd = Math.sqrt(block.variance[0] as number);
    // block kriging takes the mean at 400 nodes, the grid at about 220 cells: they differ by far less than the doubt
    expect(found.estimateKBqPerM3).toBeCloseTo(block.estimate[0] as number, 0);
    expect(Math.abs((found.blockMeanKBqPerM3?.mean ?? 0) - (block.estimate[0] as number))).toBeLessThan(
      (4 * sd) / Math.sqrt(600),
    );
    // 4 standard errors of a standard deviation from 600 draws: 4 / sqrt(1200)
    expect((found.blockMeanKBqPerM3?.sd ?? 0) / sd).toBeGreaterThan(0.88);
    expect((found.blockMeanKBqPerM3?.sd ?? 0) / sd).toBeLessThan(1.12);
  }
}, 60_000);
