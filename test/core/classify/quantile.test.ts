import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { QUANTILE_RULES, quantile } from '../../../core/classify/quantile.ts';

// Check value 43 of the trade facts (follows from the formulas of the three rules).
const DATA_43 = [4, 8, 12, 15, 18, 21, 22, 25, 27, 31, 34, 38, 42, 55, 90];
// Check value 44: the class hangs on the rule.
const DATA_44 = [10, 20, 25, 30, 35, 40, 45, 50, 55, 60, 64, 72, 80, 95, 120];

test.each([
  ['linear-n-1', 36, 68],
  ['n+1', 38, 72],
  ['midpoint', 37, 70],
] as const)('third quartile by the %s rule: %d and %d', (rule, first, second) => {
  expect(quantile(DATA_43, 0.75, rule)).toBe(first);
  expect(quantile(DATA_44, 0.75, rule)).toBe(second);
});

// Worked by hand from the definitions of types 7, 6 and 5 in Hyndman and Fan 1996 for 1, 2, 3, 4 and p = 0.4:
// ranks 1 + 0.4 * 3 = 2.2; 0.4 * 5 = 2; 0.4 * 4 + 0.5 = 2.1.
test.each([
  ['linear-n-1', 2.2],
  ['n+1', 2],
  ['midpoint', 2.1],
] as const)('four values by the %s rule', (rule, expected) => {
  expect(quantile([4, 2, 3, 1], 0.4, rule)).toBeCloseTo(expected, 12);
});

describe('whatever the values', () => {
  const list = fc.array(fc.double({ min: 0, max: 500, noNaN: true }), { minLength: 1, maxLength: 40 });
  test('between the extremes, blind to order, and it scales with the unit', () => {
    fc.assert(
      fc.property(list, fc.double({ min: 0.01, max: 0.99, noNaN: true }), (data, p) => {
        for (const rule of QUANTILE_RULES) {
          const q = quantile(data, p, rule);
          expect(q).toBeGreaterThanOrEqual(Math.min(...data));
          expect(q).toBeLessThanOrEqual(Math.max(...data));
          expect(quantile([...data].reverse(), p, rule)).toBe(q);
          expect(
            quantile(
              data.map((v) => 4 * v),
              p,
              rule,
            ),
          ).toBeCloseTo(4 * q, 9);
        }
      }),
    );
  });
});

test('a value known only to be above all others may be infinite', () => {
  expect(quantile([1, 2, 3, Number.POSITIVE_INFINITY], 0.5, 'linear-n-1')).toBe(2.5);
  expect(quantile([1, 2, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY], 0.75, 'linear-n-1')).toBe(
    Infinity,
  );
  expect(quantile([1, 2, 3, Number.POSITIVE_INFINITY], 2 / 3, 'linear-n-1')).toBe(3);
  expect(quantile([], 0.5, 'n+1')).toBeNaN();
});
