/**
 * Time of a whole placement search at full size: 200 x 200 cells, 300 realisations to search on and 300 to judge on.
 * Run: node test/bench/placement-search.bench.ts
 */
import { randomStream } from '../../core/classify/random.ts';
import type { KeepOut, PositionM, RingM } from '../../core/contract/model.ts';
import { groundForBuilding } from '../../core/plan/allowed-ground.ts';
import type { Objective } from '../../core/site/placement-score.ts';
import { searchPlacements } from '../../core/site/search-placements.ts';
import type { Ensemble } from '../../core/site/statistics-under.ts';

const grid = { x0M: 0.15, y0M: 0.15, cellM: 0.3, columns: 200, rows: 200 };
const count = 300;
const cells = grid.columns * grid.rows;
const random = randomStream(1, 0);
const surface = Float64Array.from({ length: cells }, (_, i) => {
  const [x, y] = [(i % 200) * 0.3, Math.floor(i / 200) * 0.3];
  return 40 + 15 * Math.sin(x / 8) + 15 * Math.cos(y / 11);
});
const draw = (): Ensemble => ({
  grid,
  count,
  values: Float32Array.from(
    { length: count * cells },
    (_, i) => (surface[i % cells] as number) * Math.exp(0.3 * random.normal()),
  ),
});
const lot: RingM = [
  [1, 1],
  [58, 3],
  [57, 58],
  [2, 55],
];
const keepOuts: KeepOut[] = [
  {
    id: 'w',
    label: 'water',
    shape: 'line',
    points: [
      [25, -5],
      [30, 70],
    ],
    bufferM: 1.5,
  },
  {
    id: 't',
    label: 'tree',
    shape: 'polygon',
    points: [
      [42, 40],
      [43, 40],
      [43, 41],
      [42, 41],
    ],
    bufferM: 4,
  },
];
const footprint: RingM = [
  [8, 8],
  [22, 8],
  [22, 14],
  [16, 14],
  [16, 20],
  [8, 20],
];
const probes = Array.from(
  { length: 36 },
  (_, k): PositionM => [5 + 10 * (k % 6), 5 + 10 * Math.floor(k / 6)],
);
const input = { lot, keepOuts };
const layers = {
  lot,
  withinSetback: groundForBuilding({ lot, keepOuts: [] }, 3).polygons,
  ground: groundForBuilding(input, 3).polygons,
};
const [ensemble, fresh] = [draw(), draw()];
const objectives: Objective[] = [
  { kind: 'lowest-estimate', perMetreMoved: 0 },
  { kind: 'lowest-probability', limitKBqPerM3: 30, of: 'block-mean', perMetreMoved: 0 },
  { kind: 'lowest-probability', limitKBqPerM3: 30, of: 'upper-quartile', perMetreMoved: 0 },
];
for (const objective of objectives) {
  const started = performance.now();
  const cpu = process.cpuUsage();
  const found = searchPlacements(
    {
      footprint,
      layers,
      turns: { mayTurn: true, mayMirror: true },
      estimate: { grid, estimateKBqPerM3: surface },
      ensemble,
      fresh,
      objective,
      limitsKBqPerM3: [30, 100],
      evidence: { probes, withinM: 5, atLeast: 3 },
      wanted: 5,
      mostOverlap: 0,
      seed: 1,
    },
    { stopped: () => false, progress: () => {} },
  );
  const used = process.cpuUsage(cpu);
  const name = objective.kind === 'lowest-estimate' ? objective.kind : `${objective.kind} of ${objective.of}`;
  console.log(
    `${name}: ${found.posesTried} poses, ${found.ranked.length} ranked, ${((performance.now() - started) / 1000).toFixed(1)} s elapsed, ${(used.user / 1e6).toFixed(1)} s processor`,
  );
}
