import fc from 'fast-check';
import { MercatorCoordinate } from 'maplibre-gl';
import { describe, expect, test } from 'vitest';
import type { PositionM } from '../../core/contract/model.ts';
import {
  DISPLAY_LIMIT_M,
  DISPLAY_SHIFT_M,
  fromDisplay,
  pixelsPerMetre,
  toDisplay,
  WORLD_PER_M,
  zoomForScale,
} from '../../renderer/map/display-frame.ts';

/** The map library's own projection is the yardstick: what it makes of our pseudo-degrees must be our metres. */
function mercatorM(position: PositionM): [number, number] {
  const [lng, lat] = toDisplay(position);
  const at = MercatorCoordinate.fromLngLat([lng, lat]);
  return [(at.x - 0.5) / WORLD_PER_M - DISPLAY_SHIFT_M[0], (0.5 - at.y) / WORLD_PER_M - DISPLAY_SHIFT_M[1]];
}

const lotPosition = fc.tuple(
  fc.double({ min: -5000, max: 5000, noNaN: true }),
  fc.double({ min: -5000, max: 5000, noNaN: true }),
);

describe('display frame', () => {
  test('comes back to the metre it left, to a thousandth of a millimetre', () => {
    fc.assert(
      fc.property(lotPosition, (position) => {
        const [x, y] = fromDisplay(toDisplay(position));
        expect(Math.abs(x - position[0])).toBeLessThan(1e-6);
        expect(Math.abs(y - position[1])).toBeLessThan(1e-6);
      }),
    );
  });

  test('is the identity, scaled, in the map library’s own Mercator: distances and right angles hold', () => {
    fc.assert(
      fc.property(lotPosition, (position) => {
        const [x, y] = mercatorM(position);
        expect(Math.abs(x - position[0])).toBeLessThan(1e-6);
        expect(Math.abs(y - position[1])).toBeLessThan(1e-6);
      }),
    );
  });

  test('a square stays a square as far as 40 km from the origin', () => {
    const [cx, cy] = [40_000, -40_000];
    const corner = mercatorM([cx, cy]);
    const east = mercatorM([cx + 100, cy]);
    const north = mercatorM([cx, cy + 100]);
    expect(Math.hypot(east[0] - corner[0], east[1] - corner[1])).toBeCloseTo(100, 4);
    expect(Math.hypot(north[0] - corner[0], north[1] - corner[1])).toBeCloseTo(100, 4);
    const dot =
      (east[0] - corner[0]) * (north[0] - corner[0]) + (east[1] - corner[1]) * (north[1] - corner[1]);
    expect(Math.abs(dot)).toBeLessThan(1e-2);
  });

  test('a position off the drawable world is put at its edge, not at infinity', () => {
    const [lng, lat] = toDisplay([5_540_200, -5_540_200]);
    expect(Number.isFinite(lng) && Number.isFinite(lat)).toBe(true);
    expect(fromDisplay([lng, lat])[0]).toBeCloseTo(DISPLAY_LIMIT_M, 3);
    expect(Math.abs(lat)).toBeLessThan(85.06);
  });

  test('lines through the origin keep off the edges of tiles, at every zoom of a lot', () => {
    const [lng, lat] = toDisplay([0, 0]);
    const at = MercatorCoordinate.fromLngLat([lng, lat]);
    for (let zoom = 4; zoom <= 20; zoom++)
      for (const share of [at.x, at.y]) {
        const inTile = (share * 2 ** zoom) % 1;
        expect(Math.min(inTile, 1 - inTile)).toBeGreaterThan(0.3);
      }
  });

  test('lots of 10 m to 1000 m fill a window at zooms 6 to 15', () => {
    expect(zoomForScale(800 / 10)).toBeLessThan(15);
    expect(zoomForScale(800 / 1000)).toBeGreaterThan(6);
    expect(pixelsPerMetre(zoomForScale(12.5))).toBeCloseTo(12.5, 9);
  });
});
