/**
 * Time of the live statistics under a footprint while it is dragged: 200 x 200 cells, 300 realisations, 500 places.
 * Elapsed time, and processor time of the process, which other work on the machine does not lengthen as much.
 * Run: node test/bench/siting.bench.ts
 */
import { randomStream } from '../../core/classify/random.ts';
import type { PositionM, RingM } from '../../core/contract/model.ts';
import { placeRing } from '../../core/site/placement.ts';
import { type Ensemble, statisticsUnder } from '../../core/site/statistics-under.ts';

const grid = { x0M: 0.15, y0M: 0.15, cellM: 0.3, columns: 200, rows: 200 };
const count = 300;
const cells = grid.columns * grid.rows;
const random = randomStream(1, 0);
const surface = Float64Array.from(
  { length: cells },
  (_, i) => 40 + 20 * Math.sin(i / 700) + 10 * random.normal(),
);
const ensembleOf = (values: Float32Array | Float64Array): Ensemble => {
  for (let i = 0; i < values.length; i++)
    values[i] = (surface[i % cells] as number) * Math.exp(0.4 * random.normal());
  return { grid, count, values };
};
const house: RingM = [
  [20, 20],
  [38, 20],
  [38, 27],
  [30, 27],
  [30, 34],
  [20, 34],
];
const small: RingM = [
  [24, 24],
  [36, 24],
  [36, 33],
  [24, 33],
];
const large: RingM = [
  [15, 15],
  [45, 15],
  [45, 35],
  [15, 35],
] satisfies PositionM[];

for (const [kind, ensemble] of [
  ['Float32', ensembleOf(new Float32Array(count * cells))],
  ['Float64', ensembleOf(new Float64Array(count * cells))],
] as const) {
  for (const [name, ring] of Object.entries({
    'rectangle 108 m2': small,
    'L 196 m2': house,
    'rectangle 600 m2': large,
  })) {
    const times: number[] = [];
    const cpu: number[] = [];
    for (let k = 0; k < 520; k++) {
      const placed = placeRing(ring, {
        dxM: 16 * (random.uniform() - 0.5),
        dyM: 16 * (random.uniform() - 0.5),
        turnDeg: 360 * random.uniform(),
        mirrored: k % 2 === 0,
      });
      const started = performance.now();
      const cpuStarted = process.cpuUsage();
      statisticsUnder(placed, { grid, estimateKBqPerM3: surface }, ensemble, [30, 100]);
      const used = process.cpuUsage(cpuStarted);
      if (k < 20) continue;
      times.push(performance.now() - started);
      cpu.push((used.user + used.system) / 1000);
    }
    console.log(`${kind} ${name}: ${summary('elapsed', times)}; ${summary('processor', cpu)}`);
  }
}

function summary(what: string, times: number[]): string {
  times.sort((a, b) => a - b);
  const at = (p: number) => (times[Math.floor(p * (times.length - 1))] as number).toFixed(1);
  return `${what} median ${at(0.5)} ms, 95 % ${at(0.95)} ms`;
}
