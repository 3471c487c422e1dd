/** A traverse into a project: by file, by the window's request, and what is refused. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { TraverseOptions } from '../../../core/contract/outlines.ts';
import { readCourseText } from '../../../core/exchange/read-courses.ts';
import { makeFrame } from '../../../core/geo/frame.ts';
import { importGeometry } from '../../../core/project/import-geometry.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { traverseOutline } from '../../../core/project/traverse.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

let folder: string;
let store: ProjectStore;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-traverse-'));
  const crs = { kind: 'local', unit: 'ft-us', label: 'Deed' } as const;
  store = newProject({ path: join(folder, 'a.gasplat'), name: 'A', crs, actor: 'tester' });
});

afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

function file(name: string, content: string): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

const options: TraverseOptions = {
  start: [1000, 1000],
  angleUnit: 'deg',
  lengthUnit: 'ft-us',
  rule: 'compass',
  returns: true,
  turnDeg: 0,
  onGround: false,
};

test('a table with bearings and distances becomes the lot, with its misclosure in its source', () => {
  const path = file(
    'deed.csv',
    `Line,Bearing,Distance\n1-2,"N 00°00'00"" E",100.00\n2-3,"N 90°00'00"" E",120.00\n3-4,"S 00°00'00"" E",100.02\n4-1,"S 90°00'00"" W",120.00\n`,
  );
  expect(() => importGeometry(store, path, 'lot')).toThrow(/say where the first one begins/);
  const { traverse, notes } = importGeometry(store, path, 'lot', { traverse: options });
  const footM = 1200 / 3937;
  expect(traverse?.misclosure?.northM).toBeCloseTo(-0.02 * footM, 9);
  expect(traverse?.misclosure?.ratio).toBeCloseTo(440.02 / 0.02, 3);
  expect(notes[1]).toMatch(/1:22,001/);
  // The latitude's error goes over the lengths: 120 / 440.02 of it stays beside each of the level sides.
  const corners = (traverse?.ring ?? []).map(([x, y]) => [x - 1000, y - 1000]);
  expect(corners[1]?.[1]).toBeCloseTo(100 + (0.02 * 100) / 440.02, 9);
  expect(corners[2]?.[1]).toBeCloseTo(100 + (0.02 * 220) / 440.02, 9);
  expect(corners[3]?.[1]).toBeCloseTo(100 - 100.02 + (0.02 * 320.02) / 440.02, 9);
  expect(buildView(store).lot).toHaveLength(4);
  expect(store.rows('lot')[0]?.source).toBe(
    'deed.csv: 4 directions and lengths, misclosure 0.006 m (1:22,001) spread by the compass rule',
  );
  store.undo();
  expect(buildView(store).lot).toBeNull();
});

test('free text, a footprint and a keep-out; every bad row is named', () => {
  const text = 'N 0 E 30\nthence due east 20 ft\nS 0 E 30\ndue west 20 ft';
  importGeometry(store, file('house.txt', text), 'footprint', { traverse: options });
  importGeometry(store, file('pit.txt', text), 'keep-out', { traverse: options, bufferM: 1 });
  const view = buildView(store);
  expect(view.footprint?.ring).toHaveLength(4);
  expect(view.keepOuts[0]).toMatchObject({ shape: 'polygon', bufferM: 1 });
  const bad = file('bad.txt', 'N 0 E 30\nN 95 E 20\nS 0 E 30\nS 90 W');
  expect(() => importGeometry(store, bad, 'lot', { traverse: options })).toThrow(
    /Row 2 of bad.txt, "N 95 E 20".*\nRow 4 of bad.txt, "S 90 W"/,
  );
});

test('a slip is not spread by a rule, and can be left as it is', () => {
  const path = file('slip.txt', 'N 0 E 30\nN 90 E 20\nN 0 E 30\nS 90 W 20');
  const take = (rule: TraverseOptions['rule']) =>
    importGeometry(store, path, 'lot', { traverse: { ...options, rule } });
  expect(() => take('compass')).toThrow(
    /no rule may spread it[\s\S]*closes where course 1 runs the other way/,
  );
  expect(buildView(store).lot).toBeNull();
  expect(() => take('none')).toThrow(/crosses itself|one line/);
});

test('turned to grid north, and from the ground to the grid', () => {
  const frame = makeFrame({ kind: 'epsg', code: 32633 }, [600000, 5500000]);
  const rows = readCourseText('due north 100 m\ndue east 100 m\ndue south 100 m\ndue west 100 m', options);
  const { outline, pathM } = traverseOutline(frame, rows, {
    ...options,
    start: [600000, 5500000],
    turnDeg: 90,
    onGround: true,
  });
  expect(frame.gridScaleFactor).not.toBe(1);
  expect(pathM[1]?.[0]).toBeCloseTo(100 * frame.gridScaleFactor, 9);
  expect(pathM[1]?.[1]).toBeCloseTo(0, 9);
  expect(outline?.areaM2).toBeCloseTo((100 * frame.gridScaleFactor) ** 2, 6);
  expect(outline?.notes.join()).toMatch(/brought to the grid/);
});

test('while rows are still being typed, the way as far as it goes', () => {
  const frame = makeFrame({ kind: 'local', unit: 'm', label: '' }, [0, 0]);
  const result = traverseOutline(frame, readCourseText('N 90 E 10\nN 0 E 5\nS 9', options), {
    ...options,
    start: [0, 0],
  });
  expect(result.outline).toBeNull();
  expect(result.pathM).toHaveLength(3);
  expect(result.rows[2]?.problem).toMatch(/direction|length/);
});
