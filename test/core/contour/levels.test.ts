import fc from 'fast-check';
import { expect, test } from 'vitest';
import { chooseLevels } from '../../../core/contour/levels.ts';

test('round numbers with the class limits in', () => {
  expect(chooseLevels(12, 57, [30, 100], 10)).toEqual([10, 15, 20, 25, 30, 35, 40, 45, 50, 55]);
  expect(chooseLevels(3, 95, [10, 30], 6)).toContain(30);
  expect(chooseLevels(0.4, 2.1, [], 5)).toEqual([0, 0.5, 1, 1.5, 2]);
});

test('a limit that is no round level pushes its neighbour out', () => {
  const levels = chooseLevels(10, 60, [29], 12);
  expect(levels).toContain(29);
  expect(levels).not.toContain(30);
});

test('nothing to contour', () => {
  expect(chooseLevels(Number.NaN, 3, [], 5)).toEqual([]);
  expect(chooseLevels(20, 20, [10], 5)).toEqual([20, 22]);
  expect(chooseLevels(20, 20 + 1e-12, [10], 5)).toEqual([20, 22]);
});

test('always rising, floor not above the least value, not more than asked, all limits between', () => {
  const value = fc.double({ min: -50, max: 5000, noNaN: true });
  fc.assert(
    fc.property(
      value,
      fc.double({ min: 1e-3, max: 1e4, noNaN: true }),
      fc.array(value, { maxLength: 3 }),
      fc.integer({ min: 5, max: 15 }),
      (min, span, limits, count) => {
        const max = min + span;
        const levels = chooseLevels(min, max, limits, count);
        expect(levels.length).toBeGreaterThan(0);
        expect(levels.length).toBeLessThanOrEqual(count);
        expect(levels[0]).toBeLessThanOrEqual(min + 1e-9 * Math.abs(max));
        levels.forEach((level, i) => {
          if (i > 0) expect(level).toBeGreaterThan(levels[i - 1] as number);
        });
        for (const limit of limits) if (limit > min && limit < max) expect(levels).toContain(limit);
      },
    ),
  );
});
