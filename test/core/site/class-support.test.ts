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
  expect(few.message).toMatch(/14 valid points.*asks for 15: no class for this place/);
});

test('points beside the house count, points farther off do not, and beside alone is not enough', () => {
  const beside = grid(15, 13).filter(([x]) => x <= 17);
  expect(classSupport(house, beside, czech).around).toBe(beside.length);
  expect(classSupport(house, grid(15, 40), czech)).toMatchObject({ inside: 0, around: 0, enough: false });
  const allBeside = Array.from({ length: 16 }, (_, k): PositionM => [k * 0.75, 10]);
  expect(classSupport(house, allBeside, czech)).toMatchObject({ enough: false, around: 16 });
});
