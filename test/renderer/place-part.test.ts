import { expect, test } from 'vitest';
import type { SheetLayoutView, SheetPartView } from '../../core/contract/sheet.ts';
import { MOVE, pullPart } from '../../renderer/panels/place-part.ts';

const PART: SheetPartView = {
  id: 'legend',
  name: 'Legend',
  page: 1,
  xMm: 30,
  yMm: 100,
  widthMm: 60,
  heightMm: 40,
  leastWidthMm: 42,
  leastHeightMm: 5,
  canHide: true,
  isFirstPageOnly: false,
  hidden: false,
  moved: false,
};
const LAYOUT: SheetLayoutView = {
  template: 'map',
  page: 'A4',
  orientation: 'portrait',
  widthMm: 210,
  heightMm: 297,
  marginMm: 11,
  edgeMm: 5,
  parts: [PART, { ...PART, id: 'notes', xMm: 120, yMm: 150, widthMm: 50, heightMm: 30 }],
  remarks: [],
  closing: {},
};
const EAST = { left: false, right: true, top: false, bottom: false };
const NORTH_WEST = { left: true, right: false, top: true, bottom: false };

test.each([
  ['free, it goes as far as it is pulled', MOVE, [7.3, -4], false, { xMm: 37.3, yMm: 96 }],
  ['its left edge falls on the margin', MOVE, [-18, 0], true, { xMm: 11, yMm: 100 }],
  ['its right edge falls on another part', MOVE, [29, 0], true, { xMm: 60, yMm: 100 }],
  ['its lower edge falls on another part', MOVE, [3, 11], true, { xMm: 33, yMm: 110 }],
  ['it stays on the paper', MOVE, [500, 500], false, { xMm: 145, yMm: 252 }],
  ['one side resizes', EAST, [12, 50], false, { xMm: 30, widthMm: 72, yMm: 100, heightMm: 40 }],
  ['no smaller than it may be', EAST, [-100, 0], false, { xMm: 30, widthMm: 42 }],
  [
    'a corner keeps the other one',
    NORTH_WEST,
    [-10, -20],
    false,
    { xMm: 20, widthMm: 70, yMm: 80, heightMm: 60 },
  ],
] as const)('%s', (_name, grip, by, snapping, expected) => {
  expect(pullPart(LAYOUT, PART, grip, by, snapping)).toMatchObject({ page: 1, ...expected });
});
