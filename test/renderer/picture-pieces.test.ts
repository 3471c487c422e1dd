import { expect, test } from 'vitest';
import { cutPicture } from '../../renderer/map/picture-pieces.ts';

test('pieces are small, cover every pixel once, and meet at their corners on the ground', () => {
  // A picture turned and stretched: 0.02 m a column, 0.03 m a row.
  const at = (column: number, row: number) =>
    [100 + 0.016 * column - 0.018 * row, 50 - 0.012 * column - 0.024 * row] as const;
  const [w, h] = [3072, 2050];
  const pieces = cutPicture(w, h, [at(0, 0), at(w, 0), at(w, h), at(0, h)]);
  expect(pieces).toHaveLength(9);
  expect(pieces.reduce((sum, p) => sum + p.widthPx * p.heightPx, 0)).toBe(w * h);
  for (const { left, top, widthPx, heightPx, cornersM } of pieces) {
    expect(Math.max(widthPx, heightPx)).toBeLessThanOrEqual(1024);
    const wanted = [
      at(left, top),
      at(left + widthPx, top),
      at(left + widthPx, top + heightPx),
      at(left, top + heightPx),
    ];
    cornersM.forEach((corner, i) => {
      expect(corner[0]).toBeCloseTo(wanted[i]?.[0] as number, 9);
      expect(corner[1]).toBeCloseTo(wanted[i]?.[1] as number, 9);
    });
  }
  expect(new Set(pieces.map((p) => `${p.left} ${p.top}`)).size).toBe(9);
  expect(cutPicture(300, 200, [at(0, 0), at(300, 0), at(300, 200), at(0, 200)])).toHaveLength(1);
});
