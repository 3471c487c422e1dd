/**
 * Ordinary kriging with variance, all points, 200 x 200 cells: R's gstat and this engine on one and two threads, side by
 * side. What is timed is everything from the points to the surface, R's start and the threads' excepted.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { krige } from '../../core/geostat/krige.ts';
import type { StructureKind } from '../../core/geostat/models.ts';
import { createJobRunner } from '../../core/jobs/runner.ts';
import {
  describeMachine,
  findProgram,
  gridCells,
  inventPoints,
  measure,
  measurePeak,
  table,
} from './measure.ts';

const SIZE = 200;
const CASES: readonly { n: number; kind: StructureKind; name: string; runs: number; ofGstat: number }[] = [
  { n: 50, kind: 'spherical', name: 'Sph', runs: 100, ofGstat: 10 },
  { n: 200, kind: 'spherical', name: 'Sph', runs: 60, ofGstat: 6 },
  { n: 200, kind: 'exponential', name: 'Exp', runs: 60, ofGstat: 6 },
  { n: 500, kind: 'spherical', name: 'Sph', runs: 15, ofGstat: 2 },
  { n: 1000, kind: 'spherical', name: 'Sph', runs: 4, ofGstat: 1 },
];

console.log(describeMachine());
const hasGstat = findProgram(
  'Rscript',
  ['-e', 'library(sp); library(gstat)'],
  'apt-get install --no-install-recommends r-cran-gstat r-cran-sp',
);
const cells = gridCells(SIZE);
const folder = mkdtempSync(join(tmpdir(), 'gasplat-bench-'));
const runner = createJobRunner({ threads: 2 });
const peak = measurePeak();
const rows = [
  [
    'n',
    'model',
    'gstat s',
    'cpu s',
    '1 thread s',
    'cpu s',
    'ratio',
    'of cpu',
    '2 threads s',
    'cpu s',
    'ratio',
    'of cpu',
    'of peak',
    'differs',
  ],
];

/** gstat's least times and its estimate and variance at every 97th cell. */
function runGstat(points: ReturnType<typeof inventPoints>, name: string, runs: number) {
  const lines = Array.from(points.values, (z, i) => `${points.xy[2 * i]},${points.xy[2 * i + 1]},${z}`);
  writeFileSync(join(folder, 'points.csv'), ['x,y,z', ...lines].join('\n'));
  const script = fileURLToPath(new URL('kriging-gstat.R', import.meta.url));
  const done = spawnSync('Rscript', [script, folder, `${SIZE}`, name, `${runs}`], { encoding: 'utf8' });
  if (done.status !== 0) throw new Error(done.stderr);
  const [wallMs, cpuMs] = done.stdout.trim().split(/\s+/).map(Number) as [number, number];
  const found = readFileSync(join(folder, 'gstat.csv'), 'utf8').trim().split('\n').slice(1);
  return { wallMs, cpuMs, found: found.map((line) => line.split(',').map(Number) as [number, number]) };
}

for (const { n, kind, name, runs, ofGstat } of CASES) {
  const points = inventPoints(n, SIZE, n);
  const model = { nugget: 0.1, structures: [{ kind, partialSill: 1, rangeM: 60 }] };
  const surface = {
    method: 'kriging' as const,
    members: [{ model, transform: 'none' as const, weight: 1 }],
    options: {},
  };
  const ours = krige(points, model, cells);
  const one = await measure(runs, () => krige(points, model, cells));
  await runner.run('surface-tiles', { points, cellsXy: cells, surface });
  const two = await measure(runs, () => runner.run('surface-tiles', { points, cellsXy: cells, surface }));
  const theirs = hasGstat ? runGstat(points, name, ofGstat) : null;
  // the operations no way around: n^2 a cell for the variance
  const share = (n * n * SIZE * SIZE) / one.cpuMs / 1e6 / peak;
  const differs = theirs?.found.reduce((worst, [estimate, variance], i) => {
    const at = 97 * i;
    return Math.max(
      worst,
      Math.abs(estimate - (ours.estimate[at] as number)),
      Math.abs(variance - (ours.variance[at] as number)),
    );
  }, 0);
  const seconds = (ms: number) => (ms / 1000).toFixed(3);
  rows.push([
    `${n}`,
    kind,
    theirs === null ? '-' : seconds(theirs.wallMs),
    theirs === null ? '-' : seconds(theirs.cpuMs),
    seconds(one.wallMs),
    seconds(one.cpuMs),
    theirs === null ? '-' : (theirs.wallMs / one.wallMs).toFixed(1),
    theirs === null ? '-' : (theirs.cpuMs / one.cpuMs).toFixed(1),
    seconds(two.wallMs),
    seconds(two.cpuMs),
    theirs === null ? '-' : (theirs.wallMs / two.wallMs).toFixed(1),
    theirs === null ? '-' : ((2 * theirs.cpuMs) / two.cpuMs).toFixed(1),
    `${(100 * share).toFixed(0)} %`,
    differs === undefined ? '-' : differs.toExponential(0),
  ]);
}
await runner.close();
rmSync(folder, { recursive: true });
console.log(`Probe kernel: ${peak.toFixed(1)} thousand million operations a second on one thread.`);
console.log('Targets: 8 times gstat on one thread and 13 on two; 4 and 6 at n = 50.');
table(rows);
