/** Two surfaces of the same ground: the later minus the earlier on one grid, with the error of the difference. */
import { contourBands, contourLines } from '../contour/contour.ts';
import { cellCentre } from '../contour/grid.ts';
import { chooseLevels } from '../contour/levels.ts';
import type { PolygonM, PositionM, ProjectFrame, RingM } from '../contract/model.ts';
import type { ContourBand, ContourLine, GridSpec, SurfaceResult } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import { widenValues } from '../figure/weak-ground.ts';
import { boundingBox, intersectPolygons, pointInPolygons } from '../geo/planar.ts';

export interface ComparedSurface {
  /** Names the side in words, such as the day of sampling. */
  readonly label: string;
  readonly frame: ProjectFrame;
  readonly lot: RingM;
  readonly surface: SurfaceResult;
  /** Relative standard uncertainty of the calibration, common to all values of this side; 0 where none is known. */
  readonly commonURel: number;
}

export interface SurfaceDifference {
  /** In project metres of the later side. */
  readonly grid: GridSpec;
  readonly ground: readonly PolygonM[];
  /** Later minus earlier; NaN outside the common ground. */
  readonly differenceKBqPerM3: Float64Array;
  /** Standard error of the difference, k = 1; NaN where a method has no error. */
  readonly standardErrorKBqPerM3: Float64Array;
  readonly levelsKBqPerM3: readonly number[];
  readonly bands: readonly ContourBand[];
  readonly lines: readonly ContourLine[];
  /** Where the difference is within twice its error. */
  readonly unclear: readonly PolygonM[];
  /** Part of the common ground, 0 to 1, on which the difference exceeds twice its error; null without an error. */
  readonly clearShare: number | null;
  readonly meanKBqPerM3: number;
  /** How the error was made up, in words. */
  readonly statements: readonly string[];
}

const MOST_LEVELS = 9;
const COVERAGE = 2;
/** Around the ground, so that values carried outward give contours that reach its edge. */
const MARGIN_CELLS = 2;

/** Project metres of one side to those of another, of the same system. */
function shift(from: ProjectFrame, to: ProjectFrame): (p: PositionM) => PositionM {
  const [fx, fy] = from.originNative;
  const [tx, ty] = to.originNative;
  return ([x, y]) => [
    (fx - tx + x / from.metresPerUnit) * to.metresPerUnit,
    (fy - ty + y / from.metresPerUnit) * to.metresPerUnit,
  ];
}

function refuseOtherSystem(a: ComparedSurface, b: ComparedSurface): void {
  const key = ({ frame: { crs } }: ComparedSurface) =>
    crs.kind === 'epsg' ? `EPSG:${crs.code}` : `local grid ${crs.label} in ${crs.unit}`;
  if (key(a) !== key(b))
    throw new AppError(
      'BAD_INPUT',
      `The two surfaces lie in different systems and cannot be compared: ${a.label} in ${key(a)}, ${b.label} in ${key(b)}.`,
    );
}

/** Value between the four cell centres around the place; NaN where one of them has none. */
function valueAt(grid: GridSpec, values: Float64Array, [x, y]: PositionM): number {
  const u = (x - grid.x0M) / grid.cellM;
  const v = (y - grid.y0M) / grid.cellM;
  const column = Math.floor(u);
  const row = Math.floor(v);
  const at = (c: number, r: number): number =>
    c < 0 || r < 0 || c >= grid.columns || r >= grid.rows
      ? Number.NaN
      : (values[r * grid.columns + c] ?? Number.NaN);
  const [fx, fy] = [u - column, v - row];
  // A place on a centre must not ask for the neighbour beyond it.
  const along = (r: number): number =>
    fx === 0 ? at(column, r) : (1 - fx) * at(column, r) + fx * at(column + 1, r);
  return fy === 0 ? along(row) : (1 - fy) * along(row) + fy * along(row + 1);
}

function commonGrid(ground: readonly PolygonM[], cellM: number): GridSpec {
  const box = boundingBox(ground.flat(2));
  return {
    x0M: box.minX + cellM / 2 - MARGIN_CELLS * cellM,
    y0M: box.minY + cellM / 2 - MARGIN_CELLS * cellM,
    cellM,
    columns: Math.ceil((box.maxX - box.minX) / cellM) + 2 * MARGIN_CELLS,
    rows: Math.ceil((box.maxY - box.minY) / cellM) + 2 * MARGIN_CELLS,
  };
}

/**
 * The later surface minus the earlier one, on a grid of the coarser cell over the ground both cover.
 * Errors: the surfaces' own count as independent; a calibration both share moves both values alike, so that it acts on
 * the difference only (u_rel x |difference|), while two calibrations act on each value (JCGM 100:2008, 5.1.2 and 5.2.2).
 * @throws AppError BAD_INPUT where the systems differ or the lots share no ground
 */
export function compareSurfaces(
  earlier: ComparedSurface,
  later: ComparedSurface,
  options: { readonly sharedCalibration: boolean; readonly maxLevels?: number },
): SurfaceDifference {
  refuseOtherSystem(earlier, later);
  const toLater = shift(earlier.frame, later.frame);
  const toEarlier = shift(later.frame, earlier.frame);
  const ground = intersectPolygons([[later.lot]], [[earlier.lot.map(toLater)]]);
  if (ground.length === 0)
    throw new AppError('BAD_INPUT', `The lots of ${earlier.label} and ${later.label} share no ground.`);
  const grid = commonGrid(ground, Math.max(earlier.surface.grid.cellM, later.surface.grid.cellM));
  const sides = [earlier, later].map(({ surface }) => ({
    grid: surface.grid,
    // Carried outward, so that cells at the lot line find all four neighbours.
    estimate: widenValues(surface.grid, surface.estimateKBqPerM3),
    error: widenValues(surface.grid, surface.standardErrorKBqPerM3),
  }));
  const [sideA, sideB] = sides as [(typeof sides)[number], (typeof sides)[number]];
  const difference = new Float64Array(grid.columns * grid.rows).fill(Number.NaN);
  const standardError = new Float64Array(difference.length).fill(Number.NaN);
  for (let i = 0; i < difference.length; i++) {
    const place = cellCentre(grid, i % grid.columns, Math.floor(i / grid.columns));
    if (!pointInPolygons(place, ground)) continue;
    const before = toEarlier(place);
    const a = valueAt(sideA.grid, sideA.estimate, before);
    const b = valueAt(sideB.grid, sideB.estimate, place);
    difference[i] = b - a;
    const own = Math.hypot(valueAt(sideA.grid, sideA.error, before), valueAt(sideB.grid, sideB.error, place));
    const common = options.sharedCalibration
      ? Math.max(earlier.commonURel, later.commonURel) * (b - a)
      : Math.hypot(earlier.commonURel * a, later.commonURel * b);
    standardError[i] = Math.hypot(own, common);
  }
  return describeDifference(earlier, later, grid, ground, difference, standardError, options);
}

function describeDifference(
  earlier: ComparedSurface,
  later: ComparedSurface,
  grid: GridSpec,
  ground: readonly PolygonM[],
  difference: Float64Array,
  standardError: Float64Array,
  options: { readonly sharedCalibration: boolean; readonly maxLevels?: number },
): SurfaceDifference {
  const known = difference.filter(Number.isFinite);
  if (known.length === 0)
    throw new AppError(
      'BAD_INPUT',
      `The surfaces of ${earlier.label} and ${later.label} have no cell in common.`,
    );
  const low = known.reduce((m, v) => Math.min(m, v), Number.POSITIVE_INFINITY);
  const high = known.reduce((m, v) => Math.max(m, v), Number.NEGATIVE_INFINITY);
  const levels = chooseLevels(low, high, low < 0 && high > 0 ? [0] : [], options.maxLevels ?? MOST_LEVELS);
  const widened = widenValues(grid, difference);
  const ratio = widenValues(
    grid,
    difference.map((d, i) => Math.abs(d) / (standardError[i] ?? Number.NaN)),
  );
  const hasError = standardError.some(Number.isFinite);
  const tested = difference.filter((_, i) => Number.isFinite(standardError[i] ?? Number.NaN)).length;
  const clear = difference.filter((d, i) => Math.abs(d) > COVERAGE * (standardError[i] ?? Number.NaN)).length;
  return {
    grid,
    ground,
    differenceKBqPerM3: difference,
    standardErrorKBqPerM3: standardError,
    levelsKBqPerM3: levels,
    bands: contourBands(grid, widened, levels, ground),
    lines: contourLines(grid, widened, levels, ground),
    unclear: hasError ? (contourBands(grid, ratio, [0, COVERAGE], ground)[0]?.polygons ?? []) : [],
    clearShare: tested === 0 ? null : clear / tested,
    meanKBqPerM3: known.reduce((sum, v) => sum + v, 0) / known.length,
    statements: statementsOf(earlier, later, options.sharedCalibration, hasError),
  };
}

function statementsOf(
  earlier: ComparedSurface,
  later: ComparedSurface,
  isShared: boolean,
  hasError: boolean,
): string[] {
  const percent = (u: number) => `${Number((100 * u).toPrecision(3))} %`;
  const none = earlier.commonURel === 0 && later.commonURel === 0;
  const calibration = none
    ? 'No calibration uncertainty was entered on either side: it is missing from the error.'
    : isShared
      ? `One calibration is taken to serve both sides (${percent(Math.max(earlier.commonURel, later.commonURel))}, k = 1): it acts on the difference alone.`
      : `Each side has its own calibration (${earlier.label} ${percent(earlier.commonURel)}, ${later.label} ${percent(later.commonURel)}, k = 1): both are in the error.`;
  return [
    `${later.label} minus ${earlier.label}, on a common grid, between the cells of each by linear interpolation.`,
    hasError
      ? 'The errors of the two surfaces are taken as independent; where the same pattern of the ground is behind both, the true error is smaller.'
      : 'A surface without an error of its own is among the two: the difference has none.',
    calibration,
    'Season and weather alone can change soil-gas radon several-fold: a difference is not a trend.',
    ...(later.frame.crs.kind === 'local'
      ? ['Both lie on a local grid of the same name, taken to be the same grid.']
      : []),
  ];
}
