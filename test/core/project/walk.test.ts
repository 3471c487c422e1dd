import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { PositionM } from '../../../core/contract/model.ts';
import type { Engine } from '../../../core/project/engine.ts';
import { asking, newTestEngine } from './engine-asking.ts';

let folder: string;
let engine: Engine;
const { ask } = asking(() => engine);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-walk-'));
  engine = newTestEngine();
  const crs = { kind: 'epsg', code: 32633 } as const;
  await ask('project.create', { path: join(folder, 'walk.gasplat'), name: 'Walk', crs });
  await ask('lot.set', { ring: rectangle(0, 0, 45, 40) });
});

afterAll(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

function rectangle(x: number, y: number, w: number, h: number): (readonly [number, number])[] {
  const [east, north] = [600000 + x, 5500000 + y];
  return [
    [east, north],
    [east + w, north],
    [east + w, north + h],
    [east, north + h],
  ];
}

const REQUEST = {
  pattern: 'square',
  size: { count: 16 },
  around: 'all',
  turnDeg: 0,
  depthM: 0.8,
  labelPrefix: 'P',
  minutesPerTest: 20,
  instruments: 1,
  days: 1,
} as const;

const lengthOf = (line: readonly PositionM[]) =>
  line
    .slice(1)
    .reduce((sum, [x, y], i) => sum + Math.hypot(x - (line[i]?.[0] ?? x), y - (line[i]?.[1] ?? y)), 0);

test('where the car stands is kept, undone, and where walks start and end', async () => {
  const car = [600050, 5500020] as const;
  const view = await ask('walk.start', { native: car });
  expect(view.walkStart?.native).toEqual(car);
  const [part] = (await ask('plan.propose', REQUEST)).walk.parts;
  expect(part?.lineM[0]).toEqual(view.walkStart?.positionM);
  expect(part?.lineM.at(-1)).toEqual(view.walkStart?.positionM);
  await expect(ask('walk.start', { native: [500050, 5500020] })).rejects.toThrow(/100 km from the lot/);
  expect((await ask('record.undo', {})).walkStart).toBeUndefined();
  const [fromCorner] = (await ask('plan.propose', REQUEST)).walk.parts;
  expect(fromCorner?.lineM[0]).toEqual(view.lot?.[0]);
  expect((await ask('record.redo', {})).walkStart?.native).toEqual(car);
});

test('a keep-out area is walked round: line, hours and sheets; said to be walked over, it is not', async () => {
  const points = rectangle(20, 1, 4, 38);
  const barn = { label: 'Barn', shape: 'polygon', points, bufferM: 0.5 } as const;
  const { keepOuts } = await ask('keepout.set', { id: null, ...barn });
  const plan = await ask('plan.propose', REQUEST);
  const [part] = plan.walk.parts;
  const line = part?.lineM ?? [];
  // More places than start, probes and start again: the corners it turns at.
  expect(line.length).toBeGreaterThan(plan.probes.length + 2);
  expect(lengthOf(line)).toBeCloseTo(plan.walk.lengthM, 6);
  expect(60 * plan.walk.totalHours).toBeCloseTo(20 * plan.probes.length + lengthOf(line) / 50, 6);
  const over = await ask('keepout.set', { id: keepOuts[0]?.id ?? '', ...barn, blocksWalk: false });
  expect(over.keepOuts[0]?.blocksWalk).toBe(false);
  const straight = await ask('plan.propose', REQUEST);
  expect(straight.probes.map((p) => p.native)).toHaveLength(plan.probes.length);
  expect(straight.walk.parts[0]?.lineM).toHaveLength(plan.probes.length + 2);
  expect(straight.walk.lengthM).toBeLessThan(plan.walk.lengthM - 1);

  await ask('plan.accept', {
    probes: plan.probes.map(({ label, native }) => ({ label, native, added: false })),
    depthM: 0.8,
    replace: true,
  });
  const gpx = join(folder, 'walk.gpx');
  await ask('export.save', { path: gpx, format: 'gpx', options: {} });
  const straightRoute = readFileSync(gpx, 'utf8');
  expect(straightRoute.match(/<rtept /g)).toHaveLength(plan.probes.length);
  const sheet = async () =>
    (await ask('sheets.preview', { options: { form: 'list' }, pageIndex: 0 })).svg.replace(/<[^>]+>/g, ' ');
  expect(await sheet()).toMatch(/in\s+straight\s+lines/);
  await ask('keepout.set', { id: keepOuts[0]?.id ?? '', ...barn });
  expect(await sheet()).toMatch(/round\s+Barn/);
  await ask('export.save', { path: gpx, format: 'gpx', options: {} });
  const turns = readFileSync(gpx, 'utf8').match(/<name>Turn</g)?.length ?? 0;
  expect(turns).toBeGreaterThan(0);
  expect(readFileSync(gpx, 'utf8').match(/<rtept /g)).toHaveLength(plan.probes.length + turns);
});
