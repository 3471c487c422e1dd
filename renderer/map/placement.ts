/** The footprint moved on the map, and what the surface says under it. Pure; for the eye while a person drags. */
import type { KeepOut, Pose, PositionM, RingM } from '../../core/contract/model.ts';
import type { SurfaceResult } from '../../core/contract/results.ts';
import { boundsOf, distanceM, ringContains } from './geometry.ts';
import { keepOutStrip } from './keep-out-strip.ts';

/** Centre of the ring's area. */
export function ringCentre(ring: RingM): PositionM {
  const [x0, y0] = ring[0] ?? [0, 0];
  let [twice, sumX, sumY] = [0, 0, 0];
  for (let i = 1; i + 1 < ring.length; i++) {
    const [ax, ay] = ring[i] as PositionM;
    const [bx, by] = ring[i + 1] as PositionM;
    const area = (ax - x0) * (by - y0) - (bx - x0) * (ay - y0);
    twice += area;
    sumX += area * (ax + bx - 2 * x0);
    sumY += area * (ay + by - 2 * y0);
  }
  return twice === 0 ? [x0, y0] : [x0 + sumX / (3 * twice), y0 + sumY / (3 * twice)];
}

/** Mirrored, then turned about its centre, anticlockwise, then moved. */
export function placedRing(ring: RingM, { dxM, dyM, turnDeg, mirrored }: Pose): RingM {
  if (dxM === 0 && dyM === 0 && turnDeg === 0 && !mirrored) return ring;
  const [cx, cy] = ringCentre(ring);
  const [cos, sin] = [Math.cos((turnDeg * Math.PI) / 180), Math.sin((turnDeg * Math.PI) / 180)];
  return ring.map(([x, y]): PositionM => {
    const [u, v] = [mirrored ? cx - x : x - cx, y - cy];
    return [cx + dxM + u * cos - v * sin, cy + dyM + u * sin + v * cos];
  });
}

const SAME_PLACE_M = 0.005;
const SAME_TURN_DEG = 0.05;

/** Nearer than can be staked out. */
export function isSamePose(a: Pose, b: Pose): boolean {
  const turn = Math.abs(((((a.turnDeg - b.turnDeg) % 360) + 540) % 360) - 180);
  return (
    a.mirrored === b.mirrored &&
    Math.hypot(a.dxM - b.dxM, a.dyM - b.dyM) < SAME_PLACE_M &&
    turn < SAME_TURN_DEG
  );
}

export interface TurnHandle {
  readonly centreM: PositionM;
  readonly atM: PositionM;
}

const HANDLE_BEYOND_M = 2;

/** Straight up from the centre of the footprint as drawn, beyond its farthest corner; turns with it. */
export function turnHandle(drawnRing: RingM, pose: Pose): TurnHandle {
  const [cx, cy] = ringCentre(drawnRing);
  const reachM = Math.max(...drawnRing.map((corner) => distanceM(corner, [cx, cy]))) + HANDLE_BEYOND_M;
  const centreM: PositionM = [cx + pose.dxM, cy + pose.dyM];
  const up = ((pose.turnDeg + 90) * Math.PI) / 180;
  return { centreM, atM: [centreM[0] + reachM * Math.cos(up), centreM[1] + reachM * Math.sin(up)] };
}

/** The turn that brings the handle toward a place, to whole degrees, -180 to 180. */
export function turnToward(centreM: PositionM, [x, y]: PositionM): number {
  const turn = Math.round((Math.atan2(y - centreM[1], x - centreM[0]) * 180) / Math.PI) - 90;
  return turn <= -180 ? turn + 360 : turn;
}

export interface UnderRing {
  readonly cells: number;
  readonly meanKBqPerM3: number;
  readonly upperQuartileKBqPerM3: number;
  readonly highestKBqPerM3: number;
  /** Mean of the cells' probabilities: the part of the ground expected above the limit; null without an error. */
  readonly shareAbove: number | null;
  /** Part of the footprint's cells for which there is no estimate. */
  readonly offSurface: number;
}

/** Statistics over the cells whose middle lies in the ring. @returns null where none does */
export function underRing(surface: SurfaceResult, ring: RingM): UnderRing | null {
  const { grid, estimateKBqPerM3, exceedance } = surface;
  const bounds = boundsOf(ring);
  if (!bounds) return null;
  const values: number[] = [];
  let [cells, chance, chances] = [0, 0, 0];
  const columnOf = (x: number) => Math.round((x - grid.x0M) / grid.cellM);
  const rowOf = (y: number) => Math.round((y - grid.y0M) / grid.cellM);
  for (let row = rowOf(bounds.minY); row <= rowOf(bounds.maxY); row++) {
    for (let column = columnOf(bounds.minX); column <= columnOf(bounds.maxX); column++) {
      const at: PositionM = [grid.x0M + column * grid.cellM, grid.y0M + row * grid.cellM];
      if (!ringContains(ring, at)) continue;
      cells++;
      if (row < 0 || column < 0 || row >= grid.rows || column >= grid.columns) continue;
      const value = estimateKBqPerM3[row * grid.columns + column] ?? Number.NaN;
      if (!Number.isFinite(value)) continue;
      values.push(value);
      const probability = exceedance?.probability[row * grid.columns + column] ?? Number.NaN;
      if (Number.isFinite(probability)) {
        chance += probability;
        chances++;
      }
    }
  }
  if (values.length === 0) return null;
  values.sort((a, b) => a - b);
  const at = 0.75 * (values.length - 1);
  const [low = 0, high = low] = [values[Math.floor(at)], values[Math.ceil(at)]];
  return {
    cells,
    meanKBqPerM3: values.reduce((sum, value) => sum + value, 0) / values.length,
    upperQuartileKBqPerM3: low + (at - Math.floor(at)) * (high - low),
    highestKBqPerM3: values.at(-1) ?? low,
    shareAbove: chances > 0 ? chance / chances : null,
    offSurface: 1 - values.length / cells,
  };
}

/** Places along the outline, at its corners and at least every `stepM`. */
function alongRing(ring: RingM, stepM: number): PositionM[] {
  return ring.flatMap((a, i) => {
    const b = ring[(i + 1) % ring.length] as PositionM;
    const parts = Math.max(1, Math.ceil(distanceM(a, b) / stepM));
    return Array.from(
      { length: parts },
      (_, k): PositionM => [a[0] + ((b[0] - a[0]) * k) / parts, a[1] + ((b[1] - a[1]) * k) / parts],
    );
  });
}

const LOOK_EVERY_M = 0.5;

/** What the footprint runs into, in words; near enough for the eye. */
export function placementConflicts(ring: RingM, lot: RingM | null, keepOuts: readonly KeepOut[]): string[] {
  const outline = alongRing(ring, LOOK_EVERY_M);
  const conflicts: string[] = [];
  if (lot && outline.some((at) => !ringContains(lot, at))) conflicts.push('It reaches over the lot line.');
  for (const keepOut of keepOuts) {
    const ground =
      keepOut.bufferM > 0
        ? keepOutStrip(keepOut).map((polygon) => polygon[0] ?? [])
        : keepOut.shape === 'polygon'
          ? [keepOut.points]
          : [];
    const meets =
      keepOut.points.some((at) => ringContains(ring, at)) ||
      ground.some((area) => outline.some((at) => ringContains(area, at)));
    if (meets) conflicts.push(`It meets the keep-out ${keepOut.label}.`);
  }
  return conflicts;
}
