/** Where a corner goes that is pointed at near something: to it. Pure. */
import type { PositionM, ProjectFrame, ProjectView } from '../../core/contract/model.ts';
import { distanceM } from './geometry.ts';
import { toNative, toProject } from './project-frame.ts';

export type SnapKind = 'corner' | 'probe' | 'square' | 'midpoint' | 'edge' | 'grid';

export const SNAP_WORDS: Record<SnapKind, string> = {
  corner: 'at a corner',
  probe: 'at a probe',
  square: 'square to a side',
  midpoint: 'at the middle of a side',
  edge: 'on a side',
  grid: 'on the grid',
};

export interface SnapTargets {
  readonly corners: readonly PositionM[];
  readonly probes: readonly PositionM[];
  readonly sides: readonly (readonly [PositionM, PositionM])[];
}

/** Where the next corner would go, and what holds it there; null for a free one. */
export interface Aim {
  readonly atM: PositionM;
  readonly kind: SnapKind | null;
}

export interface AimOptions {
  /** Of the drawing, the newest first. */
  readonly lastM: PositionM | null;
  readonly beforeM: PositionM | null;
  readonly reachM: number;
  readonly frame: ProjectFrame;
  /** Spacing of the grid on the map, in the project's own unit. */
  readonly gridStep: number;
  readonly snap: boolean;
  readonly rightAngles: boolean;
}

/** @param drawn - corners of the outline being drawn */
export function snapTargets(view: ProjectView, drawn: readonly PositionM[]): SnapTargets {
  const rings = [view.lot, view.footprint?.ring].filter((ring) => ring !== undefined && ring !== null);
  const keepOuts = view.keepOuts.map(({ shape, points }) => ({ points, isRing: shape === 'polygon' }));
  const outlines = [
    ...rings.map((points) => ({ points, isRing: true })),
    ...keepOuts,
    { points: drawn, isRing: false },
  ];
  return {
    corners: outlines.flatMap(({ points }) => points),
    probes: view.probes.map((probe) => probe.positionM),
    sides: outlines.flatMap(({ points, isRing }) =>
      points.flatMap((a, i) => {
        const b = points[i + 1] ?? (isRing ? points[0] : undefined);
        return b === undefined ? [] : [[a, b] as const];
      }),
    ),
  };
}

/** Corners come first, then probes, the foot of the square from the last corner, middles, sides, and the grid. */
export function aimAt(pointerM: PositionM, targets: SnapTargets, options: AimOptions): Aim {
  const held = options.snap ? snapTo(pointerM, targets, options) : null;
  const { lastM, beforeM, rightAngles } = options;
  if (!rightAngles || lastM === null) return held ?? { atM: pointerM, kind: null };
  const towards = held?.atM ?? pointerM;
  return { atM: squareTo(towards, lastM, beforeM), kind: held?.kind ?? null };
}

function snapTo(pointerM: PositionM, targets: SnapTargets, options: AimOptions): Aim | null {
  const { lastM, reachM, frame, gridStep } = options;
  const nearest = (points: readonly PositionM[]): PositionM | null => {
    let best: PositionM | null = null;
    for (const point of points) {
      const isNearer = best === null || distanceM(point, pointerM) < distanceM(best, pointerM);
      if (distanceM(point, pointerM) <= reachM && isNearer) best = point;
    }
    return best;
  };
  const feet = targets.sides.flatMap(([a, b]) => {
    if (lastM === null) return [];
    const foot = footOnSide(lastM, a, b);
    return foot !== null && distanceM(foot, lastM) > reachM ? [foot] : [];
  });
  const onSides = targets.sides.flatMap(([a, b]) => {
    const foot = footOnSide(pointerM, a, b);
    return foot === null ? [] : [foot];
  });
  const [x, y] = toNative(frame, pointerM);
  const onGrid = toProject(frame, [Math.round(x / gridStep) * gridStep, Math.round(y / gridStep) * gridStep]);
  const candidates: readonly (readonly [SnapKind, readonly PositionM[]])[] = [
    ['corner', targets.corners],
    ['probe', targets.probes],
    ['square', feet],
    ['midpoint', targets.sides.map(([a, b]): PositionM => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2])],
    ['edge', onSides],
    ['grid', [onGrid]],
  ];
  for (const [kind, points] of candidates) {
    const atM = nearest(points);
    if (atM !== null) return { atM, kind };
  }
  return null;
}

/** Foot of the perpendicular on the piece between a and b; null beyond its ends. */
function footOnSide(point: PositionM, a: PositionM, b: PositionM): PositionM | null {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const square = dx * dx + dy * dy;
  const share = square === 0 ? -1 : ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square;
  return share < 0 || share > 1 ? null : [a[0] + share * dx, a[1] + share * dy];
}

/** Straight on or at a right angle: along the last side drawn, or along the axes where there is none yet. */
function squareTo(towardsM: PositionM, lastM: PositionM, beforeM: PositionM | null): PositionM {
  const sideM = beforeM === null ? 0 : distanceM(beforeM, lastM);
  const [ux, uy] =
    beforeM === null || sideM === 0
      ? [1, 0]
      : [(lastM[0] - beforeM[0]) / sideM, (lastM[1] - beforeM[1]) / sideM];
  const [dx, dy] = [towardsM[0] - lastM[0], towardsM[1] - lastM[1]];
  const [along, across] = [dx * ux + dy * uy, dy * ux - dx * uy];
  return Math.abs(along) >= Math.abs(across)
    ? [lastM[0] + along * ux, lastM[1] + along * uy]
    : [lastM[0] - across * uy, lastM[1] + across * ux];
}
