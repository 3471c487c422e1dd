import { describe, expect, test } from 'vitest';
import { writeDxf } from '../../../core/exchange/dxf-out.ts';
import { toNative } from '../../../core/geo/frame.ts';
import { createView } from './fixture.ts';
import { type GdalFeature, hasGdal, readLayer, withFile } from './gdal.ts';
import { createSurface } from './surface.ts';

const view = createView({ kind: 'epsg', code: 32633 }, [617060, 5450380]);
const surface = createSurface();

/** Group codes and values in turn (DXF reference: every group is two lines). */
function groups(text: string): [code: number, value: string][] {
  const lines = text.split('\n');
  return Array.from({ length: Math.floor(lines.length / 2) }, (_, i) => [
    Number(lines[2 * i]),
    lines[2 * i + 1] ?? '',
  ]);
}

function headerValue(text: string, name: string): string | undefined {
  const all = groups(text);
  return all[all.findIndex(([code, value]) => code === 9 && value === name) + 1]?.[1];
}

test('the header says which unit: metre 6, foot 2, US survey foot 21', () => {
  expect(headerValue(writeDxf(view, null), '$INSUNITS')).toBe('6');
  expect(
    headerValue(writeDxf(createView({ kind: 'local', unit: 'ft', label: '' }, [0, 0]), null), '$INSUNITS'),
  ).toBe('2');
  const feet = createView({ kind: 'epsg', code: 2227 }, [6000000, 2100000]);
  expect(headerValue(writeDxf(feet, null), '$INSUNITS')).toBe('21');
});

test('a text with a line break stays one group', () => {
  const odd = { ...view, name: 'two\nlines' };
  expect(groups(writeDxf(odd, null)).every(([code]) => Number.isInteger(code))).toBe(true);
});

describe.skipIf(!hasGdal)('read back by GDAL', () => {
  const features: GdalFeature[] = hasGdal
    ? withFile('out.dxf', writeDxf(view, surface), (path) => readLayer(path, 'entities'))
    : [];
  const on = (layer: string) => features.filter((f) => f.properties['Layer'] === layer);
  const expectNear = (got: unknown, positionM: readonly [number, number]) => {
    const [x = 0, y = 0] = got as number[];
    const [wantX, wantY] = toNative(view.frame, positionM);
    expect(Math.hypot(x - wantX, y - wantY)).toBeLessThan(1e-6);
  };

  test('lot and footprint are closed and lie where they should', () => {
    for (const [layer, ring] of [
      ['LOT', view.lot ?? []],
      ['FOOTPRINT', view.footprint?.ring ?? []],
    ] as const) {
      const [feature] = on(layer);
      const points = (feature?.geometry?.coordinates ?? []) as unknown[];
      expect(points).toHaveLength(ring.length + 1);
      [...ring, ring[0] as [number, number]].forEach((corner, i) => {
        expectNear(points[i], corner);
      });
    }
  });

  test('contours carry their level as elevation', () => {
    const heights = on('CONTOUR').map(
      (f) => new Set(((f.geometry?.coordinates ?? []) as number[][]).map((p) => p[2])),
    );
    expect(heights).toEqual([new Set([20]), new Set([30])]);
    on('CONTOUR').forEach((f, i) => {
      expectNear(((f.geometry?.coordinates ?? []) as unknown[])[1], surface.lines[i]?.points[1] ?? [0, 0]);
    });
    expect(on('CONTOUR-LABEL').map((f) => f.properties['Text'])).toEqual(['20', '30']);
  });

  test('probes: a point, a label, a value', () => {
    on('PROBE').forEach((f, i) => {
      expectNear(f.geometry?.coordinates, view.probes[i]?.positionM ?? [0, 0]);
    });
    expect(on('PROBE')).toHaveLength(view.probes.length);
    expect(on('PROBE-LABEL').map((f) => f.properties['Text'])).toEqual(view.probes.map((p) => p.label));
    expect(on('PROBE-VALUE').map((f) => f.properties['Text'])).toEqual(['0.3', '< 1.5', 'no gas: water']);
  });
});

test('texts are 2.5 mm high on paper at the plot scale', () => {
  const heights = (plotScale: number) => {
    const all = groups(writeDxf(view, null, { plotScale }));
    return all.flatMap(([code, value], i) => {
      if (code !== 8 || value !== 'PROBE-LABEL') return [];
      return Number(all.slice(i).find(([later]) => later === 40)?.[1]);
    });
  };
  // 2.5 mm x 200 = 0.5 m; layers are named in the table as well, without a height that counts
  expect(heights(200).filter((h) => Math.abs(h - 0.5) < 1e-12)).toHaveLength(view.probes.length);
  expect(heights(1000).filter((h) => Math.abs(h - 2.5) < 1e-12)).toHaveLength(view.probes.length);
});
