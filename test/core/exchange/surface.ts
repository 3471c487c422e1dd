/** A small invented surface over the lot of `createView`, with everything that is awkward to write down. */
import type { PositionM } from '../../../core/contract/model.ts';
import type { SurfaceResult } from '../../../core/contract/results.ts';

const COLUMNS = 5;
const ROWS = 4;

/** Estimate of cell (column, row from the south): 10 column + row + 1/3; NaN in the north-east corner. */
export function createSurface(): SurfaceResult {
  const cells = (value: (column: number, row: number) => number) =>
    Float64Array.from({ length: COLUMNS * ROWS }, (_, i) => {
      const [column, row] = [i % COLUMNS, Math.floor(i / COLUMNS)];
      return column === COLUMNS - 1 && row === ROWS - 1 ? Number.NaN : value(column, row);
    });
  const square = (x: number, y: number, side: number): PositionM[] => [
    [x, y],
    [x + side, y],
    [x + side, y + side],
    [x, y + side],
  ];
  return {
    revision: 7,
    method: 'kriging',
    grid: { x0M: 2, y0M: 3, cellM: 2.5, columns: COLUMNS, rows: ROWS },
    estimateKBqPerM3: cells((column, row) => 10 * column + row + 1 / 3),
    standardErrorKBqPerM3: cells((column, row) => 0.1 * column + 0.01 * row),
    exceedance: { limitKBqPerM3: 30, probability: cells((column) => column / 10) },
    levelsKBqPerM3: [20, 30],
    lines: [
      { level: 20, points: square(1, 1, 5), closed: true },
      {
        level: 30,
        points: [
          [0, 5],
          [20.123456, 5.5],
        ],
        closed: false,
      },
    ],
    bands: [
      { from: 10, to: 20, polygons: [[square(0, 0, 20), square(4, 4, 3).reverse()], [square(25, 0, 5)]] },
      { from: 20, to: null, polygons: [[square(4, 4, 3)]] },
    ],
    variogram: null,
    crossValidation: { n: 3, meanError: 0, rmse: 1, msdr: 1, correlation: 0.5, verdict: '', points: [] },
    boundedSampleIds: [],
    depthCorrected: [],
    usedSampleIds: ['s1', 's2'],
    notUsed: [],
    warnings: [],
    seconds: 0.1,
  };
}
