import { expect, test } from 'vitest';
import type { ProjectCrs } from '../../../core/contract/model.ts';
import { chooseOutline } from '../../../core/exchange/choose-geometry.ts';
import { readGeoJson } from '../../../core/exchange/geojson-in.ts';

const utm: ProjectCrs = { kind: 'epsg', code: 32633 };
const degrees = [
  [15.001, 49.001],
  [15.002, 49.001],
  [15.002, 49.002],
  [15.001, 49.001],
];
const polygon = (rings: unknown) => ({ type: 'Polygon', coordinates: rings });
const feature = (geometry: unknown, properties: object = {}) => ({ type: 'Feature', properties, geometry });
const collection = (...features: unknown[]) => ({ type: 'FeatureCollection', features });
const read = (value: unknown, crs: ProjectCrs = utm) =>
  chooseOutline(readGeoJson(JSON.stringify(value), 'lot.geojson', crs), 'lot');

test('RFC 7946: longitude, latitude on WGS 84, closing point dropped, heights ignored', () => {
  const lot = read(collection(feature(polygon([degrees.map((p) => [...p, 310])]))));
  expect(lot.crs).toEqual({ kind: 'epsg', code: 4326 });
  expect(lot.ring).toEqual([
    [15.001, 49.001],
    [15.002, 49.001],
    [15.002, 49.002],
  ]);
  expect(read(polygon([degrees])).ring).toHaveLength(3);
  expect(read(feature({ type: 'MultiPolygon', coordinates: [[degrees]] })).ring).toHaveLength(3);
});

test('a named system (GeoJSON of 2008) is respected', () => {
  const metres = polygon([
    [
      [600000, 5500000],
      [600050, 5500000],
      [600050, 5500040],
      [600000, 5500000],
    ],
  ]);
  const named = (name: string) =>
    read({ ...collection(feature(metres)), crs: { type: 'name', properties: { name } } });
  expect(named('urn:ogc:def:crs:EPSG::5514').crs).toEqual({ kind: 'epsg', code: 5514 });
  expect(named('EPSG:32633').crs).toBeNull();
  expect(named('urn:ogc:def:crs:OGC:1.3:CRS84').crs).toEqual({ kind: 'epsg', code: 4326 });
  expect(() => named('My own grid')).toThrow(/not known here.*My own grid/);
});

test('numbers that are no degrees are the project own, and that is said', () => {
  const lot = read(
    polygon([
      [
        [0, 0],
        [120, 0],
        [120, 80],
        [0, 0],
      ],
    ]),
    { kind: 'local', unit: 'ft', label: '' },
  );
  expect(lot.crs).toBeNull();
  expect(lot.notes[0]).toContain('lot.geojson');
});

test('swapped latitude and longitude are told', () => {
  expect(() =>
    read(
      polygon([
        [
          [40.7, -100.1],
          [40.701, -100.1],
          [40.7, -100.101],
        ],
      ]),
    ),
  ).toThrow(/swapped/);
});

test('among several polygons the one with role "lot" counts; else the features are named', () => {
  const house = feature(polygon([degrees]), { role: 'footprint' });
  const lot = feature(polygon([degrees]), { role: 'lot', label: 'Lot 7' });
  expect(read(collection(house, lot)).ring).toHaveLength(3);
  expect(() => read(collection(house, feature(polygon([degrees]), { name: 'B' })))).toThrow(
    /2 polygons \(feature 1, feature 2 "B"\)/,
  );
});

test('what is no lot is refused with its place', () => {
  expect(() => readGeoJson('{"type": ', 'x.json', utm)).toThrow(/x\.json is no JSON/);
  expect(() => read([1, 2])).toThrow(/no "type"/);
  expect(() => read(collection(feature({ type: 'Point', coordinates: [1, 2] })))).toThrow(/no polygon/);
  expect(() => read(collection(feature(null)))).toThrow(/no polygon/);
  expect(() => read(polygon([degrees, degrees]))).toThrow(/has a hole/);
  expect(() =>
    read(
      collection(
        feature(
          polygon([
            [
              [1, 2],
              [3, null],
            ],
          ]),
          { name: 'B' },
        ),
      ),
    ),
  ).toThrow(/Position 2 of feature 1 "B" in lot\.geojson/);
});
