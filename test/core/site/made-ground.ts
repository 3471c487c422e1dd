/** Conditional realisations by Cholesky for tests: invented ground that honours invented data. */
import type { PositionM } from '../../../core/contract/model.ts';
import type { GridSpec } from '../../../core/contract/results.ts';
import {
  compileModel,
  structuredCovariance,
  totalSill,
  type VariogramModel,
} from '../../../core/geostat/models.ts';
import { dot, factorCholesky } from '../../../core/geostat/solve.ts';
import type { Ensemble, EstimateOnGrid } from '../../../core/site/statistics-under.ts';
import { seededNormal } from '../geostat/simulate.ts';

export interface MadeGround {
  readonly estimate: EstimateOnGrid;
  ensemble(seed: number, count: number): Ensemble;
}

/** Mean 3.5 on the log scale; data are logs less that mean. The estimate is the mean of the lognormal at each cell. */
export function makeGround(
  grid: GridSpec,
  data: readonly { readonly at: PositionM; readonly log: number }[],
  model: VariogramModel,
): MadeGround {
  const n = data.length;
  const cells = grid.columns * grid.rows;
  const places: PositionM[] = [
    ...data.map((d) => d.at),
    ...Array.from(
      { length: cells },
      (_, i): PositionM => [
        grid.x0M + (i % grid.columns) * grid.cellM,
        grid.y0M + Math.floor(i / grid.columns) * grid.cellM,
      ],
    ),
  ];
  const m = places.length;
  const factor = new Float64Array(m * m);
  const compiled = compileModel(model);
  places.forEach(([x, y], i) => {
    for (let j = 0; j < i; j++) {
      const [u, v] = places[j] as PositionM;
      factor[i * m + j] = structuredCovariance(compiled, x - u, y - v);
    }
    factor[i * m + i] = totalSill(model) * (1 + 1e-9);
  });
  if (factorCholesky(factor, m) >= 0) throw new Error('ground cannot be made');
  const white = new Float64Array(m);
  for (let i = 0; i < n; i++)
    white[i] = ((data[i]?.log as number) - dot(factor, i * m, white, 0, i)) / (factor[i * m + i] as number);
  const estimateKBqPerM3 = Float64Array.from({ length: cells }, (_, c) => {
    const row = (n + c) * m;
    const variance = dot(factor, row + n, factor, row + n, c + 1);
    return Math.exp(3.5 + dot(factor, row, white, 0, n) + variance / 2);
  });
  return {
    estimate: { grid, estimateKBqPerM3 },
    ensemble(seed, count) {
      const normal = seededNormal(seed);
      const values = new Float32Array(count * cells);
      for (let r = 0; r < count; r++) {
        for (let i = n; i < m; i++) white[i] = normal();
        for (let c = 0; c < cells; c++)
          values[r * cells + c] = Math.exp(3.5 + dot(factor, (n + c) * m, white, 0, n + c + 1));
      }
      return { grid, count, values };
    },
  };
}
