import { fromArrayBuffer } from 'geotiff';
import { describe, expect, test } from 'vitest';
import type { SurfaceResult } from '../../../core/contract/results.ts';
import { writeGeoTiff } from '../../../core/exchange/geotiff-out.ts';
import { toNative } from '../../../core/geo/frame.ts';
import { fitLocalGrid } from '../../../core/geo/local-grid.ts';
import { createView } from './fixture.ts';
import { hasGdal, runGdal, withFile } from './gdal.ts';
import { createSurface } from './surface.ts';

const UTM = { kind: 'epsg', code: 32633 } as const;
const FEET = { kind: 'epsg', code: 2227 } as const;
const view = createView(UTM, [617060, 5450380]);
const surface = createSurface();
const { grid } = surface;

/** Reads with geotiff.js, which is given nothing but the bytes. */
async function readTiff(bytes: Uint8Array) {
  const tiff = await fromArrayBuffer(new Uint8Array(bytes).buffer);
  return tiff.getImage();
}

function northUp(values: Float64Array): number[] {
  const rows = Array.from({ length: grid.rows }, (_, row) =>
    Array.from(values.subarray(row * grid.columns, (row + 1) * grid.columns)),
  );
  return rows.reverse().flat();
}

describe('read back by geotiff.js', () => {
  test('values to the last bit in 64 bits, rounded once in 32, NaN outside', async () => {
    const image = await readTiff(writeGeoTiff(view, surface));
    expect([image.getWidth(), image.getHeight(), image.getSamplesPerPixel()]).toEqual([5, 4, 3]);
    const [estimate, error, probability] = await image.readRasters();
    expect(Array.from(estimate as Float64Array)).toEqual(northUp(surface.estimateKBqPerM3));
    expect(Array.from(error as Float64Array)).toEqual(northUp(surface.standardErrorKBqPerM3));
    expect(Array.from(probability as Float64Array)).toEqual(
      northUp(surface.exceedance?.probability ?? new Float64Array()),
    );
    const small = await readTiff(writeGeoTiff(view, surface, { bits: 32 }));
    const [rounded] = await small.readRasters();
    expect(rounded).toBeInstanceOf(Float32Array);
    expect(Array.from(rounded as Float32Array)).toEqual(
      Array.from(Float32Array.from(northUp(surface.estimateKBqPerM3))),
    );
    expect(image.getGDALNoData()).toBeNaN();
  });

  test('the corner of the north-west cell, the size of a cell, the system', async () => {
    const image = await readTiff(writeGeoTiff(view, surface));
    // south-west centre 2, 3 m from the origin; four rows of 2.5 m
    expect(image.getOrigin().slice(0, 2)).toEqual([617060 + 0.75, 5450380 + 3 + 3.5 * 2.5]);
    expect(image.getResolution().slice(0, 2)).toEqual([2.5, -2.5]);
    expect(image.getGeoKeys()).toMatchObject({
      GTModelTypeGeoKey: 1,
      GTRasterTypeGeoKey: 1,
      ProjectedCSTypeGeoKey: 32633,
    });
  });

  test('without a limit there is no third band; the other method has an error of NaN', async () => {
    const nothing = new Float64Array(grid.columns * grid.rows).fill(Number.NaN);
    const idw: SurfaceResult = {
      ...surface,
      method: 'idw',
      exceedance: null,
      standardErrorKBqPerM3: nothing,
    };
    const image = await readTiff(writeGeoTiff(view, idw));
    expect(image.getSamplesPerPixel()).toBe(2);
    const [, error] = await image.readRasters();
    expect(Array.from(error as Float64Array).every(Number.isNaN)).toBe(true);
  });
});

interface RasterInfo {
  readonly size: [number, number];
  readonly coordinateSystem: { readonly wkt: string };
  readonly geoTransform: [number, number, number, number, number, number];
  readonly bands: readonly { type: string; noDataValue: unknown; description: string; unit: string }[];
}

describe.skipIf(!hasGdal)('read back by GDAL', () => {
  const describeRaster = (bytes: Uint8Array) =>
    withFile('out.tif', bytes, (path) => JSON.parse(runGdal('gdalinfo', '-json', path)) as RasterInfo);

  test('size, system, place, names and units of the bands', () => {
    const info = describeRaster(writeGeoTiff(view, surface));
    expect(info.size).toEqual([5, 4]);
    expect(info.coordinateSystem.wkt).toContain('ID["EPSG",32633]');
    expect(info.geoTransform).toEqual([617060.75, 2.5, 0, 5450391.75, 0, -2.5]);
    expect(
      info.bands.map((band) => [band.type, String(band.noDataValue), band.description, band.unit]),
    ).toEqual([
      ['Float64', 'NaN', 'Radon in soil gas, estimate', 'kBq/m3'],
      ['Float64', 'NaN', 'Radon in soil gas, standard error', 'kBq/m3'],
      ['Float64', 'NaN', 'Probability of more than 30 kBq/m3', '1'],
    ]);
  });

  test('a cell is found where it lies on the ground', () => {
    const at = toNative(view.frame, [grid.x0M + 3 * grid.cellM + 0.4, grid.y0M + 1 * grid.cellM - 0.4]);
    const value = withFile('out.tif', writeGeoTiff(view, surface), (path) =>
      runGdal('gdallocationinfo', '-valonly', '-geoloc', path, ...at.map(String)),
    );
    expect(value.trim().split(/\s+/).map(Number)[0]).toBeCloseTo(31 + 1 / 3, 12);
  });

  test('feet of a state-plane system', () => {
    const info = describeRaster(writeGeoTiff(createView(FEET, [6000000, 2100000]), surface));
    expect(info.coordinateSystem.wkt).toContain('ID["EPSG",2227]');
    const feetPerMetre = 3937 / 1200;
    [6000000 + 0.75 * feetPerMetre, 2.5 * feetPerMetre, 0, 2100000 + 11.75 * feetPerMetre].forEach(
      (want, i) => {
        expect(info.geoTransform[i]).toBeCloseTo(want, 6);
      },
    );
  });

  test('a local grid: no system of the Earth when untied, turned into one when tied', () => {
    const crs = { kind: 'local', unit: 'm', label: 'tape' } as const;
    const local = createView(crs, [0, 0]);
    const untied = describeRaster(writeGeoTiff(local, surface));
    expect(untied.coordinateSystem?.wkt ?? '').not.toContain('EPSG",32633');
    expect(untied.geoTransform).toEqual([0.75, 2.5, 0, 11.75, 0, -2.5]);
    // the local x axis points south, the y axis east
    const { tie } = fitLocalGrid(crs, 32633, [
      { label: 'A', local: [0, 0], mapped: [617060, 5450380] },
      { label: 'B', local: [100, 0], mapped: [617060, 5450280] },
    ]);
    const tied = describeRaster(writeGeoTiff(local, surface, { tie }));
    expect(tied.coordinateSystem.wkt).toContain('ID["EPSG",32633]');
    [617060 + 11.75, 0, -2.5, 5450380 - 0.75, -2.5, 0].forEach((want, i) => {
      expect(tied.geoTransform[i]).toBeCloseTo(want, 7);
    });
  });
});
