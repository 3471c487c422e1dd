/** A lot by its deed and a scanned plan from the command line, as a person runs it. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeArrayBuffer } from 'geotiff';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { decodeTiff } from '../../../core/jobs/decode-tiff.ts';
import { gasplatIn } from './gasplat.ts';

let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-outlines-'));
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const gasplat = gasplatIn(() => folder);

/** Red, green, blue in three columns; 2 m a pixel, upper left corner at 617000, 5450400. */
async function geoTiff(): Promise<Uint8Array> {
  const values = [255, 0, 0, 0, 255, 0, 0, 0, 255, 255, 0, 0, 0, 255, 0, 0, 0, 255];
  const bytes = await writeArrayBuffer(new Uint8Array(values), {
    width: 3,
    height: 2,
    SamplesPerPixel: 3,
    BitsPerSample: [8, 8, 8],
    PhotometricInterpretation: 2,
    ModelPixelScale: [2, 2, 0],
    ModelTiepoint: [0, 0, 0, 617000, 5450400, 0],
    GTModelTypeGeoKey: 1,
    GTRasterTypeGeoKey: 1,
    ProjectedCSTypeGeoKey: 32633,
  });
  return new Uint8Array(bytes);
}

test('a deed, a scanned plan by control points, a GeoTIFF by itself', async () => {
  expect(gasplat('new', 'a.gasplat', '--name', 'A', '--crs', 'EPSG:32633').code).toBe(0);
  const deed = `S 68°05'35"W 472.68\nN 19°46'00"W 216.13\nN 45°55'20"E 276.52\nS 54°59'15"E 382.24\n`;
  writeFileSync(join(folder, 'deed.txt'), deed);
  const early = gasplat('import', 'a.gasplat', 'deed.txt', '--what', 'lot', '--rule', 'transit');
  expect([early.code, early.err]).toEqual([2, expect.stringContaining('without --start')]);
  const start = ['--start', '617000,5450400', '--unit', 'ft'];
  const lot = gasplat('import', 'a.gasplat', 'deed.txt', '--what', 'lot', ...start, '--json');
  expect(lot.err).not.toMatch(/rror/);
  const { traverse } = JSON.parse(lot.out);
  // Mahun, "Traverse Computations": 0.083 ft north and 0.075 ft east in 1347.57 ft.
  expect(traverse.misclosure.distanceM / 0.3048).toBeCloseTo(Math.hypot(0.083, 0.075), 2);
  expect(traverse.perimeterM / 0.3048).toBeCloseTo(1347.57, 6);

  writeFileSync(join(folder, 'plan.tif'), await geoTiff());
  const tiff = gasplat('import', 'a.gasplat', 'plan.tif', '--what', 'site-plan', '--json');
  expect(JSON.parse(tiff.out).plan).toMatchObject({ placedBy: 'geotiff', metresPerPixel: 2, widthPx: 3 });

  writeFileSync(
    join(folder, 'control.csv'),
    'point,column,row,x,y\nA,0,0,617000,5450400\nB,3,0,617006,5450400.03\n',
  );
  const control = ['--control', 'control.csv', '--json'];
  const placed = gasplat('import', 'a.gasplat', 'plan.tif', '--what', 'site-plan', ...control);
  const { plan } = JSON.parse(placed.out);
  expect(plan).toMatchObject({ placedBy: 'points' });
  expect(plan.residuals).toHaveLength(2);
  expect(plan.metresPerPixel).toBeCloseTo(Math.hypot(6, 0.03) / 3, 9);
  const wrong = gasplat('import', 'a.gasplat', 'deed.txt', '--what', 'site-plan');
  expect([wrong.code, wrong.err]).toEqual([1, expect.stringContaining('no PNG, JPEG or TIFF image')]);
}, 60_000);

test('a TIFF becomes pixels, made smaller where it is larger than a map needs', async () => {
  const context = { stopped: () => false, progress: () => undefined };
  if (decodeTiff.form !== 'single') throw new Error('one worker does it');
  const bytes = await geoTiff();
  const whole = await decodeTiff.run({ bytes, file: 'plan.tif', mostPx: 100 }, context);
  expect([...whole.rgba.slice(0, 12)]).toEqual([255, 0, 0, 255, 0, 255, 0, 255, 0, 0, 255, 255]);
  const small = await decodeTiff.run({ bytes, file: 'plan.tif', mostPx: 1 }, context);
  expect([small.widthPx, small.heightPx]).toEqual([1, 1]);
  await expect(
    decodeTiff.run({ bytes: bytes.slice(0, 60), file: 'cut.tif', mostPx: 100 }, context),
  ).rejects.toThrow(/cut.tif cannot be drawn/);
});
