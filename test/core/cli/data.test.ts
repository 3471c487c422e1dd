import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { gasplatIn } from './gasplat.ts';

vi.setConfig({ testTimeout: 60_000 });

const root = join(import.meta.dirname, '..', '..', '..');
let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-cli-data-'));
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const gasplat = gasplatIn(() => folder);

const sheet = (...rows: string[]) =>
  ['Probe,Easting (m),Northing (m),Depth (m),Taken (UTC),Radon (kBq/m3)', ...rows].join('\n');
const write = (name: string, text: string) => writeFileSync(join(folder, name), text);

test('a project of another crew is merged, and a scheme file judges it', () => {
  gasplat('new', 'a.gasplat', '--name', 'A', '--crs', 'EPSG:32633');
  write('a.csv', sheet('P1,500000,5500000,0.8,2026-05-12 08:00,30'));
  gasplat('import', 'a.gasplat', 'a.csv');
  copyFileSync(join(folder, 'a.gasplat'), join(folder, 'b.gasplat'));
  const more = Array.from(
    { length: 7 },
    (_, i) => `Q${i},${500010 + 5 * i},5500000,0.8,2026-05-12 09:0${i},${41 + i}`,
  );
  write('b.csv', sheet(...more, 'P2,500000,5500010,0.8,2026-05-12 10:00,35'));
  gasplat('import', 'b.gasplat', 'b.csv');
  write('c.csv', sheet('P2,500000,5500010,0.8,2026-05-12 10:00,36'));
  gasplat('import', 'a.gasplat', 'c.csv');

  const refused = gasplat('import', 'a.gasplat', 'b.gasplat', '--what', 'project');
  expect(refused.code).toBe(1);
  expect(refused.err).toMatch(/A sample of probe P2: radon, kBq\/m3: mine 36, theirs 35/);
  const merged = gasplat(
    'import',
    'a.gasplat',
    'b.gasplat',
    '--what',
    'project',
    '--prefer',
    'theirs',
    '--json',
  );
  expect(JSON.parse(merged.out)).toMatchObject({ probesAdded: 7, samplesAdded: 7, recordsReplaced: 1 });

  const page = readFileSync(join(root, 'docs', 'schemes.md'), 'utf8');
  write('mine.json', /```json\n([\s\S]*?)```/.exec(page)?.[1] ?? '');
  // 9 values, the highest 47: at or over the example's limit of 40 kBq/m3, and under its raised one of 60.
  const once = gasplat('classify', 'a.gasplat', '--scheme', 'mine.json', '--json');
  expect(JSON.parse(once.out)).toMatchObject({ statisticKBqPerM3: 47, classId: 'raised' });
  const clay = gasplat(
    'classify',
    'a.gasplat',
    '--scheme',
    'example-two-classes',
    '--schemes',
    '.',
    '--raised',
    'clay',
    '--json',
  );
  expect(JSON.parse(clay.out)).toMatchObject({ statisticKBqPerM3: 47, classId: 'ordinary' });
  expect(gasplat('import', 'a.gasplat', 'mine.json', '--what', 'scheme').out).toMatch(/kept and chosen/);
  rmSync(join(folder, 'mine.json'));
  expect(JSON.parse(gasplat('classify', 'a.gasplat', '--json').out)).toMatchObject({ classId: 'raised' });
});
