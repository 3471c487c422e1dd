import { gpx, kml } from '@tmcw/togeojson';
import { DOMParser } from '@xmldom/xmldom';
import { describe, expect, test } from 'vitest';
import { writeGpx } from '../../../core/exchange/gpx-out.ts';
import { writeKml } from '../../../core/exchange/kml-out.ts';
import { convertNative, type PositionNative } from '../../../core/geo/frame.ts';
import { createView } from './fixture.ts';
import { hasGdal, readLayer, runGdal, withFile } from './gdal.ts';
import { createSurface } from './surface.ts';

const UTM = { kind: 'epsg', code: 32633 } as const;
const WGS84 = { kind: 'epsg', code: 4326 } as const;
const base = createView(UTM, [617060, 5450380]);
const view = {
  ...base,
  probes: base.probes.map((p, i) => (i === 0 ? { ...p, label: 'P<1> & "Ü"', note: "it's\u0001 odd" } : p)),
};
const surface = createSurface();
const parse = (text: string) => new DOMParser().parseFromString(text, 'text/xml');

function expectAt(got: unknown, native: PositionNative): void {
  const [longitude = 0, latitude = 0] = got as number[];
  const [point] = convertNative(WGS84, UTM, [[longitude, latitude]]);
  expect(Math.hypot((point?.[0] ?? 0) - native[0], (point?.[1] ?? 0) - native[1])).toBeLessThan(1e-3);
}

describe('KML read back by togeojson', () => {
  const { features } = kml(parse(writeKml(view, surface)));
  const named = (name: string) => features.filter((feature) => feature.properties?.['name'] === name);

  test('probes to 1 mm, with what is told of them', () => {
    for (const probe of view.probes) {
      const [feature] = named(probe.label);
      expect(feature?.geometry?.type).toBe('Point');
      if (feature?.geometry?.type === 'Point') expectAt(feature.geometry.coordinates, probe.native);
    }
    expect(named('P<1> & "Ü"')[0]?.properties).toMatchObject({
      radon_kbq_per_m3: '0.3',
      permeability_m2: '1.2e-12',
      soil: 'silty sand, "grey"',
      note: "it's odd",
      styleUrl: '#valid',
    });
    expect(named('P2')[0]?.properties?.['description']).toMatch(/^< 1\.5 kBq\/m3/);
    expect(named('P3')[0]?.properties?.['description']).toMatch(/^no gas: water\. /);
    expect(named('P4')[0]?.properties?.['description']).toBe('Not sampled.');
  });

  test('bands with their holes, contours, lot', () => {
    expect(named('10 to 20 kBq/m3')[0]?.geometry?.type).toMatch(/Multi|Collection/);
    expect(named('20 kBq/m3 and more')).toHaveLength(1);
    expect(named('20 kBq/m3')[0]?.geometry).toMatchObject({ type: 'LineString' });
    expect(named('Lot')[0]?.geometry).toMatchObject({ type: 'Polygon' });
    expect(named('House')[0]?.geometry).toMatchObject({ type: 'Polygon' });
    expect(named('Pipe')[0]?.geometry).toMatchObject({ type: 'LineString' });
  });

  test('every style that is named is there', () => {
    const text = writeKml(view, surface);
    const named = new Set([...text.matchAll(/<styleUrl>#([^<]+)</g)].map((m) => m[1]));
    const there = new Set([...text.matchAll(/<Style id="([^"]+)"/g)].map((m) => m[1]));
    expect([...named].filter((id) => !there.has(id))).toEqual([]);
  });
});

describe('GPX read back by togeojson', () => {
  test('waypoints to 1 mm with names and remarks', () => {
    const { features } = gpx(parse(writeGpx(view)));
    expect(features.map((f) => f.properties?.['name'])).toEqual(view.probes.map((p) => p.label));
    features.forEach((feature, i) => {
      if (feature.geometry.type === 'Point') {
        expectAt(feature.geometry.coordinates, view.probes[i]?.native ?? [0, 0]);
      }
    });
    expect(features[0]?.properties).toMatchObject({
      cmt: 'driven, depth 0.8 m, 0.3 kBq/m3',
      desc: "it's odd",
    });
    expect(features[3]?.properties?.['cmt']).toBe('planned, depth 0.8 m');
  });

  test('with an order of walking there is a route', () => {
    const route = ['probe-P3', 'probe-P1'];
    const { features } = gpx(parse(writeGpx(view, { route })));
    const [walk] = features.filter((f) => f.geometry.type === 'LineString');
    const coordinates = walk?.geometry.type === 'LineString' ? walk.geometry.coordinates : [];
    expect(coordinates).toHaveLength(2);
    expectAt(coordinates[0], view.probes[2]?.native ?? [0, 0]);
  });
});

test('a place on the prime meridian is written without an exponent (xsd:decimal)', () => {
  // in UTM zone 31 the meridian of Greenwich is 3 degrees west of the middle one
  const [origin = [0, 0]] = convertNative(WGS84, { kind: 'epsg', code: 32631 }, [[0, 51]]);
  const greenwich = createView({ kind: 'epsg', code: 32631 }, [origin[0] - 3.03, origin[1] - 7.1]);
  const text = writeGpx(greenwich) + writeKml(greenwich, null);
  const numbers = [...text.matchAll(/lon="([^"]+)"|<coordinates>([^,]+),/g)].map((m) => m[1] ?? m[2] ?? '');
  expect(numbers.length).toBeGreaterThan(5);
  expect(numbers.filter((number) => !/^-?\d+(\.\d+)?$/.test(number))).toEqual([]);
  expect(Math.abs(Number(numbers[0]))).toBeLessThan(1e-6);
});

test('an untied local grid has no place on the globe', () => {
  const local = createView({ kind: 'local', unit: 'm', label: '' }, [0, 0]);
  expect(() => writeKml(local, null)).toThrow(/KML holds longitude.*control points/);
  expect(() => writeGpx(local)).toThrow(/GPX holds longitude.*control points/);
});

describe.skipIf(!hasGdal)('read back by GDAL', () => {
  test('KML: folders as layers, points to 1 mm', () => {
    withFile('out.kml', writeKml(view, surface), (path) => {
      const list = runGdal('ogrinfo', path);
      for (const name of ['Probes', 'Lot', 'Footprint', 'Keep-outs', 'Contours', 'Bands'])
        expect(list).toContain(name);
      readLayer(path, 'Probes').forEach(({ geometry, properties }, i) => {
        expectAt(geometry?.coordinates, view.probes[i]?.native ?? [0, 0]);
        expect(properties['Name']).toBe(view.probes[i]?.label);
      });
    });
  });

  test('GPX: waypoints', () => {
    withFile('out.gpx', writeGpx(view), (path) => {
      const features = readLayer(path, 'waypoints');
      expect(features.map((f) => f.properties['name'])).toEqual(view.probes.map((p) => p.label));
      features.forEach(({ geometry }, i) => {
        expectAt(geometry?.coordinates, view.probes[i]?.native ?? [0, 0]);
      });
    });
  });
});
