import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { PositionM } from '../../../core/contract/model.ts';
import { fitImage, type ImageMatrix, type ImagePoint, placePixel } from '../../../core/exchange/fit-image.ts';
import { writeGeoTiff } from '../../../core/exchange/geotiff-out.ts';
import {
  readGeoTiffPlace,
  readImageInfo,
  readWorldFile,
  worldFileEndings,
} from '../../../core/exchange/image-place.ts';
import { createView } from './fixture.ts';
import { feedGdal, hasGdal, runGdal, withFile } from './gdal.ts';
import { createSurface } from './surface.ts';

const points = (matrix: ImageMatrix, pixels: readonly (readonly [number, number])[]): ImagePoint[] =>
  pixels.map((pixel, i) => ({ label: `C${i + 1}`, pixel, atM: placePixel(matrix, pixel) }));

/** 5 cm a pixel, turned by 20 degrees. */
const [COS, SIN] = [Math.cos(Math.PI / 9), Math.sin(Math.PI / 9)];
const TURNED: ImageMatrix = [0.05 * COS, 0.05 * SIN, -30, 0.05 * SIN, -0.05 * COS, 40];
const PIXELS = [
  [100, 120],
  [1900, 80],
  [1850, 1420],
  [60, 1380],
] as const;

describe('control points of a site plan', () => {
  test('a turned plan is found, from two points and from four', () => {
    for (const count of [2, 4]) {
      const fit = fitImage(points(TURNED, PIXELS.slice(0, count)));
      fit.matrix.forEach((value, i) => {
        expect(value).toBeCloseTo(TURNED[i] ?? 0, 10);
      });
      expect(fit.metresPerPixel).toBeCloseTo(0.05, 12);
      expect(fit.standardDeviationM === null).toBe(count === 2);
    }
  });

  test('a slip of 1 m stands out where it was made', () => {
    const slipped = points(TURNED, PIXELS).map((p, i) =>
      i === 1 ? { ...p, atM: [p.atM[0] + 1, p.atM[1]] as const } : p,
    );
    const fit = fitImage(slipped);
    const worst = fit.residualsM.reduce((a, b) => (a.lengthM > b.lengthM ? a : b));
    expect(worst.label).toBe('C2');
    expect(worst.eastM).toBeLessThan(0);
    expect(fit.standardDeviationM).toBeGreaterThan(0.2);
  });

  test('a stretched copy: the affine fit takes it up, the similarity says so', () => {
    const stretched: ImageMatrix = [0.05, 0, 0, 0, -0.052, 0];
    const affine = fitImage(points(stretched, PIXELS), 'affine');
    expect(affine.standardDeviationM).toBeLessThan(1e-9);
    expect(affine.warnings.join(' ')).toMatch(/stretched/);
    expect(fitImage(points(stretched, PIXELS)).standardDeviationM).toBeGreaterThan(0.5);
  });

  test('what gives no place is refused', () => {
    expect(() => fitImage(points(TURNED, PIXELS.slice(0, 1)))).toThrow(/needs at least 2/);
    expect(() => fitImage(points(TURNED, PIXELS.slice(0, 2)), 'affine')).toThrow(/needs at least 3/);
    const line = [
      [0, 0],
      [10, 10],
      [20, 20],
    ] as const;
    expect(() => fitImage(points(TURNED, line), 'affine')).toThrow(/one line/);
    expect(() => fitImage(points([0.05, 0, 0, 0, 0.05, 0], PIXELS), 'affine')).toThrow(/mirror/);
  });

  test('any placement is found again (property)', () => {
    const number = (max: number) => fc.double({ min: -max, max, noNaN: true });
    fc.assert(
      fc.property(
        number(180),
        fc.double({ min: 0.005, max: 1, noNaN: true }),
        number(500),
        number(500),
        (deg, size, c, f) => {
          const [cos, sin] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
          const matrix: ImageMatrix = [size * cos, size * sin, c, size * sin, -size * cos, f];
          for (const kind of ['similarity', 'affine'] as const) {
            const fit = fitImage(points(matrix, PIXELS), kind);
            for (const pixel of PIXELS) {
              const [x, y] = placePixel(fit.matrix, pixel);
              const [u, v] = placePixel(matrix, pixel);
              expect(Math.hypot(x - u, y - v)).toBeLessThan(1e-8);
            }
          }
        },
      ),
      { seed: 3, numRuns: 60 },
    );
  });

  test.skipIf(!hasGdal)('the affine fit is that of GDAL, points with errors and all', () => {
    const errorsM = [
      [0.1, 0.2],
      [-0.2, 0.1],
      [0.15, -0.3],
      [0.3, 0.05],
    ];
    const given = points(TURNED, PIXELS).map((p, i) => {
      const [east = 0, north = 0] = errorsM[i] ?? [];
      return { ...p, atM: [p.atM[0] + east, p.atM[1] + north] as PositionM };
    });
    const fit = fitImage(given, 'affine');
    const gcps = given.flatMap(({ pixel, atM }) => ['-gcp', ...pixel.map(String), ...atM.map(String)]);
    const out = feedGdal('700 900\n', 'gdaltransform', '-order', '1', ...gcps);
    const [x = 0, y = 0] = out.trim().split(/\s+/).map(Number);
    const [u, v] = placePixel(fit.matrix, [700, 900]);
    expect(Math.hypot(x - u, y - v)).toBeLessThan(1e-6);
  });
});

describe('world files', () => {
  test('the six numbers, from the middle of the first pixel to its corner', () => {
    const { matrix, crs } = readWorldFile(
      '0.05\r\n0\r\n0\r\n-0.05\r\n617000.025\r\n5450399.975\r\n',
      'plan.pgw',
    );
    expect(crs).toBeNull();
    expect(placePixel(matrix, [0, 0])).toEqual([617000, 5450400]);
    expect(placePixel(matrix, [0.5, 0.5])).toEqual([617000.025, 5450399.975]);
    expect(readWorldFile('0,05\n0\n0\n-0,05\n1\n2', 'x.wld').matrix[0]).toBe(0.05);
  });

  test('what is none is refused with its row', () => {
    expect(() => readWorldFile('1\n2\n', 'a.tfw')).toThrow(/a\.tfw has 2 lines/);
    expect(() => readWorldFile('1\n0\n0\nx\n0\n0', 'a.tfw')).toThrow(/Row 4 of a\.tfw is "x"/);
    expect(() => readWorldFile('0\n0\n0\n0\n0\n0', 'a.tfw')).toThrow(/no size/);
  });

  test('names beside an image', () => {
    expect(worldFileEndings('plan.TIF')).toEqual(['tfw', 'tifw', 'wld']);
    expect(worldFileEndings('plan.jpeg')).toEqual(['jgw', 'jpegw', 'wld']);
    expect(worldFileEndings('plan.png')).toEqual(['pgw', 'pngw', 'wld']);
  });
});

describe('GeoTIFF', () => {
  const view = createView({ kind: 'epsg', code: 32633 }, [617060, 5450380]);

  test('place and system of one of our own', async () => {
    const place = await readGeoTiffPlace(writeGeoTiff(view, createSurface()), 'a.tif');
    expect(place?.crs).toEqual({ kind: 'epsg', code: 32633 });
    expect(place?.matrix).toEqual([2.5, 0, 617060.75, 0, -2.5, 5450391.75]);
  });

  test('no TIFF', async () => {
    await expect(readGeoTiffPlace(new Uint8Array([1, 2, 3]), 'a.tif')).rejects.toThrow(/a\.tif is no TIFF/);
  });

  test.skipIf(!hasGdal)(
    'a plan placed by GDAL, with pixels as areas and as points, and without a place',
    async () => {
      const made = withFile('a.tif', writeGeoTiff(view, createSurface()), (source) => {
        const path = (name: string) => join(dirname(source), name);
        const place = ['-a_srs', 'EPSG:5514', '-a_ullr', '-598000', '-1160000', '-597950', '-1160040'];
        const translate = (name: string, ...args: string[]) => {
          runGdal('gdal_translate', '-q', '-b', '1', '-ot', 'Byte', ...args, source, path(name));
          return readFileSync(path(name));
        };
        return {
          area: translate('area.tif', ...place, '-mo', 'AREA_OR_POINT=Area'),
          point: translate('point.tif', ...place, '-mo', 'AREA_OR_POINT=Point'),
          bare: translate('bare.tif', '-co', 'PROFILE=BASELINE'),
          png: translate('a.png', '-of', 'PNG'),
          jpeg: translate('a.jpg', '-of', 'JPEG'),
        };
      });
      for (const bytes of [made.area, made.point]) {
        const place = await readGeoTiffPlace(bytes, 'plan.tif');
        expect(place?.crs).toEqual({ kind: 'epsg', code: 5514 });
        expect(place?.matrix).toEqual([10, 0, -598000, 0, -10, -1160000]);
      }
      expect(await readGeoTiffPlace(made.bare, 'bare.tif')).toBeNull();
      expect(readImageInfo(made.area, 'a.tif')).toEqual({ format: 'tiff', widthPx: 5, heightPx: 4 });
      expect(readImageInfo(made.png, 'a.png')).toEqual({ format: 'png', widthPx: 5, heightPx: 4 });
      expect(readImageInfo(made.jpeg, 'a.jpg')).toEqual({ format: 'jpeg', widthPx: 5, heightPx: 4 });
    },
  );

  test('an image is known by its bytes', () => {
    expect(() => readImageInfo(new TextEncoder().encode('%PDF-1.7 and more of it'), 'plan.png')).toThrow(
      /plan\.png is no PNG, JPEG or TIFF/,
    );
  });
});
