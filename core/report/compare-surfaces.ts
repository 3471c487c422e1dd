/** Two surfaces of the same ground: the later minus the earlier on one grid, with the error of the difference. */
import { contourBands, contourLines } from '../contour/contour.ts';
import { cellCentre } from '../contour/grid.ts';
import { chooseLevels } from '../contour/levels.ts';
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import type { ContourBand, ContourLine, GridSpec, SurfaceResult } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import { widenValues } from '../figure/weak-ground.ts';
import { boundingBox, intersectPolygons, pointInPolygons, polygonsArea, ringArea } from '../geo/planar.ts';
import { type PlacedSide, placeSides, type SidePlaces } from './place-sides.ts';

export interface ComparedSurface extends PlacedSide {
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
/** Of the later lot: neighbours that touch along a surveyed line share slivers. */
const LEAST_SHARED = 0.01;
const COVERAGE = 2;
/** Around the ground, so that values carried outward give contours that reach its edge. */
const MARGIN_CELLS = 2;

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

/** Both lots in project metres of the later side, cut with each other. */
function sharedGround(earlier: ComparedSurface, later: ComparedSurface, places: SidePlaces): PolygonM[] {
  const before = places.toLater(earlier.lot);
  const ground = intersectPolygons([[later.lot]], [[before]]);
  if (polygonsArea(ground) > LEAST_SHARED * Math.abs(ringArea(later.lot))) return ground;
  const middle = (ring: RingM): PositionM => {
    const { minX, maxX, minY, maxY } = boundingBox(ring);
    return [(minX + maxX) / 2, (minY + maxY) / 2];
  };
  const [[ax, ay], [bx, by]] = [middle(before), middle(later.lot)];
  throw new AppError(
    'BAD_INPUT',
    `The lots of ${earlier.label} and ${later.label} share no ground: their middles are ${Math.hypot(ax - bx, ay - by).toFixed(0)} m apart. Only surveys of the same ground can be compared.`,
  );
}

/**
 * The later surface minus the earlier one, on a grid of the coarser cell over the ground both cover.
 * Errors: the surfaces' own count as independent; a calibration both share moves both values alike, so that it acts on
 * the difference only (u_rel x |difference|), while two calibrations act on each value (JCGM 100:2008, 5.1.2 and 5.2.2).
 * @throws AppError BAD_INPUT where nothing ties the two systems, or the lots share no ground
 */
export function compareSurfaces(
  earlier: ComparedSurface,
  later: ComparedSurface,
  options: { readonly sharedCalibration: boolean; readonly maxLevels?: number },
): SurfaceDifference {
  const places = placeSides(earlier, later);
  const ground = sharedGround(earlier, later, places);
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
  const cells = Array.from(difference, (_, i) => ({
    i,
    place: cellCentre(grid, i % grid.columns, Math.floor(i / grid.columns)),
  })).filter(({ place }) => pointInPolygons(place, ground));
  const placesBefore = places.toEarlier(cells.map(({ place }) => place));
  for (const [k, { i, place }] of cells.entries()) {
    const before = placesBefore[k] as PositionM;
    const a = valueAt(sideA.grid, sideA.estimate, before);
    const b = valueAt(sideB.grid, sideB.estimate, place);
    difference[i] = b - a;
    const own = Math.hypot(valueAt(sideA.grid, sideA.error, before), valueAt(sideB.grid, sideB.error, place));
    const common = options.sharedCalibration
      ? Math.max(earlier.commonURel, later.commonURel) * (b - a)
      : Math.hypot(earlier.commonURel * a, later.commonURel * b);
    standardError[i] = Math.hypot(own, common);
  }
  return describeDifference(
    earlier,
    later,
    grid,
    ground,
    difference,
    standardError,
    options,
    places.statements,
  );
}

function describeDifference(
  earlier: ComparedSurface,
  later: ComparedSurface,
  grid: GridSpec,
  ground: readonly PolygonM[],
  difference: Float64Array,
  standardError: Float64Array,
  options: { readonly sharedCalibration: boolean; readonly maxLevels?: number },
  placeStatements: readonly string[],
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
    statements: [...statementsOf(earlier, later, options.sharedCalibration, hasError), ...placeStatements],
  };
}

function statementsOf(
  earlier: ComparedSurface,
  later: ComparedSurface,
  isShared: boolean,
  hasError: boolean,
): string[] {
  const percent = (u: number) => `${Number((100 * u).toPrecision(3))} %`;
  const without = [earlier, later].filter((side) => side.commonURel === 0).map((side) => side.label);
  const calibration =
    without.length === 2
      ? 'No calibration uncertainty was entered on either side: it is missing from the error, so that more looks changed than is known to be.'
      : without.length === 1
        ? `No calibration uncertainty was entered for ${without[0]}: it is missing from the error, so that more looks changed than is known to be.`
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
  ];
}
