import { expect, test } from 'vitest';
import { schemeById } from '../../../core/classify/scheme.ts';
import type { PositionM, RingM } from '../../../core/contract/model.ts';
import { classSupport } from '../../../core/site/class-support.ts';

const czech = schemeById('czech-building-site-index');
const house: RingM = [
  [0, 0],
  [12, 0],
  [12, 8],
  [0, 8],
];
const grid = (count: number, x0: number): PositionM[] =>
  Array.from({ length: count }, (_, k) => [x0 + 3 * (k % 5), 1 + 3 * Math.floor(k / 5)]);

// 15 valid points in the footprint and its nearest surroundings: Czech scheme, check value 36 of the trade facts
test('fifteen at the house are enough, fourteen are not', () => {
  expect(classSupport(house, grid(15, 0), czech)).toMatchObject({
    enough: true,
    inside: 15,
    around: 0,
    needed: 15,
  });
  const few = classSupport(house, grid(14, 0), czech);
  expect(few.enough).toBe(false);
  expect(few.message).toMatch(/14 valid points.*asks for 15\. No class for this place/);
  expect(few.missing).toEqual(['1 more valid point in the footprint or within 5 m of it']);
});

test('points beside the house count, points farther off do not, and beside alone is not enough', () => {
  const beside = grid(15, 13).filter(([x]) => x <= 17);
  expect(classSupport(house, beside, czech).around).toBe(beside.length);
  expect(classSupport(house, grid(15, 40), czech)).toMatchObject({ inside: 0, around: 0, enough: false });
  const allBeside = Array.from({ length: 16 }, (_, k): PositionM => [k * 0.75, 10]);
  expect(classSupport(house, allBeside, czech)).toMatchObject({ enough: false, around: 16 });
});

// Over 800 m2 of contact area a 10 m x 10 m grid is asked for (decree 422/2016 Sb., annex 26, as two firms describe it).
test('under a large building the points have to lie on a grid of 10 m, not in one corner', () => {
  const hall: RingM = [
    [0, 0],
    [50, 0],
    [50, 20],
    [0, 20],
  ];
  const even = Array.from(
    { length: 10 },
    (_, k): PositionM => [5 + 10 * (k % 5), 5 + 10 * Math.floor(k / 5)],
  );
  const beside = Array.from({ length: 5 }, (_, k): PositionM => [5 + 10 * k, 22]);
  expect(classSupport(hall, [...even, ...beside], czech)).toMatchObject({
    enough: true,
    inside: 10,
    around: 5,
  });
  const corner = classSupport(hall, grid(15, 0), czech);
  expect(corner).toMatchObject({ enough: false, inside: 15 });
  expect(corner.missing).toHaveLength(1);
  expect(corner.missing[0]).toMatch(/10 m grid.*1000 m².*over 800 m²/);
});
