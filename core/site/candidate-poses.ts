/** The turns, rows and shifts at which a footprint is tried, and whether it fits anywhere at all. */
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { type JobContext, throwIfStopped } from '../jobs/job.ts';
import { prepareContainment } from './containment.ts';
import { prepareShifts, type ShiftRow } from './feasible-shifts.ts';
import { AS_DRAWN, type Pose, placeRing, ringCentroid } from './placement.ts';

export interface TurnChoice {
  readonly mayTurn: boolean;
  readonly mayMirror: boolean;
}

export const TURN_STEP_DEG = 15;
const FINE_TURN_STEP_DEG = 5;
const FINE_ROW_M = 0.1;
const SAME_SHAPE_M = 1e-6;

/** Turned and mirrored, not yet shifted: even steps, and the footprint's longest side along the long edges of the ground. */
export function stancesOf(
  footprint: RingM,
  ground: readonly PolygonM[],
  choice: TurnChoice,
  turnStepDeg = TURN_STEP_DEG,
): Pose[] {
  const turns = [0];
  if (choice.mayTurn) {
    const add = (turn: number) => {
      const held = ((turn % 360) + 360) % 360;
      if (!turns.some((t) => Math.abs(t - held) < 0.05 || Math.abs(t - held) > 359.95)) turns.push(held);
    };
    for (let turn = turnStepDeg; turn < 360; turn += turnStepDeg) add(turn);
    const own = longestEdges([footprint], 1)[0]?.directionDeg ?? 0;
    for (const { directionDeg } of longestEdges(
      ground.flatMap((polygon) => polygon.slice(0, 1)),
      4,
    )) {
      for (let quarter = 0; quarter < 4; quarter++) add(directionDeg - own + 90 * quarter);
    }
  }
  const stances: Pose[] = [];
  const shapes: PositionM[][] = [];
  for (const mirrored of choice.mayMirror ? [false, true] : [false]) {
    for (const turnDeg of turns) {
      const pose = { ...AS_DRAWN, turnDeg, mirrored };
      const shape = placeRing(footprint, pose);
      // a rectangle turned by half is the same building: tried once
      if (shapes.some((other) => isSameShape(shape, other))) continue;
      shapes.push(shape);
      stances.push(pose);
    }
  }
  return stances;
}

function longestEdges(rings: readonly RingM[], count: number): { lengthM: number; directionDeg: number }[] {
  const edges = rings.flatMap((ring) =>
    ring.map(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % ring.length] as PositionM;
      return {
        lengthM: Math.hypot(bx - ax, by - ay),
        directionDeg: (Math.atan2(by - ay, bx - ax) * 180) / Math.PI,
      };
    }),
  );
  return edges.sort((a, b) => b.lengthM - a.lengthM).slice(0, count);
}

function isSameShape(a: RingM, b: RingM): boolean {
  return a.every(([x, y]) => b.some(([u, v]) => Math.hypot(x - u, y - v) < SAME_SHAPE_M));
}

export interface PoseGrid {
  readonly stepM: number;
  /** First row and column, as a share of a step. */
  readonly offset: readonly [number, number];
}

/** Poses on the grid of shifts of one stance, and at both ends of each row, where the building touches the edge. */
export function posesOf(
  footprint: RingM,
  stance: Pose,
  ground: readonly PolygonM[],
  containment: ReturnType<typeof prepareContainment>,
  grid: PoseGrid,
): Pose[] {
  const shifts = prepareShifts(placeRing(footprint, stance), ground, containment);
  if (shifts === null) return [];
  const { stepM, offset } = grid;
  const out: Pose[] = [];
  const first = Math.ceil(shifts.lowestDyM / stepM - offset[1]);
  for (let j = first; (j + offset[1]) * stepM <= shifts.highestDyM; j++) {
    const row = shifts.rowAt((j + offset[1]) * stepM);
    for (const dxM of shiftsAlong(row, stepM, offset[0])) out.push({ ...stance, dxM, dyM: row.dyM });
  }
  return out;
}

function shiftsAlong(row: ShiftRow, stepM: number, offset: number): number[] {
  const out: number[] = [];
  for (const [from, to] of row.dxM) {
    out.push(from);
    for (let i = Math.ceil(from / stepM - offset); (i + offset) * stepM < to; i++)
      out.push((i + offset) * stepM);
    if (to > from) out.push(to);
  }
  return out;
}

/**
 * A pose that fits, or null. Looks at every 5 degrees and along the ground's longest edges, at rows 0.1 m apart and at rows
 * flush with an edge: less play than 0.1 m in both directions at another turn can be missed.
 */
export function findAnyPose(
  footprint: RingM,
  ground: readonly PolygonM[],
  choice: TurnChoice,
  context: JobContext,
): Pose | null {
  if (ground.length === 0) return null;
  const containment = prepareContainment(ground);
  for (const stance of stancesOf(footprint, ground, choice, FINE_TURN_STEP_DEG)) {
    throwIfStopped(context);
    const shifts = prepareShifts(placeRing(footprint, stance), ground, containment);
    if (shifts === null) continue;
    const rows = new Set(shifts.flushDyM);
    for (let dyM = shifts.lowestDyM; dyM <= shifts.highestDyM; dyM += FINE_ROW_M) rows.add(dyM);
    for (const row of [...rows].sort((a, b) => a - b)) {
      const [interval] = shifts.rowAt(row).dxM;
      if (interval !== undefined) return { ...stance, dxM: (interval[0] + interval[1]) / 2, dyM: row };
    }
  }
  return null;
}

/** Centroid of the footprint at a pose. */
export function centroidAt(footprint: RingM, pose: Pose): PositionM {
  const [x, y] = ringCentroid(footprint);
  return [x + pose.dxM, y + pose.dyM];
}
