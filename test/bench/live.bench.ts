/** What a person waits for at the handles of a model, and surfaces of many points from their nearest. */
import { krige } from '../../core/geostat/krige.ts';
import type { StructureKind } from '../../core/geostat/models.ts';
import { createJobRunner } from '../../core/jobs/runner.ts';
import { describeMachine, gridCells, inventPoints, measure, table } from './measure.ts';

console.log(describeMachine());
const runner = createJobRunner({ threads: 2 });

const points = inventPoints(60, 200);
const cells = gridCells(200);
const rows = [['60 points, 200 x 200 cells', '1 thread ms', '2 threads ms']];
for (const kind of ['spherical', 'exponential', 'gaussian', 'matern'] satisfies StructureKind[]) {
  let turn = 0;
  const nextModel = () => ({
    nugget: 0.1,
    structures: [{ kind, partialSill: 1, rangeM: 20 + (turn++ % 40) }],
  });
  const one = await measure(15, () => krige(points, nextModel(), cells));
  const two = await measure(15, () =>
    runner.run('surface-tiles', {
      points,
      cellsXy: cells,
      surface: {
        method: 'kriging',
        members: [{ model: nextModel(), transform: 'none', weight: 1 }],
        options: {},
      },
    }),
  );
  rows.push([`another range, ${kind}`, one.wallMs.toFixed(0), two.wallMs.toFixed(0)]);
}
table(rows);
console.log('Target: 50 ms.\n');

const many = inventPoints(2000, 500);
const manyCells = gridCells(500);
const model = { nugget: 0.1, structures: [{ kind: 'spherical' as const, partialSill: 1, rangeM: 60 }] };
const options = { neighbourhood: { nearest: 30 } };
const one = await measure(3, () => krige(many, model, manyCells, options));
const two = await measure(3, () =>
  runner.run('surface-tiles', {
    points: many,
    cellsXy: manyCells,
    surface: { method: 'kriging', members: [{ model, transform: 'none', weight: 1 }], options },
  }),
);
await runner.close();
console.log(
  `2,000 points, 500 x 500 cells, nearest 30: ${(one.wallMs / 1000).toFixed(2)} s on one thread, ` +
    `${(two.wallMs / 1000).toFixed(2)} s on two. Target: 5 s.`,
);
