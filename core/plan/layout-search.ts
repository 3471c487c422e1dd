/** Prepares the search for a layout: the ground, the turns and shifts to try, and how one of them is laid out. */
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { bufferPolygons, intersectPolygons, ringArea, subtractPolygons, validateLot } from '../geo/planar.ts';
import type { GridPattern, GridRequest } from './grid-types.ts';
import { type GroundTest, prepareGround } from './ground-test.ts';
import {
  countsForSpacing,
  type DenseNear,
  directionOf,
  footprintRings,
  latticeNodes,
  nodesAlongRings,
  shareAlongRings,
} from './layouts.ts';
import { type Interest, prepareInterest } from './worst-gap.ts';

export interface Pose {
  readonly turnDeg: number;
  /** Shift as shares of the pattern's period along and across the rows. */
  readonly u: number;
  readonly v: number;
}

/** Degrees after which a turned pattern repeats; 0 where it has no turn of its own. */
export const FULL_TURN: Record<GridPattern, number> = {
  square: 90,
  triangular: 60,
  offset: 180,
  adaptive: 90,
  'along-footprint': 0,
};
const MANY_NODES = 150;
export const MOST_PROBES = 5000;

export interface Search {
  readonly interest: Interest;
  readonly turns: readonly number[];
  readonly shifts: { readonly u: readonly number[]; readonly v: readonly number[] };
  readonly notes: string[];
  readonly layOut: LayOut;
  layOutAt(pose: Pose, spacingM: number): PositionM[];
  readonly typicalSpacingM: number;
}

/** @throws AppError BAD_INPUT as designGrid */
export function prepareSearch(request: GridRequest): Search {
  const { pattern, size, around } = request;
  const footprint = request.footprint === null ? null : validateLot(request.footprint, {}, 'footprint').ring;
  if (request.ground.length === 0)
    throw new AppError('BAD_INPUT', 'There is no ground to drive probes on.', { field: 'ground' });
  if (footprint === null && (pattern === 'adaptive' || pattern === 'along-footprint' || around !== 'all'))
    throw new AppError(
      'BAD_INPUT',
      `A layout '${pattern}' around a footprint needs a footprint; the project has none.`,
      {
        field: 'footprint',
      },
    );
  const notes: string[] = [];
  let polygons = request.ground;
  let stand = request.stand ?? request.ground;
  if (around !== 'all' && footprint !== null) {
    const plus = around.footprintPlusM;
    if (!(plus >= 0) || !Number.isFinite(plus))
      throw new AppError('BAD_INPUT', `Surroundings of ${plus} m: must be 0 m or more.`, {
        field: 'footprintPlusM',
      });
    const reach: PolygonM[] = plus > 0 ? bufferPolygons([[footprint]], plus) : [[footprint]];
    polygons = intersectPolygons(polygons, reach);
    stand = intersectPolygons(stand, reach);
    if (polygons.length === 0 || stand.length === 0)
      throw new AppError('BAD_INPUT', `No probe may be driven within ${plus} m of the footprint.`, {
        field: 'footprint',
      });
  }
  const interestPolygons =
    footprint === null ? polygons : [...polygons, ...subtractPolygons([[footprint]], polygons)];
  const interest = prepareInterest(interestPolygons, 400);
  const ground = prepareGround(stand);
  const typicalSpacingM = typicalSpacing(request, interest.areaM2);
  const expected = interest.areaM2 / typicalSpacingM ** 2;
  if (expected > MOST_PROBES)
    throw new AppError(
      'BAD_INPUT',
      `About ${expected.toFixed(0)} probes would be needed; at most ${MOST_PROBES} are laid out. Is the spacing in metres?`,
      { field: 'size' },
    );
  const layOutAt = layOutFor(request, ground, interestPolygons, footprint);
  const steps = expected > MANY_NODES ? 3 : 6;
  const eighths = Array.from({ length: 8 }, (_, k) => k / 8);
  const sixths = Array.from({ length: steps }, (_, k) => k / steps);
  return {
    interest,
    notes,
    typicalSpacingM,
    turns: turnsToTry(request, interestPolygons, expected),
    shifts: pattern === 'along-footprint' ? { u: eighths, v: [0] } : { u: sixths, v: sixths },
    layOutAt,
    layOut: layOutSized(),
  };

  function layOutSized(): LayOut {
    if (pattern === 'along-footprint' && footprint !== null) return layOutAlong(request, ground, footprint);
    return (pose) => {
      if ('spacingM' in size) return { spacingM: size.spacingM, nodes: layOutAt(pose, size.spacingM) };
      return layOutCount((spacingM) => layOutAt(pose, spacingM), typicalSpacingM, size.count);
    };
  }
}

function typicalSpacing(request: GridRequest, areaM2: number): number {
  const { size } = request;
  if ('spacingM' in size) {
    if (size.spacingM > 0 && Number.isFinite(size.spacingM)) return size.spacingM;
    throw new AppError('BAD_INPUT', `A spacing of ${size.spacingM} m cannot be laid out.`, {
      field: 'spacingM',
    });
  }
  if (!Number.isInteger(size.count) || size.count < 1)
    throw new AppError('BAD_INPUT', `${size.count} probes cannot be laid out: give a whole number from 1.`, {
      field: 'count',
    });
  return Math.sqrt(areaM2 / size.count);
}

type LayOut = (pose: Pose) => { spacingM: number; nodes: PositionM[] } | null;

function layOutAlong(request: GridRequest, ground: GroundTest, footprint: RingM): LayOut {
  const { size, alongOffsetM = 0 } = request;
  const phaseOf = (pose: Pose) => ((pose.u % 1) + 1) % 1;
  if ('spacingM' in size) {
    const { spacingM } = size;
    const rings = footprintRings(footprint, spacingM, alongOffsetM);
    const counts = countsForSpacing(rings, spacingM);
    return (pose) => ({ spacingM, nodes: nodesAlongRings(rings, counts, phaseOf(pose), ground) });
  }
  const { count } = size;
  let spacingM = 4 * Math.sqrt(ringArea(footprint) / count);
  let rings = footprintRings(footprint, spacingM, alongOffsetM);
  const room = () => countsForSpacing(rings, spacingM).reduce((sum, n) => sum + n, 0);
  while (room() < count) {
    spacingM *= 0.97;
    rings = footprintRings(footprint, spacingM, alongOffsetM);
  }
  return (pose) => {
    // keep-outs swallow some: lay out more until enough are left
    for (let total = count; total <= 3 * count; total++) {
      const nodes = nodesAlongRings(rings, shareAlongRings(rings, total), phaseOf(pose), ground);
      if (nodes.length === count) return { spacingM, nodes };
    }
    return null;
  };
}

function layOutFor(
  request: GridRequest,
  ground: GroundTest,
  interest: readonly PolygonM[],
  footprint: RingM | null,
): Search['layOutAt'] {
  const { pattern } = request;
  if (pattern === 'along-footprint') {
    return (pose, spacingM) =>
      layOutAlong({ ...request, size: { spacingM } }, ground, footprint as RingM)(pose)?.nodes ?? [];
  }
  const corners = interest.flatMap((polygon) => polygon[0] ?? []);
  return (pose, spacingM) => {
    const [cos, sin] = directionOf(pose.turnDeg);
    const lowU = Math.min(...corners.map(([x, y]) => x * cos + y * sin));
    const lowV = Math.min(...corners.map(([x, y]) => y * cos - x * sin));
    const period = pattern === 'adaptive' ? 2 * spacingM : spacingM;
    const rowPeriod = pattern === 'triangular' ? (spacingM * Math.sqrt(3)) / 2 : period;
    const u = lowU + pose.u * period;
    const v = lowV + pose.v * rowPeriod;
    const near: DenseNear | null =
      footprint === null ? null : { ring: footprint, withinM: request.denseWithinM ?? spacingM };
    const originM: PositionM = [u * cos - v * sin, u * sin + v * cos];
    return latticeNodes({ pattern, spacingM, turnDeg: pose.turnDeg, originM }, ground, near);
  };
}

/** The spacing that gives exactly `count` nodes, by halving the interval of spacings; null where none was met. */
function layOutCount(
  layOut: (spacingM: number) => PositionM[],
  typicalM: number,
  count: number,
): { spacingM: number; nodes: PositionM[] } | null {
  let low = typicalM / 4;
  let high = typicalM * 4;
  for (let step = 0; step < 24; step++) {
    const spacingM = Math.sqrt(low * high);
    const nodes = layOut(spacingM);
    if (nodes.length === count) return { spacingM, nodes };
    if (nodes.length > count) low = spacingM;
    else high = spacingM;
  }
  return null;
}

/** Even steps, and the directions of the long edges of the ground, since lots and houses are mostly right-angled. */
function turnsToTry(request: GridRequest, interest: readonly PolygonM[], expected: number): number[] {
  if (request.turnDeg !== undefined) return [request.turnDeg];
  const full = FULL_TURN[request.pattern];
  if (full === 0) return [0];
  const edges: { length: number; turn: number }[] = [];
  for (const ring of [...interest.map((polygon) => polygon[0] ?? []), request.footprint ?? []]) {
    ring.forEach((a, i) => {
      const b = ring[(i + 1) % ring.length] as PositionM;
      const turn = (Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI;
      const along = ((turn % full) + full) % full;
      edges.push({ length: Math.hypot(b[0] - a[0], b[1] - a[1]), turn: along > full - 1e-6 ? 0 : along });
    });
  }
  edges.sort((a, b) => b.length - a.length);
  const turns: number[] = [];
  const add = (turn: number) => {
    if (!turns.some((t) => Math.abs(t - turn) < 0.05)) turns.push(turn);
  };
  for (const { turn } of edges.slice(0, 8)) add(turn);
  const step = expected > MANY_NODES ? 15 : 7.5;
  for (let turn = 0; turn < full; turn += step) add(turn);
  return turns;
}
