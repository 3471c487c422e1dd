import IsValidOp from 'jsts/org/locationtech/jts/operation/valid/IsValidOp.js';
import { expect, test } from 'vitest';
import { facesBetween } from '../../../core/contour/faces.ts';
import type { PositionM } from '../../../core/contract/model.ts';
import { polygonGeometry } from '../../../core/geo/jsts.ts';
import { pointInPolygon, polygonsArea } from '../../../core/geo/planar.ts';

const square = (x: number, y: number, side: number): PositionM[] => [
  [x, y],
  [x + side, y],
  [x + side, y + side],
  [x, y + side],
  [x, y],
];

function areasOf(lines: PositionM[][]): number[] {
  const faces = facesBetween(lines);
  for (const face of faces) {
    expect(IsValidOp.isValid(polygonGeometry(face.polygon))).toBe(true);
    expect(pointInPolygon(face.interior, face.polygon)).toBe(true);
  }
  return faces.map((face) => Math.round(polygonsArea([face.polygon]) * 1e6) / 1e6).sort((a, b) => a - b);
}

test('crossing squares make three faces', () => {
  expect(areasOf([square(0, 0, 4), square(2, 2, 4)])).toEqual([4, 12, 12]);
});

test('an island in a lake in an island', () => {
  expect(areasOf([square(0, 0, 10), square(2, 2, 6), square(3, 3, 2)])).toEqual([4, 32, 64]);
});

test('two islands in one lake, and one touching the shore at a corner', () => {
  expect(areasOf([square(0, 0, 10), square(1, 1, 2), square(6, 6, 2)])).toEqual([4, 4, 92]);
  const diamond: PositionM[] = [
    [0, 5],
    [2, 3],
    [4, 5],
    [2, 7],
    [0, 5],
  ];
  expect(areasOf([square(0, 0, 10), diamond])).toEqual([8, 92]);
  const acrossTheLake: PositionM[] = [
    [0, 5],
    [5, 3],
    [10, 5],
    [5, 7],
    [0, 5],
  ];
  expect(areasOf([square(0, 0, 10), acrossTheLake])).toEqual([20, 40, 40]);
});

test('islands that touch each other at a corner', () => {
  expect(areasOf([square(0, 0, 10), square(2, 2, 3), square(5, 5, 3)])).toEqual([9, 9, 82]);
});

test('an island with the outline of its own hole twice, and lines that lead nowhere', () => {
  expect(
    areasOf([
      square(0, 0, 10),
      square(3, 3, 2),
      square(3, 3, 2),
      [
        [1, 1],
        [2, 2],
        [2, 9],
      ],
    ]),
  ).toEqual([4, 96]);
  expect(
    areasOf([
      square(0, 0, 10),
      [
        [-5, 5],
        [4, 5],
        [4, 7],
      ],
    ]),
  ).toEqual([100]);
  expect(
    areasOf([
      [
        [0, 0],
        [5, 5],
      ],
    ]),
  ).toEqual([]);
  expect(areasOf([])).toEqual([]);
});
