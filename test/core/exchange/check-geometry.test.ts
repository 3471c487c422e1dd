import { describe, expect, test } from 'vitest';
import { checkGround, type GroundContext } from '../../../core/exchange/check-geometry.ts';
import type { PositionNative } from '../../../core/geo/frame.ts';

const UTM = { kind: 'epsg', code: 32633 } as const;
const at = (dx: number, dy: number): PositionNative => [617060 + dx, 5450380 + dy];
const LOT = [at(0, 0), at(40, 0), at(40, 30), at(0, 30)];
const HOUSE = [at(10, 10), at(20, 10), at(20, 18), at(10, 18)];
const context = (more: Partial<GroundContext> = {}): GroundContext => ({
  file: 'plan.dxf',
  noun: 'footprint',
  projectCrs: UTM,
  lot: LOT,
  ...more,
});
const scale = (points: readonly PositionNative[], factor: number) =>
  points.map(([x, y]): PositionNative => [x * factor, y * factor]);

test('a house on its lot raises nothing', () => {
  expect(checkGround(HOUSE, context())).toEqual([]);
});

describe('wrong by a factor of 3.28', () => {
  test('far off as written, on the lot when read in feet or in metres', () => {
    expect(() => checkGround(scale(HOUSE, 1 / 0.3048), context())).toThrow(
      /footprint in plan\.dxf .* lot sizes off the lot .*: they fit when read in feet, while the project counts metres\./,
    );
    expect(() => checkGround(scale(HOUSE, 0.3048), context())).toThrow(
      /read in metres, while the project counts feet/,
    );
    expect(() => checkGround(scale(HOUSE, 1000), context())).toThrow(/read in millimetres/);
  });

  test('near the origin of a local grid the size shows it', () => {
    const local = context({
      projectCrs: { kind: 'local', unit: 'm', label: '' },
      lot: scale(LOT, 0).map(
        (_, i) =>
          [
            [0, 0],
            [40, 0],
            [40, 30],
            [0, 30],
          ][i] as unknown as PositionNative,
      ),
    });
    const house: PositionNative[] = [
      [0, 0],
      [12, 0],
      [12, 9],
      [0, 9],
    ];
    expect(checkGround(house, local)).toEqual([]);
    expect(() => checkGround(scale(house, 3.28084), local)).not.toThrow();
    const large: PositionNative[] = [
      [0, 0],
      [20, 0],
      [20, 16],
      [0, 16],
    ];
    expect(() => checkGround(scale(large, 3.28084), local)).toThrow(
      /2\.9 times the area of the lot.*10\.8 times/,
    );
    const again = { ...local, noun: 'lot' as const };
    expect(checkGround(scale(local.lot ?? [], 3.2808), again).join(' ')).toMatch(
      /3\.28 times as long.*feet taken for metres/,
    );
    expect(checkGround(scale(local.lot ?? [], 1.01), again)).toEqual([]);
  });
});

test('exchanged axes, another place, degrees', () => {
  expect(() =>
    checkGround(
      HOUSE.map(([x, y]): PositionNative => [y, x]),
      context(),
    ),
  ).toThrow(/when x and y are exchanged/);
  expect(() =>
    checkGround(
      HOUSE.map(([x, y]): PositionNative => [x + 50_000, y]),
      context(),
    ),
  ).toThrow(/another system, or another lot\?/);
  expect(() =>
    checkGround(
      [
        [16.6, 49.19],
        [16.601, 49.19],
        [16.601, 49.191],
      ],
      context(),
    ),
  ).toThrow(
    /look like degrees or a local grid, while WGS 84 \/ UTM zone 33N \(EPSG:32633\) is in m\..*say that the file is in EPSG:4326/,
  );
  expect(() => checkGround([at(0, Number.NaN)], context())).toThrow(/not a pair of numbers/);
});

test('without a lot only the area of the system can tell', () => {
  const first = context({ noun: 'lot', lot: null });
  expect(checkGround(LOT, first)).toEqual([]);
  expect(
    checkGround(
      LOT.map(([x, y]): PositionNative => [y, x]),
      first,
    ).join(' '),
  ).toMatch(/outside the area/);
});

test('a lot elsewhere may replace the one in the project, and is told', () => {
  const elsewhere = LOT.map(([x, y]): PositionNative => [x + 50_000, y]);
  expect(checkGround(elsewhere, context({ noun: 'lot' })).join(' ')).toMatch(/lot sizes off the lot/);
});

test('probes outside the lot are counted', () => {
  expect(checkGround([...HOUSE, at(60, 60)], context({ noun: 'probe' }))).toEqual([
    "1 of 5 points of the probe in plan.dxf lie outside the lot's extent.",
  ]);
});
