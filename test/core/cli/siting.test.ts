import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { SiteResult } from '../../../core/contract/planning.ts';
import type { ControlView } from '../../../core/contract/requests.ts';
import type { FootprintClass, KeptComparison } from '../../../core/contract/siting.ts';
import { createFromDemo } from '../../../core/project/demo.ts';
import { gasplatIn } from './gasplat.ts';

let folder: string;
let demo: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-cli-site-'));
  demo = join(folder, 'demo.gasplat');
  createFromDemo({ path: demo, lot: 'ordinary', actor: 'tester' }).close();
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const run = gasplatIn(() => folder);

function gasplat<T>(...args: string[]): { code: number | null; json: T; err: string } {
  const { code, out, err } = run(...args, '--json', '--quiet');
  return { code, json: JSON.parse(out) as T, err };
}

describe('siting from the command line', () => {
  test('too few points at the building give no class, with what is missing; the lot stands beside it', () => {
    const { code, json } = gasplat<FootprintClass>('classify', demo, '--footprint');
    expect(code).toBe(0);
    expect(json).toMatchObject({ result: null, lotClass: 'medium radon index' });
    const { inside, around, needed, missing } = json.support;
    expect(missing[0]).toContain(`${needed - inside - around} more valid points`);
  });

  test('an outline is made, a ranked place is kept and chosen, and class and comparison follow it', () => {
    const args = ['--outline', 'L:9x8:4x3', '--keep', '1', '--wanted', '1', '--fixed'];
    const { code, json } = gasplat<
      SiteResult & { kept: KeptComparison | null; footprintClass: FootprintClass }
    >('site', demo, ...args);
    expect(code).toBe(0);
    // 9 x 8 less 4 x 3.
    expect(json.footprintClass.areaM2).toBeCloseTo(60, 6);
    expect(json.footprintClass.label).toBe('Planned building, placement A');
    expect(json.kept?.placements.map((p) => [p.label, p.chosen])).toEqual([
      ['as drawn', false],
      ['A', true],
    ]);
    expect(json.kept?.placements[1]?.pose).toEqual(json.ranked[0]?.pose);
    expect(json.differences.join(' ')).not.toMatch(/ As drawn|-\d/);
    expect(gasplat('site', demo, '--outline', 'star:3').code).toBe(2);
  }, 60_000);
});

// A grid turned by a quarter and moved: (x, y) on the tape is (617060 + y, 5450380 - x) on the map, by hand.
test('control points of a local grid come from a table, with their residuals; a system of its own is refused', () => {
  const file = join(folder, 'control.csv');
  writeFileSync(
    file,
    'Point;Local x;Local y;Easting;Northing\nA;0,00;0,00;617060,00;5450380,00\nB;40,00;0,00;617060,00;5450340,00\nC;0,00;30,00;617090,00;5450380,00\n',
  );
  const local = join(folder, 'tape.gasplat');
  expect(gasplat('new', local, '--name', 'Tape', '--crs', 'local:m').code).toBe(0);
  const args = ['import', local, file, '--what', 'control'];
  const { code, json } = gasplat<{ control: ControlView }>(...args, '--crs', 'EPSG:32633');
  expect(code).toBe(0);
  expect(json.control.points.map((p) => p.label)).toEqual(['A', 'B', 'C']);
  expect(json.control.scale).toBeCloseTo(1, 9);
  expect(json.control.turnDeg).toBeCloseTo(90, 6);
  for (const residual of json.control.residuals) expect(residual.lengthM).toBeLessThan(1e-6);
  expect(gasplat(...args).code).toBe(2);

  const other = join(folder, 'other.gasplat');
  const made = ['new', other, '--name', 'B', '--crs', 'local:m', '--control', file, '--onto', 'EPSG:32633'];
  expect(gasplat<{ control: { control: ControlView } }>(...made).json.control.control.turnDeg).toBeCloseTo(
    90,
    6,
  );
  writeFileSync(file, 'Point,Local x,Local y,Easting,Northing\nA,0,zero,617060,5450380\n');
  const bad = gasplat<{ error: { details: object } }>(...args, '--crs', 'EPSG:32633');
  expect(bad.code).toBe(1);
  expect(bad.json.error.details).toMatchObject({ row: 2, field: 'Local y' });
});
