import { describe, expect, test } from 'vitest';
import { mockView } from '../../renderer/dev/mock-project.ts';
import { measureDrawing, withCorner } from '../../renderer/map/draw.ts';
import { roundLevels, valueAt } from '../../renderer/map/field.ts';
import {
  type Camera,
  mapGrid,
  roundDown125,
  roundUp125,
  scaleBar,
  toScreen,
} from '../../renderer/map/furniture.ts';
import { toNative, toProject } from '../../renderer/map/project-frame.ts';

const camera: Camera = { centreM: [20, 15], pxPerM: 12, widthPx: 700, heightPx: 500 };
const { frame } = mockView('/x.gasplat');

describe('map furniture', () => {
  test('round lengths are 1, 2 or 5 times a power of ten', () => {
    expect([roundDown125(9.9), roundDown125(49), roundDown125(0.21), roundDown125(1000)]).toEqual([
      5, 20, 0.2, 1000,
    ]);
    expect([roundUp125(4.6), roundUp125(5.1), roundUp125(0.11), roundUp125(100)]).toEqual([5, 10, 0.2, 100]);
  });

  test('the scale bar is as long on the screen as it says', () => {
    const bar = scaleBar(camera, false);
    expect(bar.label).toBe('10 m');
    expect(bar.lengthPx).toBe(120);
    const feet = scaleBar(camera, true);
    // 1 international foot = 0.3048 m exactly (agreement of 1959).
    expect(feet.label).toBe('20 ft');
    expect(feet.lengthPx).toBeCloseTo(20 * 0.3048 * 12, 9);
  });

  test('grid ticks stand at round native coordinates and at their own place', () => {
    const grid = mapGrid(camera, frame);
    expect(grid.x.length).toBeGreaterThan(3);
    for (const tick of grid.x) {
      const [x] = toScreen(camera, toProject(frame, [Number(tick.label), 0]));
      expect(tick.px).toBeCloseTo(x, 6);
      expect(Number(tick.label) % 10).toBe(0);
    }
    const gaps = grid.x.slice(1).map((tick, i) => tick.px - (grid.x[i]?.px ?? 0));
    expect(Math.min(...gaps)).toBeGreaterThanOrEqual(90);
  });

  test('a grid in US survey feet keeps its own units', () => {
    const feet = { ...frame, metresPerUnit: 1200 / 3937, originNative: [750_000, 2_950_000] as const };
    const [x, y] = toNative(feet, toProject(feet, [750_123.45, 2_950_067.89]));
    expect(x).toBeCloseTo(750_123.45, 6);
    expect(y).toBeCloseTo(2_950_067.89, 6);
    expect(mapGrid(camera, feet).x[0]?.label).toMatch(/^\d{6}$/);
  });

  test('drawing measures the next side and the area as the pointer moves', () => {
    const square = {
      target: 'lot' as const,
      shape: 'polygon' as const,
      points: [[0, 0] as const, [10, 0] as const],
    };
    const measures = measureDrawing(square, [10, 10]);
    expect(measures.lastSideM).toBe(10);
    expect(measures.areaM2).toBe(50);
    expect(withCorner(square, [10.001, 0.002]).points).toHaveLength(2);
    expect(withCorner(square, [10.237_8, 5]).points.at(-1)).toEqual([10.24, 5]);
  });

  test('a line has a length and no area; a ring is measured all round', () => {
    const points = [
      [0, 0],
      [3, 0],
      [3, 4],
    ] as const;
    const line = measureDrawing({ target: 'keep-out', shape: 'line', points }, null);
    expect(line.perimeterM).toBe(7);
    expect(line.areaM2).toBe(0);
    const ring = measureDrawing({ target: 'lot', shape: 'polygon', points }, null);
    expect(ring.perimeterM).toBe(12);
    expect(ring.areaM2).toBe(6);
  });

  test('a field is read by the cell a place falls in, and is nothing outside', () => {
    const grid = { x0M: 0, y0M: 0, cellM: 2, columns: 3, rows: 2 };
    const values = Float64Array.of(1, 2, 3, 4, 5, 6);
    expect(valueAt(grid, values, [3.9, 1.2])).toBe(6);
    expect(valueAt(grid, values, [-0.9, 0])).toBe(1);
    expect(valueAt(grid, values, [-1.1, 0])).toBeNaN();
  });

  test('levels of a field are round and inside its range', () => {
    expect(roundLevels(Float64Array.of(2.1, Number.NaN, 13.4))).toEqual([4, 6, 8, 10, 12]);
    // 1 kBq/m3 is 1/0.037 pCi/L: the steps are round in what is shown.
    expect(roundLevels(Float64Array.of(2.1, 13.4), 1 / 0.037).map((level) => level / 0.037)).toEqual(
      [100, 200, 300].map((level) => expect.closeTo(level, 9)),
    );
    expect(roundLevels(Float64Array.of(5, 5))).toEqual([]);
    expect(roundLevels(Float64Array.of(Number.NaN))).toEqual([]);
  });
});
