import { describe, expect, test } from 'vitest';
import { chooseOutline } from '../../../core/exchange/choose-geometry.ts';
import { readDxf } from '../../../core/exchange/dxf-in.ts';
import { joinLines } from '../../../core/exchange/join-lines.ts';
import { readGeometry } from '../../../core/exchange/read-geometry.ts';
import { ringArea } from '../../../core/geo/planar.ts';

/** Group codes as in the DXF reference: code and value in turn. */
type Group = readonly [code: number, value: string | number];

function drawing(entities: readonly Group[], units?: number): string {
  const header: Group[] =
    units === undefined
      ? []
      : [
          [0, 'SECTION'],
          [2, 'HEADER'],
          [9, '$INSUNITS'],
          [70, units],
          [0, 'ENDSEC'],
        ];
  const all: Group[] = [...header, [0, 'SECTION'], [2, 'ENTITIES'], ...entities, [0, 'ENDSEC'], [0, 'EOF']];
  return all.map(([code, value]) => `${String(code).padStart(3)}\n${value}\n`).join('');
}

const entity = (type: string, layer: string, ...groups: Group[]): Group[] => [
  [0, type],
  [8, layer],
  ...groups,
];
const line = (layer: string, x1: number, y1: number, x2: number, y2: number) =>
  entity('LINE', layer, [10, x1], [20, y1], [11, x2], [21, y2]);

test('a polyline whose bulges make a circle has the area of one', () => {
  // two half circles: bulge 1 = tan(180 degrees / 4)
  const text = drawing(
    entity('LWPOLYLINE', 'A', [70, 1], [10, 0], [20, 0], [42, 1], [10, 2], [20, 0], [42, 1]),
  );
  const [feature] = readDxf(text, 'a.dxf').features;
  expect(feature?.kind).toBe('polygon');
  const ring = feature?.kind === 'polygon' ? (feature.coordinates[0] ?? []) : [];
  expect(ringArea(ring) / Math.PI).toBeGreaterThan(0.997);
  expect(ringArea(ring) / Math.PI).toBeLessThan(1);
  for (const [x, y] of ring) expect(Math.hypot(x - 1, y)).toBeCloseTo(1, 9);
});

test('a bulge bends to the right side: negative runs clockwise, the middle lies left of the way', () => {
  const half = (bulge: number) =>
    readDxf(drawing(entity('LWPOLYLINE', 'A', [10, 0], [20, 0], [42, bulge], [10, 2], [20, 0])), 'a.dxf')
      .features[0];
  const ys = (bulge: number) => {
    const feature = half(bulge);
    return feature?.kind === 'line' ? feature.coordinates.map(([, y]) => y) : [];
  };
  // going east, an anticlockwise arc passes below, a clockwise one above (DXF reference: bulge is negative if clockwise)
  expect(Math.min(...ys(1))).toBeCloseTo(-1, 2);
  expect(Math.max(...ys(-1))).toBeCloseTo(1, 2);
  // tan(22.5 degrees): a quarter circle over a chord of 2, its height is sqrt(2) - 1
  expect(Math.min(...ys(Math.tan(Math.PI / 8)))).toBeCloseTo(1 - Math.SQRT2, 2);
});

test('circle, arc, point, old polyline, mirrored entity', () => {
  const { features } = readDxf(
    drawing([
      ...entity('CIRCLE', 'TREE', [10, 5], [20, 6], [40, 2]),
      ...entity('POINT', 'PROBE', [10, 1], [20, 2], [30, 99]),
      ...entity('POLYLINE', 'LOT', [66, 1], [70, 1]),
      ...entity('VERTEX', 'LOT', [10, 0], [20, 0]),
      ...entity('VERTEX', 'LOT', [10, 9], [20, 0]),
      ...entity('VERTEX', 'LOT', [10, 9], [20, 9]),
      ...entity('SEQEND', 'LOT'),
      ...entity('ARC', 'DITCH', [10, 0], [20, 0], [40, 1], [50, 270], [51, 90]),
      ...entity('LWPOLYLINE', 'M', [10, -1], [20, 2], [10, -3], [20, 4], [230, -1]),
    ]),
    'a.dxf',
  );
  const on = (layer: string) => features.find((feature) => feature.layer === layer);
  const circle = on('TREE');
  const ring = circle?.kind === 'polygon' ? (circle.coordinates[0] ?? []) : [];
  for (const [x, y] of ring) expect(Math.hypot(x - 5, y - 6)).toBeCloseTo(2, 9);
  expect(ringArea(ring)).toBeGreaterThan(0.997 * 4 * Math.PI);
  expect(on('PROBE')).toMatchObject({ kind: 'point', coordinates: [1, 2] });
  expect(on('LOT')).toMatchObject({
    kind: 'polygon',
    coordinates: [
      [
        [0, 0],
        [9, 0],
        [9, 9],
      ],
    ],
  });
  const arc = on('DITCH');
  const points = arc?.kind === 'line' ? arc.coordinates : [];
  expect(points[0]?.[1]).toBeCloseTo(-1, 9);
  expect(points.at(-1)?.[1]).toBeCloseTo(1, 9);
  expect(points.every(([x]) => x > -1e-9)).toBe(true);
  expect(on('M')).toMatchObject({
    coordinates: [
      [1, 2],
      [3, 4],
    ],
  });
});

test('a lot drawn as single lines, in any order and direction, is one outline', () => {
  const text = drawing([
    ...line('LOT', 0, 0, 30, 0),
    ...line('LOT', 30, 20, 30, 0),
    ...line('LOT', 0, 20, 0, 0),
    ...line('LOT', 0, 20, 30, 20.00001),
    ...line('FENCE', 0, 0, 0, 99),
  ]);
  const outline = chooseOutline(readDxf(text, 'a.dxf'), 'lot');
  expect(outline.ring).toHaveLength(4);
  expect(Math.abs(ringArea(outline.ring))).toBeCloseTo(600, 2);
});

test('where three lines meet none is joined', () => {
  const joined = joinLines([
    [
      [0, 0],
      [1, 0],
    ],
    [
      [1, 0],
      [2, 0],
    ],
    [
      [1, 0],
      [1, 1],
    ],
    [
      [2, 0],
      [3, 0],
    ],
  ]);
  expect(joined.map(({ members }) => members)).toEqual([[0], [1, 3], [2]]);
});

describe('what is not read is said', () => {
  test('other entities are counted; drawings on a sheet are left out', () => {
    const { features, notes } = readDxf(
      drawing([
        ...entity('POINT', 'A', [10, 1], [20, 2]),
        ...entity('POINT', 'A', [67, 1], [10, 1], [20, 2]),
        ...entity('SPLINE', 'A'),
        ...entity('INSERT', 'A'),
        ...entity('INSERT', 'A'),
        ...entity('TEXT', 'A', [1, 'x']),
      ]),
      'a.dxf',
    );
    expect(features).toHaveLength(1);
    expect(notes.join(' ')).toContain('Passed over in a.dxf: 1 SPLINE, 2 INSERT.');
  });

  test('a number that is none names the row; a file that is none too', () => {
    expect(() => readDxf(drawing(entity('POINT', 'A', [10, 'x'], [20, 2])), 'a.dxf')).toThrow(
      /POINT in row 5 of a\.dxf: group 10 is "x"/,
    );
    expect(() => readDxf('0\nSECTION\nhello\n', 'a.dxf')).toThrow(/Row 3 of a\.dxf should be a group code/);
  });
});

describe('units', () => {
  const text = drawing(entity('POINT', 'A', [10, 100], [20, 200]), 2);
  const bytes = new TextEncoder().encode(text);
  const metres = { kind: 'local', unit: 'm', label: '' } as const;

  test('a drawing in feet in a project of metres: told, and converted when a person says so', () => {
    const taken = readGeometry(bytes, 'a.dxf', metres);
    expect(taken.features[0]).toMatchObject({ coordinates: [100, 200] });
    expect(taken.notes.join(' ')).toMatch(/drawn in feet; its numbers are taken as they stand/);
    const scaled = readGeometry(bytes, 'a.dxf', metres, { unit: 'ft' });
    expect(scaled.features[0]?.coordinates[0]).toBeCloseTo(30.48, 12);
    const feet = readGeometry(bytes, 'a.dxf', { kind: 'local', unit: 'ft', label: '' });
    expect(feet.notes.join(' ')).not.toContain('feet');
  });
});
