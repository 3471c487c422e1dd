import { describe, expect, test } from 'vitest';
import { DATA_FORMATS, formatOfFile } from '../../../core/exchange/export-formats.ts';
import { createView } from './fixture.ts';
import { createSurface } from './surface.ts';

const view = createView({ kind: 'epsg', code: 32633 }, [617060, 5450380]);
const local = createView({ kind: 'local', unit: 'ft', label: 'stake' }, [0, 0]);

test('the ending says the format, in either case', () => {
  expect(formatOfFile('a/b.c/Plan.GPKG').id).toBe('gpkg');
  expect(formatOfFile('x.tiff').id).toBe('geotiff');
  expect(() => formatOfFile('x.shp')).toThrow(/"x\.shp".*\.csv, \.gpkg, \.geojson/);
  const endings = DATA_FORMATS.flatMap((format) => format.endings);
  expect(new Set(endings).size).toBe(endings.length);
});

describe.each(DATA_FORMATS.map((format) => [format.id, format] as const))('%s', (_, format) => {
  test('what it needs is what it says it needs', () => {
    expect(format.write(view, createSurface(), {}).length).toBeGreaterThan(100);
    if (format.surface === 'needed') expect(() => format.write(view, null, {})).toThrow(/has none yet/);
    else expect(format.write(view, null, {}).length).toBeGreaterThan(100);
    if (format.needsMap) expect(() => format.write(local, createSurface(), {})).toThrow(/control points/);
    else expect(format.write(local, createSurface(), {}).length).toBeGreaterThan(100);
  });

  test('without a surface the same project gives the same file, and one with it differs where it is used', () => {
    const options = { writtenUtc: '2026-05-14T10:00:00Z' };
    const surface = format.surface === 'needed' ? createSurface() : null;
    expect(format.write(view, surface, options)).toEqual(format.write(view, surface, options));
    if (format.surface !== 'used') return;
    expect(format.write(view, createSurface(), options).length).toBeGreaterThan(
      format.write(view, null, options).length,
    );
  });
});
