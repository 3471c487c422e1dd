/** Paper and tables for the field from the command line, and back. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Papa from 'papaparse';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { gasplatIn } from './gasplat.ts';

let folder: string;

const run = gasplatIn(() => folder);
const gasplat = (...args: string[]) => run(...args, '--quiet');

type Row = Record<string, string>;
const rowsOf = (file: string) =>
  Papa.parse<Row>(readFileSync(join(folder, file), 'utf8'), {
    header: true,
    comments: '#',
    skipEmptyLines: true,
  }).data;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-papers-'));
  writeFileSync(
    join(folder, 'lot.csv'),
    'x,y\n600000,5500000\n600045,5500000\n600045,5500040\n600000,5500040\n',
  );
  expect(gasplat('new', 'lot.gasplat', '--name', 'Lot', '--crs', 'EPSG:32633', '--lot', 'lot.csv').err).toBe(
    '',
  );
}, 60_000);

afterAll(() => rmSync(folder, { recursive: true, force: true }));

test('sheets, return table and stake-out of a layout just taken in; the table comes back to its probes', () => {
  const papers = [
    '--sheets',
    'a.pdf',
    '--cards',
    '--page',
    'Letter',
    '--return-csv',
    'r.csv',
    '--stake-out',
    's.csv',
  ];
  const start = ['--keep-start', '600045,5500000'];
  const run = gasplat('plan', 'lot.gasplat', '--count', '15', '--accept', ...start, ...papers, '--json');
  expect(run.err).toBe('');
  const told = JSON.parse(run.out);
  expect(told.probes).toHaveLength(15);
  // 2 pages of map and day, 4 cards a page.
  expect(told.written.sheets).toMatchObject({ path: 'a.pdf', pages: 6, probes: 15 });
  const pdf = readFileSync(join(folder, 'a.pdf'));
  // Letter, 8.5 x 11 in: 612 x 792 points.
  expect(pdf.toString('latin1').match(/\/MediaBox \[0 0 612 792\]/g)).toHaveLength(6);

  const stakes = rowsOf('s.csv');
  expect(stakes.map((r) => r['Stop'])).toEqual(Array.from({ length: 15 }, (_, i) => String(i + 1)));
  expect(stakes.map((r) => r['Probe'])).toEqual(told.probes.map((p: { label: string }) => p.label));
  expect(Object.keys(stakes[0] ?? {})).toEqual([
    'Stop',
    'Code',
    'Probe',
    'State',
    'Added',
    'Easting (m)',
    'Northing (m)',
    'Depth (m)',
    'WGS 84 longitude (deg)',
    'WGS 84 latitude (deg)',
  ]);
  const back = rowsOf('r.csv');
  expect(back.map((r) => r['Code'])).toEqual(stakes.map((r) => r['Code']));
  // The first label is nearer the start than the last.
  const away = (r: Row | undefined) =>
    Math.hypot(Number(r?.['Easting (m)']) - 600045, Number(r?.['Northing (m)']) - 5500000);
  expect(away(stakes[0])).toBeLessThanOrEqual(away(stakes.at(-1)));

  const filled = back.slice(0, 3).map((r, i) => ({
    ...r,
    Probe: `hole ${i}`,
    'Radon (kBq/m3)': String(20 + i),
    'Standard uncertainty (kBq/m3)': '2',
  }));
  writeFileSync(join(folder, 'back.csv'), Papa.unparse(filled));
  const imported = JSON.parse(gasplat('import', 'lot.gasplat', 'back.csv', '--json').out);
  expect(imported).toMatchObject({ probesAdded: 0, probesMet: 3, samplesAdded: 3 });
  // The start kept is that of later papers too: the walk out of the other corner is another.
  gasplat('plan', 'lot.gasplat', '--stake-out', 'again.csv', '--all');
  expect(rowsOf('again.csv').map((r) => r['Probe'])).toEqual(stakes.slice(3).map((r) => r['Probe']));
  const gpx = gasplat('export', 'lot.gasplat', '--out', 'walk.gpx');
  expect(gpx.code).toBe(0);
  const walk = readFileSync(join(folder, 'walk.gpx'), 'utf8');
  expect(walk.match(/<rtept /g)).toHaveLength(12);
  expect(walk).toContain(`code ${stakes[0]?.['Code']}`);
}, 90_000);

test('the curve: errors fall and hours rise with the probes, the elbow is one of them', () => {
  const run = gasplat(
    'plan',
    'lot.gasplat',
    '--curve',
    '--pattern',
    'square',
    '--range',
    '25',
    '--nugget',
    '0.2',
    '--json',
  );
  expect(run.err).toBe('');
  const { points, elbow, isGuess, minimumCount, cautions } = JSON.parse(run.out);
  expect(isGuess).toBe(true);
  expect(minimumCount).toBe(15);
  expect(points.map((p: { probes: number }) => p.probes)).toContain(15);
  points.slice(1).forEach((p: Record<string, number>, i: number) => {
    expect(p['errorShare']).toBeLessThan(points[i].errorShare);
    expect(p['hoursOfWork']).toBeGreaterThan(points[i].hoursOfWork);
    // No layout can explain the nugget: the square root of 0.2 is the least error there is.
    expect(p['errorShare']).toBeGreaterThan(Math.sqrt(0.2));
  });
  expect(elbow).toBeGreaterThan(0);
  expect(elbow).toBeLessThan(points.length - 1);
  expect(cautions.join(' ')).toMatch(/guess/);
}, 60_000);

test('what cannot be is said, with exit code 2 for usage and 1 for input', () => {
  expect(gasplat('plan', 'lot.gasplat', '--count', '5', '--sheets', 'b.pdf')).toMatchObject({
    code: 2,
    err: expect.stringMatching(/add --accept/),
  });
  expect(gasplat('plan', 'lot.gasplat', '--sheets', 'b.doc')).toMatchObject({
    code: 1,
    err: expect.stringMatching(/written as \.pdf/),
  });
  expect(gasplat('plan', 'lot.gasplat', '--curve', '--nugget', '3').code).toBe(2);
}, 60_000);
