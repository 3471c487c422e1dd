/** Where probes may be driven and where a building may stand, in project metres. */
import type { KeepOut, PolygonM, RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import {
  boundingBox,
  bufferLine,
  bufferPolygons,
  intersectPolygons,
  polygonsArea,
  subtractPolygons,
  validateLot,
} from '../geo/planar.ts';

/** Something that stands on the lot already; probes and the new building keep this far from it. */
export interface Structure {
  readonly label: string;
  readonly ring: RingM;
  readonly distanceM: number;
}

export interface GroundInput {
  readonly lot: RingM;
  readonly keepOuts: readonly KeepOut[];
  readonly structures?: readonly Structure[];
}

export interface AllowedGround {
  /** Do not overlap; outer rings anticlockwise, holes clockwise. */
  readonly polygons: readonly PolygonM[];
  readonly areaM2: number;
  readonly lotAreaM2: number;
  /** What each cause takes from the lot by itself; causes may overlap, so the sum can exceed the loss. */
  readonly takenAway: readonly { readonly cause: string; readonly areaM2: number }[];
  readonly warnings: readonly string[];
}

interface Taken {
  readonly cause: string;
  readonly polygons: readonly PolygonM[];
}

/** Pieces below this are slivers of the overlay, not ground anyone can use. */
const SLIVER_M2 = 1e-6;

/**
 * The lot without its keep-outs (with their buffers) and existing structures (with their distances).
 * Buffers have round corners of 16 chords a quarter circle: up to 0.12 % of the buffer short between chord ends.
 * @throws AppError BAD_INPUT for an outline that crosses itself or has no area, a buffer that is no length, or where
 *   nothing is left; the message names what takes the ground away
 */
export function groundForProbes(input: GroundInput): AllowedGround {
  return allowedGround(input, 0, 'drive a probe');
}

/** Own assumption: a lot line is walled or fenced, or known to a few decimetres; beyond it the ground is a neighbour's. */
const OFF_LOT_LINE_M = 0.5;

/** Where a layout may put probes: the ground for them half a metre off the lot line; all of it in a lot too narrow. */
export function groundOffLotLine(ground: AllowedGround, lot: RingM): readonly PolygonM[] {
  const inner = bufferPolygons([[validateLot(lot).ring]], -OFF_LOT_LINE_M);
  const left = inner.length === 0 ? [] : withoutSlivers(intersectPolygons(ground.polygons, inner));
  return left.length === 0 ? ground.polygons : left;
}

/**
 * The lot without its setback strip, keep-outs and existing structures.
 * @throws AppError as {@link groundForProbes}
 */
export function groundForBuilding(input: GroundInput, setbackM: number): AllowedGround {
  return allowedGround(input, setbackM, 'put a building');
}

function allowedGround(input: GroundInput, setbackM: number, purpose: string): AllowedGround {
  const lot = validateLot(input.lot);
  const lotPolygons: PolygonM[] = [[lot.ring]];
  checkLength(setbackM, 'setback');
  const taken: Taken[] = [];
  const warnings = [...lot.warnings];
  let ground: readonly PolygonM[] = lotPolygons;
  if (setbackM > 0) {
    ground = withoutSlivers(bufferPolygons(lotPolygons, -setbackM));
    taken.push({
      cause: `setback of ${setbackM} m`,
      polygons: subtractPolygons(lotPolygons, ground),
    });
    if (ground.length === 0) throw setbackTakesAll(lot.ring, lot.areaM2, setbackM);
  }
  for (const keepOut of input.keepOuts) {
    const polygons = keepOutPolygons(keepOut, warnings);
    if (polygons.length > 0) taken.push({ cause: `keep-out '${keepOut.label}'`, polygons });
  }
  for (const { label, ring, distanceM } of input.structures ?? []) {
    checkLength(distanceM, `distance from structure '${label}'`);
    const outline = validateLot(ring, { structure: label }, `structure '${label}'`);
    taken.push({
      cause: `structure '${label}'`,
      polygons: distanceM > 0 ? bufferPolygons([[outline.ring]], distanceM) : [[outline.ring]],
    });
  }
  const inLot = taken.map((t) => ({ cause: t.cause, areaM2: areaWithin(t.polygons, lotPolygons) }));
  for (const { cause, areaM2 } of inLot) {
    if (areaM2 < SLIVER_M2) warnings.push(`The ${cause} lies outside the lot and takes nothing away.`);
  }
  // one after the other: many overlapping buffers at once are what the overlay finds hardest
  for (const { polygons } of setbackM > 0 ? taken.slice(1) : taken)
    ground = subtractPolygons(ground, polygons);
  ground = withoutSlivers(ground);
  if (ground.length === 0) {
    const most = inLot
      .toSorted((a, b) => b.areaM2 - a.areaM2)
      .slice(0, 3)
      .map((t) => `${t.cause} ${t.areaM2.toFixed(0)} m²`);
    throw new AppError(
      'BAD_INPUT',
      `Nothing of the lot (${lot.areaM2.toFixed(0)} m²) is left to ${purpose}: taken away by ${most.join(', ')}.`,
      { takenAway: inLot },
    );
  }
  return {
    polygons: ground,
    areaM2: polygonsArea(ground),
    lotAreaM2: lot.areaM2,
    takenAway: inLot,
    warnings,
  };
}

/** The ground a keep-out takes, buffer included. @throws AppError BAD_INPUT naming the keep-out */
export function keepOutPolygons(keepOut: KeepOut, warnings: string[] = []): PolygonM[] {
  const { label, shape, points, bufferM } = keepOut;
  checkLength(bufferM, `buffer of keep-out '${label}'`);
  if (shape === 'polygon') {
    const outline = validateLot(points, { keepOut: label }, `keep-out '${label}'`);
    return bufferM > 0 ? bufferPolygons([[outline.ring]], bufferM) : [[outline.ring]];
  }
  for (const [x, y] of points) {
    if (!Number.isFinite(x) || !Number.isFinite(y))
      throw new AppError('BAD_INPUT', `Keep-out '${label}' has a point that is not a place: ${x}, ${y}.`, {
        keepOut: label,
      });
  }
  if (points.length < 2)
    throw new AppError(
      'BAD_INPUT',
      `Keep-out '${label}' is a line with ${points.length} points; 2 are needed.`,
      {
        keepOut: label,
      },
    );
  if (bufferM === 0) {
    warnings.push(`Keep-out '${label}' is a line without a buffer: it keeps nothing free.`);
    return [];
  }
  return bufferLine(points, bufferM);
}

function checkLength(value: number, what: string): void {
  if (value >= 0 && Number.isFinite(value)) return;
  throw new AppError('BAD_INPUT', `The ${what} is ${value}: it must be a length of 0 m or more.`, {
    field: what,
  });
}

function withoutSlivers(polygons: readonly PolygonM[]): PolygonM[] {
  return polygons.filter((polygon) => polygonsArea([polygon]) > SLIVER_M2);
}

function areaWithin(polygons: readonly PolygonM[], lot: readonly PolygonM[]): number {
  return polygonsArea(intersectPolygons(polygons, lot));
}

function setbackTakesAll(ring: RingM, areaM2: number, setbackM: number): AppError {
  const box = boundingBox(ring);
  const size = `${(box.maxX - box.minX).toFixed(1)} m by ${(box.maxY - box.minY).toFixed(1)} m`;
  return new AppError(
    'BAD_INPUT',
    `A setback of ${setbackM} m leaves nothing of the lot (${areaM2.toFixed(0)} m², box ${size}). Is it in metres, and meant for this lot?`,
    { setbackM },
  );
}
