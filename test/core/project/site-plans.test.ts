/** Images of site plans: placed by points, by a world file and as GeoTIFF; kept, shown, taken out, undone, refused. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { readControlPoints } from '../../../core/exchange/read-control.ts';
import { setLot } from '../../../core/project/edit.ts';
import { newProject } from '../../../core/project/new-project.ts';
import {
  addSitePlan,
  listSitePlans,
  placeSitePlan,
  removeSitePlan,
  setSitePlan,
  sitePlanFile,
} from '../../../core/project/site-plans.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

let folder: string;
let store: ProjectStore;
const [E, N] = [617060, 5450380];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-site-plan-'));
  const crs = { kind: 'epsg', code: 32633 } as const;
  store = newProject({ path: join(folder, 'a.gasplat'), name: 'A', crs, actor: 'tester' });
  const lot = [
    [E, N],
    [E + 40, N],
    [E + 40, N + 30],
    [E, N + 30],
  ] as const;
  setLot(store, lot, null, 'entered');
});

afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

/** Head of a PNG of this size: all that is read of it here. */
function png(width: number, height: number): Uint8Array {
  const bytes = Buffer.alloc(40);
  bytes.writeUInt32BE(0x89504e47, 0);
  bytes.writeUInt32BE(width, 16);
  bytes.writeUInt32BE(height, 20);
  return bytes;
}

function file(name: string, content: Uint8Array | string): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

/** 0.1 m a pixel, upright, upper left corner at E, N + 30. */
const at = (column: number, row: number) => [E + column / 10, N + 30 - row / 10] as const;
const point = (label: string, column: number, row: number, shift = 0) => {
  const [x, y] = at(column, row);
  return { label, pixel: [column, row] as const, native: [x + shift, y] as const };
};

test('by points: corners on the ground, residuals in metres', async () => {
  const { id, notes } = await addSitePlan(store, file('plan.png', png(400, 300)));
  expect(notes.join()).toMatch(/two or more points/);
  expect(listSitePlans(store)[0]).toMatchObject({
    placedBy: null,
    cornersM: null,
    label: 'plan',
    opacity: 0.6,
  });
  const points = [point('A', 0, 0), point('B', 400, 0), point('C', 400, 300), point('D', 0, 300, 0.4)];
  placeSitePlan(store, { id, fit: 'affine', points });
  const [plan] = listSitePlans(store);
  // Four corners of a rectangle, one 0.4 m off: an affine fit leaves a quarter of it at each (exact by symmetry).
  for (const residual of plan?.residuals ?? []) expect(residual.lengthM).toBeCloseTo(0.1, 9);
  expect(plan?.standardDeviationM).toBeCloseTo(Math.sqrt((4 * 0.01) / 2), 9);
  placeSitePlan(store, { id, fit: 'similarity', points: points.slice(0, 3) });
  const corner = listSitePlans(store)[0]?.cornersM?.[2];
  const { origin_x: x0, origin_y: y0 } = store.rows('project')[0] ?? { origin_x: 0, origin_y: 0 };
  expect(corner?.[0]).toBeCloseTo(E + 40 - x0, 6);
  expect(corner?.[1]).toBeCloseTo(N - y0, 6);
  store.undo();
  expect(listSitePlans(store)[0]).toMatchObject({ fit: 'affine' });
});

test('by the world file beside it, and far off the lot it says so', async () => {
  const image = file(
    'scan.jpg',
    Uint8Array.of(0xff, 0xd8, 0xff, 0xc0, 0, 11, 8, 1, 44, 1, 144, 1, 1, 0x11, 0),
  );
  file('scan.jgw', `0.1\n0\n0\n-0.1\n${E + 0.05}\n${N + 30 - 0.05}\n`);
  await addSitePlan(store, image);
  const [plan] = listSitePlans(store);
  expect(plan).toMatchObject({ placedBy: 'world-file', widthPx: 400, heightPx: 300, warnings: [] });
  expect(plan?.metresPerPixel).toBeCloseTo(0.1, 12);
  file('scan.jgw', `0.1\n0\n0\n-0.1\n${E + 5000}\n${N}\n`);
  const { notes } = await addSitePlan(store, image);
  expect(notes.join()).toMatch(/49\d\d m off the lot/);
  // The same picture is kept once.
  expect(store.attachments()).toHaveLength(1);
});

test('shown, hidden, taken out, and brought back by undo with its bytes', async () => {
  const { id } = await addSitePlan(store, file('plan.png', png(10, 10)), {
    fit: 'similarity',
    points: [point('A', 0, 0), point('B', 10, 0)],
  });
  expect(listSitePlans(store)[0]?.warnings.join()).toMatch(/Measure one more/);
  setSitePlan(store, { id, opacity: 0.3, isShown: false });
  expect(listSitePlans(store)[0]).toMatchObject({ opacity: 0.3, isShown: false });
  removeSitePlan(store, id);
  expect(listSitePlans(store)).toEqual([]);
  store.undo();
  expect(Buffer.from(sitePlanFile(store, id).bytes).equals(png(10, 10))).toBe(true);
  expect(store.verifyRecord().intact).toBe(true);
});

test('what cannot be used is refused with nothing written', async () => {
  const refused = async (
    name: string,
    content: Uint8Array,
    why: RegExp,
    placing?: Parameters<typeof addSitePlan>[2],
  ) => {
    await expect(addSitePlan(store, file(name, content), placing)).rejects.toThrow(why);
    expect(store.rows('site_plan')).toEqual([]);
  };
  await refused('huge.png', png(20_000, 20_000), /400 million; at most 60 million/);
  await refused('plan.pdf', Buffer.from('%PDF-1.7 and more'), /no PNG, JPEG or TIFF/);
  await refused('plan.png', png(100, 100), /off the image/, {
    fit: 'similarity',
    points: [point('A', 0, 0), point('B', 500, 0)],
  });
  await refused('plan.png', png(100, 100), /needs at least 2/, {
    fit: 'similarity',
    points: [point('A', 0, 0)],
  });
  await refused('plan.png', png(100, 100), /mirror/, {
    fit: 'affine',
    points: [point('A', 0, 0), point('B', 100, 0), { ...point('C', 0, 100), native: [E, N + 60] }],
  });
});

test('control points from a table; a bad cell is named', () => {
  const read = (text: string) => readControlPoints(Buffer.from(text), 'control.csv');
  const table = `Point;Column;Row;Easting;Northing\nNW;12,5;7;${E};${N + 30}\n;400;7;${E + 38},75;${N + 30}\n`;
  expect(read(table)).toEqual([
    { label: 'NW', pixel: [12.5, 7], native: [E, N + 30] },
    { label: '2', pixel: [400, 7], native: [E + 38.75, N + 30] },
  ]);
  expect(() => read('column,row,x,y\n1,2,3,oops\n')).toThrow(/Row 2 of control.csv: "oops" in column "y"/);
  expect(() => read('column,x,y\n1,2,3\n')).toThrow(/missing: row/);
});
