import { describe, expect, test } from 'vitest';
import type { KeepOut, PositionM, RingM } from '../../../core/contract/model.ts';
import { AppError } from '../../../core/errors.ts';
import { distanceToSegment, pointInPolygons } from '../../../core/geo/planar.ts';
import { groundForBuilding, groundForProbes } from '../../../core/plan/allowed-ground.ts';

const rectangle = (x: number, y: number, w: number, h: number): RingM => [
  [x, y],
  [x + w, y],
  [x + w, y + h],
  [x, y + h],
];
const line = (label: string, bufferM: number): KeepOut => ({
  id: label,
  label,
  shape: 'line',
  points: [
    [-10, 20],
    [60, 20],
  ],
  bufferM,
});

describe('allowed ground', () => {
  test('a line across the lot leaves two pieces; the area is what the buffer leaves', () => {
    const ground = groundForProbes({ lot: rectangle(0, 0, 50, 40), keepOuts: [line('gas', 1.5)] });
    expect(ground.polygons).toHaveLength(2);
    expect(ground.areaM2).toBeCloseTo(50 * 37, 6);
    expect(ground.takenAway).toEqual([{ cause: "keep-out 'gas'", areaM2: expect.closeTo(150, 6) }]);
  });

  test('a structure takes its ground and its distance: a rounded rectangle', () => {
    const ground = groundForProbes({
      lot: rectangle(0, 0, 50, 40),
      keepOuts: [],
      structures: [{ label: 'shed', ring: rectangle(20, 15, 6, 4), distanceM: 2 }],
    });
    const exact = 6 * 4 + 2 * (6 + 4) * 2 + Math.PI * 4;
    expect(ground.lotAreaM2 - ground.areaM2).toBeLessThan(exact);
    expect(ground.lotAreaM2 - ground.areaM2).toBeGreaterThan(exact * 0.999);
    expect(ground.polygons[0]).toHaveLength(2);
    expect(pointInPolygons([23, 17], ground.polygons)).toBe(false);
  });

  test('the setback shrinks the lot for buildings only', () => {
    const input = { lot: rectangle(0, 0, 50, 40), keepOuts: [] };
    expect(groundForBuilding(input, 5).areaM2).toBeCloseTo(40 * 30, 9);
    expect(groundForProbes(input).areaM2).toBe(2000);
  });

  test('forty crossing services: the ground and what is taken make up the lot', () => {
    const services = Array.from({ length: 40 }, (_, k): KeepOut => {
      const t = (k * Math.PI) / 40;
      const [dx, dy] = [100 * Math.cos(t), 100 * Math.sin(t)];
      return {
        id: `${k}`,
        label: `s${k}`,
        shape: 'line',
        points: [
          [25 + k / 7 - dx, 20 - dy],
          [25 + k / 7 + dx, 20 + dy],
        ],
        bufferM: 0.3,
      };
    });
    const ground = groundForProbes({ lot: rectangle(0, 0, 50, 40), keepOuts: services });
    let free = 0;
    for (let x = 0.05; x < 50; x += 0.1)
      for (let y = 0.05; y < 40; y += 0.1)
        if (
          services.every(
            ({ points: [a, b] }) => distanceToSegment([x, y], a as PositionM, b as PositionM) > 0.3,
          )
        )
          free++;
    expect(ground.areaM2 / (free / 100)).toBeCloseTo(1, 2);
  });

  test('a keep-out beside the lot and a line without buffer are said', () => {
    const far: KeepOut = {
      id: 'a',
      label: 'tree',
      shape: 'polygon',
      points: rectangle(80, 80, 2, 2),
      bufferM: 1,
    };
    const { warnings, areaM2 } = groundForProbes({
      lot: rectangle(0, 0, 50, 40),
      keepOuts: [far, line('cable', 0)],
    });
    expect(areaM2).toBe(2000);
    expect(warnings.join(' ')).toMatch(/'tree' lies outside the lot/);
    expect(warnings.join(' ')).toMatch(/'cable' is a line without a buffer/);
  });

  test.each([
    [
      'a bow tie',
      {
        lot: [
          [0, 0],
          [10, 10],
          [10, 0],
          [0, 10],
        ] as RingM,
        keepOuts: [],
      },
      0,
      /crosses itself/,
    ],
    [
      'setback too wide',
      { lot: rectangle(0, 0, 50, 40), keepOuts: [] },
      20,
      /setback of 20 m leaves nothing.*50\.0 m by 40\.0 m/,
    ],
    [
      'all taken',
      { lot: rectangle(0, 0, 50, 40), keepOuts: [line('pond', 80)] },
      0,
      /Nothing of the lot.*'pond'/,
    ],
    ['negative setback', { lot: rectangle(0, 0, 50, 40), keepOuts: [] }, -1, /setback is -1/],
    [
      'buffer no number',
      { lot: rectangle(0, 0, 50, 40), keepOuts: [line('gas', Number.NaN)] },
      0,
      /'gas' is NaN/,
    ],
    [
      'structure crossing itself',
      {
        lot: rectangle(0, 0, 50, 40),
        keepOuts: [],
        structures: [
          {
            label: 'shed',
            ring: [
              [0, 0],
              [10, 10],
              [10, 0],
              [0, 10],
            ] as RingM,
            distanceM: 1,
          },
        ],
      },
      0,
      /structure 'shed' crosses itself/,
    ],
  ])('%s is refused with its reason', (_, input, setback, message) => {
    expect(() => groundForBuilding(input, setback)).toThrow(AppError);
    expect(() => groundForBuilding(input, setback)).toThrow(message);
  });
});
