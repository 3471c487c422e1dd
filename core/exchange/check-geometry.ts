/** Whether what a file brought can be where it says: in its system's area, on the lot, in the right unit. */
import type { ProjectCrs } from '../contract/model.ts';
import { outOfAreaMessage } from '../geo/crs.ts';
import { findCrs, systemTitle } from '../geo/crs-table.ts';
import type { PositionNative } from '../geo/frame.ts';
import { type BoxM, boundingBox, ringArea } from '../geo/planar.ts';
import { M_PER_FOOT } from '../units.ts';
import { bad } from './geometry.ts';

export interface GroundContext {
  readonly file: string;
  /** What the points are, for messages. */
  readonly noun: 'lot' | 'footprint' | 'keep-out' | 'probe';
  readonly projectCrs: ProjectCrs;
  /** The project's lot in its own coordinates; null where there is none yet. */
  readonly lot: readonly PositionNative[] | null;
}

/** Farther off than this many lot sizes (diagonals), a shape is taken to be in another system. */
const FAR_LOT_SIZES = 10;
const NEAR_LOT_SIZES = 2;
/** Ratios that come of a unit taken for another, and what the numbers then are in. */
const SLIPS: readonly { readonly factor: number; readonly unit: string }[] = [
  { factor: M_PER_FOOT, unit: 'feet, while the project counts metres' },
  { factor: 1 / M_PER_FOOT, unit: 'metres, while the project counts feet' },
  { factor: 0.001, unit: 'millimetres' },
  { factor: 0.01, unit: 'centimetres' },
  { factor: 1000, unit: 'kilometres' },
];
/** A second reading of the same lot agrees far better than this. */
const SAME_SIZE = 0.02;

/**
 * Checks points against the project, in the project's own coordinates.
 * @returns warnings for people; the points can be used all the same
 * @throws AppError BAD_INPUT where they cannot be right: degrees for lengths, far off the lot, exchanged axes, a factor
 *   of 3.28, larger than the lot they stand on
 */
export function checkGround(points: readonly PositionNative[], context: GroundContext): string[] {
  const { file, noun, projectCrs, lot } = context;
  const [first] = points;
  if (first === undefined) return [];
  for (const point of points) {
    if (point.every(Number.isFinite)) continue;
    throw bad(`A corner of the ${noun} in ${file} is not a pair of numbers: ${point.join(', ')}.`, { file });
  }
  refuseDegrees(points, context);
  const warnings = lot !== null && lot.length >= 3 ? checkAgainstLot(points, lot, context) : [];
  if (lot !== null && noun !== 'lot') return warnings;
  const outside = projectCrs.kind === 'epsg' ? outOfAreaMessage(projectCrs.code, first[0], first[1]) : null;
  return outside === null ? warnings : [...warnings, `${file}: ${outside}`];
}

/**
 * Degrees where the project's system counts lengths.
 * @param context - without a file where the points were typed or drawn
 * @throws AppError BAD_INPUT
 */
export function refuseDegrees(
  points: readonly PositionNative[],
  { file, noun, projectCrs, lot }: Omit<GroundContext, 'file'> & { readonly file?: string },
): void {
  if (projectCrs.kind !== 'epsg') return;
  const isSmall = (list: readonly PositionNative[]) =>
    list.every(([x, y]) => Math.abs(x) <= 180 && Math.abs(y) <= 180);
  if (!isSmall(points) || (lot !== null && isSmall(lot))) return;
  const entry = findCrs(projectCrs.code);
  const advice =
    file === undefined
      ? 'Enter them in that system, or import them as a table with columns lon and lat.'
      : 'If they are longitude and latitude, say that the file is in EPSG:4326.';
  throw bad(
    `The numbers of the ${noun}${file === undefined ? '' : ` in ${file}`} (${rangeText(points)}) look like degrees or a local grid, while ${systemTitle(entry)} is in ${entry.unitLabel}. ${advice}`,
    { ...(file === undefined ? {} : { file }), field: 'crs' },
  );
}

function checkAgainstLot(
  points: readonly PositionNative[],
  lot: readonly PositionNative[],
  { file, noun }: GroundContext,
): string[] {
  const lotBox = boundingBox(lot);
  const box = boundingBox(points);
  const lotSize = diagonal(lotBox);
  const scaled = (factor: number) => boundingBox(points.map(([x, y]) => [x * factor, y * factor]));
  const turned = boundingBox(points.map(([x, y]) => [y, x]));
  if (gap(box, lotBox) > FAR_LOT_SIZES * lotSize) {
    const slip = SLIPS.find(({ factor }) => gap(scaled(factor), lotBox) <= NEAR_LOT_SIZES * lotSize);
    const reason =
      gap(turned, lotBox) <= NEAR_LOT_SIZES * lotSize
        ? 'they fit when x and y are exchanged'
        : slip === undefined
          ? 'is it another system, or another lot?'
          : `they fit when read in ${slip.unit}`;
    const lotSizes = Math.round(gap(box, lotBox) / lotSize);
    const end = reason.endsWith('?') ? '' : '.';
    const message = `The ${noun} in ${file} (${rangeText(points)}) lies ${lotSizes} lot sizes off the lot (${rangeText(lot)}): ${reason}${end}`;
    // a new lot may well take the place of a wrong one
    if (noun === 'lot') return [message];
    throw bad(message, { file, field: noun });
  }
  if (noun === 'lot') return sizeWarnings(points, lot, file);
  if (noun === 'footprint') refuseLargerThanLot(points, lot, file);
  const off = points.filter(
    ([x, y]) => x < lotBox.minX || x > lotBox.maxX || y < lotBox.minY || y > lotBox.maxY,
  );
  if (off.length === 0 || noun === 'keep-out') return [];
  const what = noun === 'probe' ? 'points' : 'corners';
  return [
    `${off.length} of ${points.length} ${what} of the ${noun} in ${file} lie outside the lot's extent.`,
  ];
}

/** The same lot in another unit has the same shape and a side 3.28 times as long. */
function sizeWarnings(
  points: readonly PositionNative[],
  lot: readonly PositionNative[],
  file: string,
): string[] {
  const ratio = Math.sqrt(Math.abs(ringArea(points)) / Math.abs(ringArea(lot)));
  const slip = [M_PER_FOOT, 1 / M_PER_FOOT].find((factor) => Math.abs(ratio / factor - 1) < SAME_SIZE);
  if (slip === undefined) return [];
  return [
    `The lot in ${file} is ${ratio.toFixed(2)} times as long as the one in the project: feet taken for metres, or the other way round?`,
  ];
}

function refuseLargerThanLot(
  points: readonly PositionNative[],
  lot: readonly PositionNative[],
  file: string,
): void {
  const ratio = Math.abs(ringArea(points)) / Math.abs(ringArea(lot));
  if (ratio <= 1) return;
  const fits = ratio * M_PER_FOOT ** 2 <= 1 ? ' Feet taken for metres make an area 10.8 times as large.' : '';
  throw bad(
    `The footprint in ${file} covers ${ratio.toFixed(1)} times the area of the lot: it cannot stand on it.${fits}`,
    { file, field: 'footprint' },
  );
}

function diagonal({ minX, minY, maxX, maxY }: BoxM): number {
  return Math.hypot(maxX - minX, maxY - minY);
}

function gap(a: BoxM, b: BoxM): number {
  const dx = Math.max(0, a.minX - b.maxX, b.minX - a.maxX);
  const dy = Math.max(0, a.minY - b.maxY, b.minY - a.maxY);
  return Math.hypot(dx, dy);
}

function rangeText(points: readonly PositionNative[]): string {
  const { minX, minY, maxX, maxY } = boundingBox(points);
  const text = (value: number) => String(Number(value.toPrecision(10)));
  return `x ${text(minX)} to ${text(maxX)}, y ${text(minY)} to ${text(maxY)}`;
}
