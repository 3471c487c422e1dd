/** Inverse distances over many cells against one cell at a time, where the numbers are at their ends. */
import { describe, expect, test } from 'vitest';
import { idwEstimator, idwInto, prepareIdw } from '../../../core/geostat/idw.ts';
import { seededUniform } from '../geostat/simulate.ts';

const uniform = seededUniform(4);
const xy = Float64Array.from({ length: 2 * 41 }, () => 100 * uniform());
const values = Float64Array.from({ length: 41 }, () => 10 * uniform());

/** Rows of a grid, a cell on a point, one a hair beside it, one far away, and places no map has. */
const cells = Float64Array.from([
  ...Array.from({ length: 80 }, (_, i) => [i + 0.5, i < 50 ? 20 : 21]).flat(),
  ...xy.subarray(6, 10),
  (xy[6] as number) + 1e-9,
  xy[7] as number,
  3e6,
  -2e6,
  1e30,
  4,
  Number.NaN,
  5,
]);

test.each([
  { power: 2 },
  { power: 2, smoothingM: 0.5 },
  { power: 1 },
  { power: 3 },
  { power: 60 },
  { power: 0.5 },
  { power: 2, maxDistanceM: 12 },
  { power: 2, minimum: 42 },
  { power: 2, nearest: 5 },
])('%o', (options) => {
  const estimator = idwEstimator(prepareIdw({ xy, values }, options));
  const n = cells.length / 2;
  const all = new Float64Array(n);
  idwInto(estimator, cells, 0, n, all);
  for (let c = 0; c < n; c++) {
    const one = estimator(cells[2 * c] as number, cells[2 * c + 1] as number, -1);
    if (Number.isNaN(one)) expect(all[c]).toBeNaN();
    else expect(Math.abs((all[c] as number) / one - 1)).toBeLessThan(1e-12);
  }
  // the cut into batches and rows leaves no trace
  const parts = new Float64Array(n);
  for (let from = 0; from < n; from += 7) idwInto(estimator, cells, from, Math.min(n, from + 7), parts);
  expect(parts).toEqual(all);
});

test('values too large for four to share a division are still right', () => {
  const estimator = idwEstimator(prepareIdw({ xy, values: values.map((v) => v * 1e200) }));
  const out = new Float64Array(1);
  idwInto(estimator, Float64Array.of(50, 50), 0, 1, out);
  expect(Math.abs((out[0] as number) / estimator(50, 50, -1) - 1)).toBeLessThan(1e-12);
});

describe('far points taken together along the rows of a dense grid', () => {
  const many = {
    xy: Float64Array.from({ length: 2 * 700 }, () => 300 * uniform()),
    values: Float64Array.from({ length: 700 }, () => 10 * uniform()),
  };
  // clipped rows, one point hit exactly, and rows outside the points
  const rows: number[] = [];
  for (let r = -20; r < 320; r += 8.5) {
    for (let x = -60 + 1.7 * (r % 5); x < 340; x += 0.75) if (x < 100 || x > 103) rows.push(x, r);
  }
  rows.push(many.xy[10] as number, many.xy[11] as number);
  const dense = Float64Array.from(rows);

  test.each([{ power: 2 }, { power: 2, smoothingM: 3 }, { power: 1 }, { power: 3 }])(
    '%o: a cell is what all points give one by one, to 12 digits, however the rows are cut',
    (options) => {
      const estimator = idwEstimator(prepareIdw(many, options));
      const n = dense.length / 2;
      const all = new Float64Array(n);
      idwInto(estimator, dense, 0, n, all);
      let worst = 0;
      for (let c = 0; c < n; c++) {
        const one = estimator(dense[2 * c] as number, dense[2 * c + 1] as number, -1);
        worst = Math.max(worst, Math.abs((all[c] as number) / one - 1));
      }
      expect(worst).toBeLessThan(1e-12);
      expect(worst).toBeGreaterThan(0);
      const parts = new Float64Array(n);
      for (let from = 0; from < n; from += 53) idwInto(estimator, dense, from, Math.min(n, from + 53), parts);
      expect(parts).toEqual(all);
    },
  );
});
