/**
 * Inverse squared distances in double precision, all points: GDAL's gdal_grid (single precision on wide vectors) and
 * this engine on the same threads, side by side. GDAL's own start and its reading of the points are taken off.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { interpolateIdw } from '../../core/geostat/idw.ts';
import { createJobRunner } from '../../core/jobs/runner.ts';
import { describeMachine, findProgram, gridCells, inventPoints, measure, table } from './measure.ts';

const POINTS = 2000;
const SIZE = 1000;

console.log(describeMachine());
const hasGdal = findProgram('gdal_grid', ['--version'], 'apt-get install --no-install-recommends gdal-bin');
const points = inventPoints(POINTS, SIZE);
const cells = gridCells(SIZE);
const folder = mkdtempSync(join(tmpdir(), 'gasplat-bench-'));
const lines = Array.from(points.values, (z, i) => `${points.xy[2 * i]},${points.xy[2 * i + 1]},${z}`);
writeFileSync(join(folder, 'points.csv'), ['x,y,z', ...lines].join('\n'));
writeFileSync(
  join(folder, 'points.vrt'),
  `<OGRVRTDataSource><OGRVRTLayer name="points"><SrcDataSource>${join(folder, 'points.csv')}</SrcDataSource>
  <GeometryType>wkbPoint</GeometryType><GeometryField encoding="PointFromColumns" x="x" y="y" z="z"/>
  </OGRVRTLayer></OGRVRTDataSource>`,
);

/** Least elapsed milliseconds for `size` x `size` cells. */
function timeGdal(threads: number, size: number, runs: number): number {
  let least = Number.POSITIVE_INFINITY;
  const args =
    `--config GDAL_NUM_THREADS ${threads} -q -l points -a invdist:power=2:smoothing=0 -ot Float64 -of ENVI
    -txe 0 ${SIZE} -tye 0 ${SIZE} -outsize ${size} ${size}`.split(/\s+/);
  for (let i = 0; i < runs; i++) {
    const start = performance.now();
    const done = spawnSync('gdal_grid', [...args, join(folder, 'points.vrt'), join(folder, 'out.img')], {
      encoding: 'utf8',
    });
    if (done.status !== 0) throw new Error(done.stderr);
    least = Math.min(least, performance.now() - start);
  }
  return least;
}

const rows = [['threads', 'gdal_grid s', 'here s', 'times gdal_grid']];
interpolateIdw(points, gridCells(100));
for (const threads of [1, 2]) {
  const gdal = hasGdal ? timeGdal(threads, SIZE, 5) - timeGdal(threads, 1, 5) : null;
  const runner = createJobRunner({ threads });
  const input = {
    points,
    cellsXy: cells,
    surface: { method: 'idw' as const, options: {} },
  };
  await runner.run('surface-tiles', { ...input, cellsXy: gridCells(50) });
  const ours = await measure(5, () => runner.run('surface-tiles', input));
  await runner.close();
  rows.push([
    `${threads}`,
    gdal === null ? '-' : (gdal / 1000).toFixed(2),
    (ours.wallMs / 1000).toFixed(2),
    gdal === null ? '-' : (ours.wallMs / gdal).toFixed(2),
  ]);
}
rmSync(folder, { recursive: true });
console.log(`${POINTS} points, ${SIZE} x ${SIZE} cells. Target: within 3 times gdal_grid, 2 as a stretch.`);
table(rows);

const few = inventPoints(200, 200);
const small = gridCells(200);
const { wallMs } = await measure(20, () => interpolateIdw(few, small));
console.log(`200 points, 200 x 200 cells, one thread: ${wallMs.toFixed(1)} ms. Target: 20 ms.`);
