/** From the bytes of a geometry file to what goes into the project, in the project's own coordinates and checked. */
import type { PositionM, ProjectCrs, ProjectFrame } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { nativeText, type PositionNative, ringToFrame } from '../geo/frame.ts';
import { convertTied, type GridTie } from '../geo/local-grid.ts';
import { validateLot } from '../geo/planar.ts';
import { checkGround } from './check-geometry.ts';
import {
  chooseKeepOuts,
  chooseOutline,
  chooseProbes,
  type KeepOutChoice,
  type Pick,
  type ProbeDraft,
} from './choose-geometry.ts';
import { type ReadGeometryOptions, readGeometry } from './read-geometry.ts';

export interface ImportGeometryContext {
  readonly frame: ProjectFrame;
  /** The project's lot in its own coordinates; null where there is none. */
  readonly lot: readonly PositionNative[] | null;
  /** How the project's local grid lies in a mapped system; null where it is tied to nothing, or is no local grid. */
  readonly tie: GridTie | null;
}

export type ImportGeometryOptions = ReadGeometryOptions & Pick;

export interface KeepOutDraft {
  readonly label: string;
  readonly shape: 'polygon' | 'line';
  readonly points: PositionNative[];
  readonly bufferM: number;
  /** Absent where nothing is said. */
  readonly blocksWalk?: boolean;
}

export interface Brought<T> {
  readonly items: readonly T[];
  /** For people: what was assumed, passed over, or looks odd. */
  readonly notes: readonly string[];
}

export interface OutlineDraft {
  readonly label: string | null;
  readonly ring: PositionNative[];
}

/**
 * The lot or the footprint of a file. Coordinates as `readGeometry`, choice as `chooseOutline`, checks as `checkGround`
 * and `validateLot`.
 * @returns exactly one item
 * @throws AppError BAD_INPUT naming file and feature
 */
export function importOutline(
  bytes: Uint8Array,
  file: string,
  noun: 'lot' | 'footprint',
  context: ImportGeometryContext,
  options: ImportGeometryOptions = {},
): Brought<OutlineDraft> {
  const reading = readGeometry(bytes, file, context.frame.crs, options);
  const outline = chooseOutline(reading, noun, pickOf(options));
  const ring = toProject(outline.ring, outline.crs, file, context);
  const warnings = checkGround(ring, { file, noun, projectCrs: context.frame.crs, lot: context.lot });
  warnings.push(...checkRing(ring, file, noun, context.frame));
  return { items: [{ label: outline.label, ring }], notes: [...outline.notes, ...warnings] };
}

/**
 * Keep-outs of a file; what is a point there becomes a square of 0.2 m.
 * @throws AppError BAD_INPUT naming file and feature
 */
export function importKeepOuts(
  bytes: Uint8Array,
  file: string,
  context: ImportGeometryContext,
  options: ImportGeometryOptions & KeepOutChoice = {},
): Brought<KeepOutDraft> {
  const reading = readGeometry(bytes, file, context.frame.crs, options);
  const chosen = chooseKeepOuts(reading, {
    ...pickOf(options),
    ...(options.bufferM === undefined ? {} : { bufferM: options.bufferM }),
    ...(options.points === undefined ? {} : { points: options.points }),
    ...(options.blocksWalk === undefined ? {} : { blocksWalk: options.blocksWalk }),
  });
  const notes = [...chosen.notes];
  const items = chosen.items.map((item): KeepOutDraft => {
    const points = toProject(item.points, chosen.crs, file, context);
    notes.push(
      ...checkGround(points, { file, noun: 'keep-out', projectCrs: context.frame.crs, lot: context.lot }),
    );
    const [middle] = points;
    if (item.shape === 'point' && middle !== undefined)
      return { ...item, shape: 'polygon', points: squareAround(middle, context.frame) };
    if (item.shape === 'polygon') checkRing(points, file, `keep-out "${item.label}"`, context.frame);
    return { ...item, shape: item.shape === 'line' ? 'line' : 'polygon', points };
  });
  return { items, notes };
}

/** @throws AppError BAD_INPUT naming file and feature */
export function importProbes(
  bytes: Uint8Array,
  file: string,
  context: ImportGeometryContext,
  options: ImportGeometryOptions = {},
): Brought<ProbeDraft> {
  const reading = readGeometry(bytes, file, context.frame.crs, options);
  const chosen = chooseProbes(reading, pickOf(options));
  const places = toProject(
    chosen.items.map(({ at }) => at),
    chosen.crs,
    file,
    context,
  );
  const warnings = checkGround(places, {
    file,
    noun: 'probe',
    projectCrs: context.frame.crs,
    lot: context.lot,
  });
  return {
    items: chosen.items.map((item, i) => ({ ...item, at: places[i] ?? item.at })),
    notes: [...chosen.notes, ...warnings],
  };
}

/** What a marker stands for has some width; the strip around it is what keeps probes away. */
const MARKER_M = 0.2;

function squareAround([x, y]: PositionNative, { metresPerUnit }: ProjectFrame): PositionNative[] {
  const half = MARKER_M / 2 / metresPerUnit;
  return [
    [x - half, y - half],
    [x + half, y - half],
    [x + half, y + half],
    [x - half, y + half],
  ];
}

function pickOf({ layer, feature }: Pick): Pick {
  return { ...(layer === undefined ? {} : { layer }), ...(feature === undefined ? {} : { feature }) };
}

function toProject(
  points: readonly PositionNative[],
  from: ProjectCrs | null,
  file: string,
  { frame, tie }: ImportGeometryContext,
): PositionNative[] {
  return named(file, () => convertTied(from ?? frame.crs, frame.crs, tie, points));
}

/** Runs `work`; a refusal that knows nothing of the file gets its name put before it. */
function named<T>(file: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    throw new AppError(error.code, `${file}: ${error.message}`, { ...error.details, file }, error);
  }
}

function checkRing(
  ring: readonly PositionNative[],
  file: string,
  noun: string,
  frame: ProjectFrame,
): string[] {
  const placeText = (at: PositionM) => nativeText(frame, at);
  return named(file, () => [...validateLot(ringToFrame(frame, ring), { file }, noun, placeText).warnings]);
}
