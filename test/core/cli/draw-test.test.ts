import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { gasplatIn } from './gasplat.ts';

let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-draw-cli-'));
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const run = gasplatIn(() => folder);

function gasplat(...args: string[]) {
  const { code, out, err } = run(...args);
  expect(err + (code === 0 ? '' : out)).toBe('');
  return out;
}

test('import flow and suction, set up, reduce and classify: k of a worked draw decides', () => {
  writeFileSync(join(folder, 'lot.csv'), 'x,y\n0,0\n40,0\n40,30\n0,30\n');
  gasplat('new', 'a.gasplat', '--name', 'A', '--crs', 'local:m', '--lot', 'lot.csv');
  const rows = Array.from(
    { length: 16 },
    (_, i) => `Q${i + 1},${4 + 10 * (i % 4)},${3 + 8 * Math.floor(i / 4)},0.825,25,1,1.2,2`,
  );
  const head = 'Probe,x (m),y (m),Depth (m),Radon (kBq/m3),u (kBq/m3),Flow (L/min),Suction (kPa)';
  writeFileSync(join(folder, 's.csv'), [head, ...rows].join('\n'));
  gasplat('import', 'a.gasplat', 's.csv');
  const set = [
    'cavity-length-mm=50',
    'cavity-diameter-mm=12',
    'line-loss-pa=0',
    'line-loss-at-ml-per-min=1000',
    'soil-temperature-c=7',
    'meter-temperature-c=7',
  ].flatMap((one) => ['--draw-test', one]);
  const reduced = JSON.parse(gasplat('reduce', 'a.gasplat', ...set, '--json'));
  // F 0.1492 m by hand (L 5 cm, d 1.2 cm, centre at 82.5 cm); mu(7 C) 1.750e-5 from Bird, Stewart and Lightfoot, table
  // 1.1-2; Q 2.0e-5 m3/s, 2 kPa, metered in the line: 1.750e-5 x 2e-5 / (0.1492 x 2000) x 0.99003 = 1.1612e-12.
  const { ground, enters } = reduced.samples[0].draw;
  expect(enters).toBe(true);
  expect(Math.abs(ground.permeabilityM2 / 1.1612e-12 - 1)).toBeLessThan(0.004);
  expect(reduced.drawTest.cavity).toEqual({ kind: 'cylinder', lengthM: 0.05, diameterM: 0.012 });
  expect(gasplat('reduce', 'a.gasplat')).toMatch(
    /permeability from flow and suction: 1\.16e-12 \+- 1\.\de-13 m2/,
  );
  const after = JSON.parse(gasplat('classify', 'a.gasplat', '--json'));
  // 24 / (11.9351 - 10) = 12.40, medium from 10 to 35 (Neznal et al. 2004)
  expect(after).toMatchObject({ classId: 'medium', permeabilityClass: 'medium' });
  expect(after.permeabilityBasis).toContain('16 of them from flow and suction of the draw');
}, 60_000);
