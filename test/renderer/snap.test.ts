import { describe, expect, test } from 'vitest';
import type { PositionM } from '../../core/contract/model.ts';
import { mockView } from '../../renderer/dev/mock-project.ts';
import { withCorner } from '../../renderer/map/draw.ts';
import { type AimOptions, aimAt, type SnapTargets, snapTargets } from '../../renderer/map/snap.ts';

const { frame } = mockView('/x.gasplat');
const targets: SnapTargets = {
  corners: [
    [0, 0],
    [10, 0],
  ],
  probes: [[4, 3]],
  sides: [
    [
      [0, 0],
      [10, 0],
    ],
  ],
};
const options: AimOptions = {
  lastM: null,
  beforeM: null,
  reachM: 0.5,
  frame: { ...frame, originNative: [0, 0], metresPerUnit: 1 },
  gridStep: 5,
  snap: true,
  rightAngles: false,
};
const aim = (at: PositionM, more: Partial<AimOptions> = {}) => aimAt(at, targets, { ...options, ...more });

describe('snapping', () => {
  test.each([
    ['corner', [0.3, 0.2], [0, 0]],
    ['probe', [4.1, 3.2], [4, 3]],
    ['midpoint', [5.2, 0.3], [5, 0]],
    ['edge', [7, 0.3], [7, 0]],
    ['grid', [4.8, 5.1], [5, 5]],
  ] as const)('%s', (kind, at, wanted) => {
    expect(aim(at)).toEqual({ atM: wanted, kind });
  });

  test('beyond reach, or switched off, the pointer is free', () => {
    expect(aim([2.2, 2])).toEqual({ atM: [2.2, 2], kind: null });
    expect(aim([0.3, 0.2], { snap: false })).toEqual({ atM: [0.3, 0.2], kind: null });
  });

  test('the foot of the square from the last corner', () => {
    expect(aim([7.2, 0.2], { lastM: [7, 6] })).toEqual({ atM: [7, 0], kind: 'square' });
  });

  test('right angles go along the last side or across it, and level with what is snapped to', () => {
    const turned = { lastM: [6, 8], beforeM: [0, 0], rightAngles: true } as const;
    const { atM } = aim([9, 13], turned);
    // Along (0.6, 0.8): the nearer of the two directions.
    expect((atM[0] - 6) * 0.8 - (atM[1] - 8) * 0.6).toBeCloseTo(0, 12);
    const across = aim([2, 11.2], turned).atM;
    expect((across[0] - 6) * 0.6 + (across[1] - 8) * 0.8).toBeCloseTo(0, 12);
    // Straight up from (9, -6), level with the probe that the pointer is at.
    expect(aim([4.1, 3.1], { lastM: [3.9, -6], rightAngles: true })).toEqual({
      atM: [3.9, 3],
      kind: 'probe',
    });
  });

  test('what is held is kept to the last digit; what is pointed at, to the centimetre', () => {
    const drawing = { target: 'lot', shape: 'polygon', points: [] } as const;
    expect(withCorner(drawing, [1.23456, 2], true).points).toEqual([[1.23456, 2]]);
    expect(withCorner(drawing, [1.23456, 2]).points).toEqual([[1.23, 2]]);
  });

  test('targets are the lot, the footprint, keep-outs, probes and the drawing itself', () => {
    const view = mockView('/x.gasplat');
    const found = snapTargets(view, [
      [1, 1],
      [2, 2],
    ]);
    expect(found.probes).toHaveLength(view.probes.length);
    expect(found.sides.at(-1)).toEqual([
      [1, 1],
      [2, 2],
    ]);
    expect(found.corners).toEqual(expect.arrayContaining([...(view.lot ?? [])]));
  });
});
