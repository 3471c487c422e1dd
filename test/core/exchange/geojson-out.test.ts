import { describe, expect, test } from 'vitest';
import type { SurfaceResult } from '../../../core/contract/results.ts';
import { chooseOutline } from '../../../core/exchange/choose-geometry.ts';
import { readGeoJson } from '../../../core/exchange/geojson-in.ts';
import { writeGeoJson } from '../../../core/exchange/geojson-out.ts';
import { convertNative, toNative } from '../../../core/geo/frame.ts';
import { createView } from './fixture.ts';

type Position = [number, number];
interface Written {
  type: string;
  project: Record<string, unknown>;
  features: {
    type: string;
    id: string;
    properties: Record<string, unknown>;
    geometry: { type: string; coordinates: unknown };
  }[];
}

const UTM = { kind: 'epsg', code: 32633 } as const;
const view = createView(UTM, [617060, 5450380]);
const surface = {
  method: 'kriging',
  lines: [
    {
      level: 20,
      points: [
        [0, 0],
        [10, 0],
        [10, 10],
      ],
      closed: true,
    },
    {
      level: 30,
      points: [
        [0, 5],
        [20, 5],
      ],
      closed: false,
    },
  ],
} as unknown as SurfaceResult;
const written = JSON.parse(writeGeoJson(view, surface)) as Written;
const byRole = (role: string) => written.features.filter((feature) => feature.properties['role'] === role);

function signedArea(ring: Position[]): number {
  return ring.slice(1).reduce((sum, [x, y], i) => {
    const [px, py] = ring[i] as Position;
    return (
      sum +
      ((px - (ring[0] as Position)[0]) * (y - (ring[0] as Position)[1]) -
        (x - (ring[0] as Position)[0]) * (py - (ring[0] as Position)[1])) /
        2
    );
  }, 0);
}

describe('RFC 7946', () => {
  test('a collection of features with unique ids, without a crs member', () => {
    expect(written.type).toBe('FeatureCollection');
    expect(written).not.toHaveProperty('crs');
    expect(new Set(written.features.map((feature) => feature.id)).size).toBe(written.features.length);
    expect(written.features.every((feature) => feature.type === 'Feature')).toBe(true);
  });

  test('polygon rings are closed and follow the right-hand rule, though the lot was entered clockwise', () => {
    const polygons = written.features.filter((feature) => feature.geometry.type === 'Polygon');
    expect(polygons.map((feature) => feature.properties['role'])).toEqual(['lot', 'footprint']);
    for (const feature of polygons) {
      const [outer] = feature.geometry.coordinates as Position[][];
      expect(outer?.[0]).toEqual(outer?.at(-1));
      expect(signedArea(outer ?? [])).toBeGreaterThan(0);
    }
  });

  test('longitude first, on WGS 84: P1 stands half a metre from the reference point of Brno', () => {
    // test/reference/projections, point 2: 16.6068, 49.1951 is 617063.4656, 5450387.1286 in EPSG:32633; P1 stands at
    // 617063.03, 5450387.10, so 0.4356 m west and 0.0286 m south of it
    const [lon, lat] = (byRole('probe')[0]?.geometry.coordinates ?? []) as Position;
    const mPerDegreeLat = 111_200;
    const mPerDegreeLon = mPerDegreeLat * Math.cos((49.1951 * Math.PI) / 180);
    expect(Math.abs((16.6068 - lon) * mPerDegreeLon - 0.4356)).toBeLessThan(0.02);
    expect(Math.abs((49.1951 - lat) * mPerDegreeLat - 0.0286)).toBeLessThan(0.02);
  });

  test('the lot comes back through our own reader within 1 mm', () => {
    const outline = chooseOutline(readGeoJson(writeGeoJson(view, null), 'out.geojson', UTM), 'lot');
    const native = convertNative(outline.crs ?? UTM, UTM, outline.ring);
    const want = (view.lot ?? []).map((point) => toNative(view.frame, point));
    for (const [x, y] of want) {
      const nearest = Math.min(...native.map((point) => Math.hypot(point[0] - x, point[1] - y)));
      expect(nearest).toBeLessThan(1e-3);
    }
    expect(native).toHaveLength(want.length);
  });
});

test('probes carry values, bounds, flags, treatment and ruling', () => {
  const [p1, p2, p3, p4] = byRole('probe').map((feature) => feature.properties);
  expect(p1).toMatchObject({ label: 'P1', valueKind: 'value', radonKBqPerM3: 0.3, x: 617063.03 });
  expect(p1?.['samples']).toMatchObject([
    { kind: 'grab', treatment: 'use' },
    {
      kind: 'duplicate',
      treatment: 'leave-out',
      flags: [{ rule: 'crew-said-fresh-air' }],
      ruling: { verdict: 'leave-out', reason: 'rod loose, redrawn' },
    },
  ]);
  expect(p2).toMatchObject({ valueKind: 'atMost', radonKBqPerM3: null, atMostKBqPerM3: 1.5 });
  expect(p3).toMatchObject({ valueKind: 'none', treatment: 'no-value' });
  expect(p4).toMatchObject({ state: 'planned', valueKind: null, samples: [] });
});

test('contours: closed ones repeat their first point', () => {
  const [ring, line] = byRole('contour').map((feature) => feature.geometry.coordinates as Position[]);
  expect(ring).toHaveLength(4);
  expect(ring?.[0]).toEqual(ring?.[3]);
  expect(line).toHaveLength(2);
  expect(byRole('contour')[0]?.properties).toMatchObject({
    radonKBqPerM3: 20,
    closed: true,
    method: 'kriging',
  });
});

test('the datum operation is named, and invented data say so', () => {
  expect(written.project).toMatchObject({ invented: true, crs: 'EPSG:32633', datumAccuracyM: 0 });
  const krovak = createView({ kind: 'epsg', code: 5514 }, [-598200, -1160700]);
  const { project } = JSON.parse(writeGeoJson(krovak, null)) as Written;
  expect(project['datumOperation']).toContain('Helmert 589,76,480');
  expect(project['datumAccuracyM']).toBe(6);
});

test('a local grid and an unshiftable datum are refused with the way out', () => {
  const local = createView({ kind: 'local', unit: 'm', label: '' }, [0, 0]);
  expect(() => writeGeoJson(local, null)).toThrow(/control points, or export CSV/);
  const oldDatum = createView({ kind: 'epsg', code: 27572 }, [600000, 2400000]);
  expect(() => writeGeoJson(oldDatum, null)).toThrow(/no datum operation is known/);
});
