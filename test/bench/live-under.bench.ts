/**
 * Live statistics under a dragged footprint over the whole message path of the engine: request to the engine's own
 * process, checks, a worker thread over shared memory, and the reply. 200 x 200 cells, 300 realisations, 400 places, one
 * after the other as the window asks them. What the window's own process adds is not in it.
 * Run: npm run bench live-under
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Input, Output, RequestName } from '../../core/contract/requests.ts';
import { startChildEngine } from '../../electron/child-engine.ts';
import { createEngineHost } from '../../electron/engine-host.ts';
import { describeMachine, inventPoints, seeded } from './measure.ts';

const PLACES = 400;
const WARM_UP = 20;
const folder = mkdtempSync(join(tmpdir(), 'gasplat-live-'));
const entry = fileURLToPath(new URL('../../electron/engine.ts', import.meta.url));
const host = createEngineHost({ start: startChildEngine(process.execPath, entry) });
let nextId = 1;

async function ask<N extends RequestName>(name: N, input: Input<N>): Promise<Output<N>> {
  const reply = await host.send({ kind: 'request', id: nextId++, name, input });
  if (!reply.ok) throw new Error(`${name}: ${reply.error.message}`);
  return reply.output as Output<N>;
}

function summary(times: number[]): string {
  const sorted = times.toSorted((a, b) => a - b);
  const at = (p: number) => (sorted[Math.floor(p * (sorted.length - 1))] ?? Number.NaN).toFixed(1);
  return `median ${at(0.5)} ms, 95 % ${at(0.95)} ms, most ${at(1)} ms`;
}

async function times(count: number, work: (k: number) => Promise<unknown>): Promise<number[]> {
  const out: number[] = [];
  for (let k = 0; k < count + WARM_UP; k++) {
    const started = performance.now();
    await work(k);
    if (k >= WARM_UP) out.push(performance.now() - started);
  }
  return out;
}

try {
  console.log(describeMachine());
  const points = inventPoints(60, 60);
  const rows = Array.from(
    points.values,
    (value, i) => `P${i + 1},${points.xy[2 * i]},${points.xy[2 * i + 1]},0.8,${value},${value / 20}`,
  );
  const file = join(folder, 'samples.csv');
  writeFileSync(file, `${['Probe,X,Y,Depth m,Radon kBq/m3,U kBq/m3', ...rows].join('\n')}\n`);
  const crs = { kind: 'local', unit: 'm', label: 'Bench' } as const;
  await ask('project.create', { path: join(folder, 'bench.gasplat'), name: 'Bench', crs });
  const square = (from: number, to: number) =>
    [
      [from, from],
      [to, from],
      [to, to],
      [from, to],
    ] as const;
  await ask('lot.set', { ring: square(0, 60) });
  const { view } = await ask('import.commit', { path: file, options: {} });
  const { settings } = view;
  await ask('settings.set', {
    settings: { ...settings, surface: { ...settings.surface, cellM: 0.305, transform: 'none' } },
  });
  await ask('footprint.set', { label: 'House', ring: square(25, 35) });
  const prepared = await ask('site.prepare', {});
  console.log(
    `Drawn once: ${prepared.realisations} realisations of ${prepared.cells} cells in ${prepared.seconds.toFixed(1)} s`,
  );
  const random = seeded(7);
  const pose = () => ({
    dxM: 30 * (random() - 0.5),
    dyM: 30 * (random() - 0.5),
    turnDeg: 360 * random(),
    mirrored: random() < 0.5,
  });
  console.log(`The path alone (engine.info): ${summary(await times(PLACES, () => ask('engine.info', {})))}`);
  for (const [name, lengthM, widthM] of [
    ['108 m2', 12, 9],
    ['196 m2', 14, 14],
    ['600 m2, a sixth of the lot', 30, 20],
  ] as const) {
    const shape = { kind: 'rectangle', lengthM, widthM } as const;
    await ask('footprint.shape', { label: 'House', shape, centre: [30, 30] });
    const taken = await times(PLACES, () => ask('site.under', { place: { pose: pose() } }));
    console.log(`${name}: ${summary(taken)}; load ${(loadavg()[0] ?? 0).toFixed(1)}`);
  }
  console.log('Target: 20 ms at the 95th percentile, for a house.');
} finally {
  await host.stop();
  rmSync(folder, { recursive: true, force: true });
}
