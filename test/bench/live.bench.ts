/** What a person waits for: the handles of a model, many points from their nearest, realisations. */
import { krige } from '../../core/geostat/krige.ts';
import type { StructureKind } from '../../core/geostat/models.ts';
import { prepareSimulation, simulateInto } from '../../core/geostat/simulate.ts';
import { createJobRunner } from '../../core/jobs/runner.ts';
import { describeMachine, gridCells, inventPoints, measure, type Times, table } from './measure.ts';

console.log(describeMachine());
const runner = createJobRunner({ threads: 2 });

const points = inventPoints(60, 200);
const cells = gridCells(200);
const rows = [['60 points, 200 x 200 cells', '1 thread ms', 'cpu ms', '2 threads ms', 'cpu ms']];
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
  rows.push([
    `another range, ${kind}`,
    ...[one, two].flatMap((t) => [t.wallMs.toFixed(0), t.cpuMs.toFixed(0)]),
  ]);
}
table(rows);
console.log('Target: 50 ms.\n');

/** Elapsed and processor time. */
const inSeconds = ({ wallMs, cpuMs }: Times) =>
  `${(wallMs / 1000).toFixed(2)} s (processor ${(cpuMs / 1000).toFixed(2)} s)`;

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
console.log(
  `2,000 points, 500 x 500 cells, nearest 30: ${inSeconds(one)} on one thread, ` +
    `${inSeconds(two)} on two. Target: 5 s.`,
);

const realisations = new Float64Array(500 * 100 * 100);
const hundred = inventPoints(100, 100);
const sim = await measure(3, () => {
  const simulation = prepareSimulation(
    hundred,
    { method: 'kriging', members: [{ model, transform: 'none', weight: 1 }], options: {} },
    { cellsXy: gridCells(100), seed: 1, realisations: 500 },
  );
  simulateInto(simulation, 0, 500, realisations);
});
console.log(`500 realisations, 100 x 100 cells, 100 points: ${inSeconds(sim)} on one thread. Target: 2 s.`);
await runner.close();
