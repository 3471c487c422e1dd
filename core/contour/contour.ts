/** Isolines and the ground between them, from cell values, cut to the lot. */
import { type Contours, contours } from 'd3-contour';
import LineMerger from 'jsts/org/locationtech/jts/operation/linemerge/LineMerger.js';
import type { PolygonM, PositionM } from '../contract/model.ts';
import type { ContourBand, ContourLine, GridSpec } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import { type Geometry, geometryLines, lineGeometry, overlay, polygonsGeometry } from '../geo/jsts.ts';
import { pointInPolygons } from '../geo/planar.ts';
import { facesBetween } from './faces.ts';

/** Below every value: its contour surrounds the cells that have one. */
const BELOW_ALL = -Number.MAX_VALUE;

/**
 * Isolines, linear between cell centres, cut to the polygons. Where a value is missing (NaN) lines end.
 * @param values - row by row from the south-west cell, length columns x rows
 * @returns one entry per unbroken line; `closed` lines do not repeat their first point
 */
export function contourLines(
  grid: GridSpec,
  values: Float64Array,
  levels: readonly number[],
  clip: readonly PolygonM[],
): ContourLine[] {
  const generator = generatorFor(grid, values);
  if (clip.length === 0) return [];
  const area = polygonsGeometry(clip);
  const out: ContourLine[] = [];
  for (const level of levels) {
    const merger = new LineMerger(undefined);
    for (const ring of ringsAt(generator, values, level)) {
      for (const run of knownRuns(grid, values, ring)) {
        const inside = overlay(lineGeometry(run.map((point) => toMetres(grid, point))), area, 'intersection');
        for (const line of geometryLines(inside)) merger.add(lineGeometry(line));
      }
    }
    for (const points of mergedLines(merger)) {
      const first = points[0] as PositionM;
      const last = points.at(-1) as PositionM;
      const closed = points.length > 3 && first[0] === last[0] && first[1] === last[1];
      out.push({ level, points: closed ? points.slice(0, -1) : points, closed });
    }
  }
  return out;
}

/**
 * The ground of the polygons by value. Levels must rise. The first level is the floor of the legend: the first band takes
 * everything below the second level, the last is open to the top. Bands share their edges exactly and fill the polygons,
 * except where values are missing (NaN); a band without ground has no polygons.
 */
export function contourBands(
  grid: GridSpec,
  values: Float64Array,
  levels: readonly number[],
  clip: readonly PolygonM[],
): ContourBand[] {
  const generator = generatorFor(grid, values);
  levels.forEach((level, i) => {
    if (i > 0 && !(level > (levels[i - 1] as number))) {
      throw new AppError('BAD_INPUT', `Contour levels must rise: ${levels[i - 1]} is followed by ${level}.`, {
        field: 'levels',
      });
    }
  });
  const inner = levels.slice(1);
  const known = ringsAt(generator, values, BELOW_ALL);
  const regions = inner.map((level) => ringsAt(generator, values, level));
  const lines: PositionM[][] = known.map((ring) => ring.map((point) => toMetres(grid, point)));
  for (const ring of regions.flat()) {
    for (const run of knownRuns(grid, values, ring)) lines.push(run.map((point) => toMetres(grid, point)));
  }
  for (const ring of clip.flat()) {
    const first = ring[0];
    if (first !== undefined) lines.push([...ring, first]);
  }
  const knownRings = known.map(boxed);
  const regionRings = regions.map((rings) => rings.map(boxed));
  const byBand = levels.map((): PolygonM[] => []);
  for (const face of facesBetween(lines)) {
    const at = face.interior;
    if (!pointInPolygons(at, clip)) continue;
    const cell = fromMetres(grid, at);
    if (!oddRings(knownRings, cell)) continue;
    // Regions are nested: the number of levels reached is the number of the band.
    const band = regionRings.filter((rings) => oddRings(rings, cell)).length;
    byBand[band]?.push(face.polygon);
  }
  return levels.map((from, i) => ({ from, to: levels[i + 1] ?? null, polygons: byBand[i] ?? [] }));
}

type GridPoint = readonly [x: number, y: number];

function generatorFor(grid: GridSpec, values: Float64Array): Contours {
  if (values.length !== grid.columns * grid.rows) {
    throw new AppError(
      'BAD_INPUT',
      `${values.length} values do not fill a grid of ${grid.columns} x ${grid.rows} cells.`,
      { field: 'values' },
    );
  }
  return contours().size([grid.columns, grid.rows]).smooth(true);
}

/** Rings around the ground at or above the level, in grid units: the centre of cell (i, j) is (i + 0.5, j + 0.5). */
function ringsAt(generator: Contours, values: Float64Array, level: number): GridPoint[][] {
  // The library's types ask for number[]; it only reads by index.
  const { coordinates } = generator.contour(values as unknown as number[], level);
  return coordinates.flat().map((ring) => withoutRepeats(ring.map(([x = 0, y = 0]): GridPoint => [x, y])));
}

function withoutRepeats(ring: readonly GridPoint[]): GridPoint[] {
  return ring.filter((point, i) => {
    const last = ring[i - 1];
    return last === undefined || last[0] !== point[0] || last[1] !== point[1];
  });
}

/** The pieces of a ring that run between four cells with values; the rest only borders on the unknown. */
function knownRuns(grid: GridSpec, values: Float64Array, ring: readonly GridPoint[]): GridPoint[][] {
  const isKnown = (a: GridPoint, b: GridPoint) => {
    const columns = squaresAt((a[0] + b[0]) / 2);
    const rows = squaresAt((a[1] + b[1]) / 2);
    return rows.every((row) => columns.every((column) => isKnownSquare(grid, values, column, row)));
  };
  const runs: GridPoint[][] = [];
  let run: GridPoint[] = [];
  for (let i = 0; i + 1 < ring.length; i++) {
    const [a, b] = [ring[i] as GridPoint, ring[i + 1] as GridPoint];
    if (isKnown(a, b)) {
      if (run.length === 0) run.push(a);
      run.push(b);
    } else if (run.length > 0) {
      runs.push(run);
      run = [];
    }
  }
  if (run.length > 0) runs.push(run);
  return runs;
}

/** Squares between four centres that hold a coordinate: two where it runs along the edge of both. */
function squaresAt(coordinate: number): number[] {
  const at = coordinate - 0.5;
  return Number.isInteger(at) ? [at - 1, at] : [Math.floor(at)];
}

function isKnownSquare(grid: GridSpec, values: Float64Array, column: number, row: number): boolean {
  if (column < 0 || row < 0 || column + 1 >= grid.columns || row + 1 >= grid.rows) return false;
  const at = row * grid.columns + column;
  return [at, at + 1, at + grid.columns, at + grid.columns + 1].every((i) => !Number.isNaN(values[i]));
}

function toMetres(grid: GridSpec, [x, y]: GridPoint): PositionM {
  return [grid.x0M + (x - 0.5) * grid.cellM, grid.y0M + (y - 0.5) * grid.cellM];
}

function fromMetres(grid: GridSpec, [x, y]: PositionM): GridPoint {
  return [(x - grid.x0M) / grid.cellM + 0.5, (y - grid.y0M) / grid.cellM + 0.5];
}

interface BoxedRing {
  readonly points: readonly GridPoint[];
  readonly maxX: number;
  readonly minY: number;
  readonly maxY: number;
}

function boxed(points: readonly GridPoint[]): BoxedRing {
  let [maxX, minY, maxY] = [-Infinity, Infinity, -Infinity];
  for (const [x, y] of points) {
    maxX = Math.max(maxX, x);
    minY = Math.min(minY, y);
    maxY = Math.max(maxY, y);
  }
  return { points, maxX, minY, maxY };
}

/** Whether a place lies in the region that the rings bound (holes are rings too). */
function oddRings(rings: readonly BoxedRing[], [px, py]: GridPoint): boolean {
  let inside = false;
  for (const { points, maxX, minY, maxY } of rings) {
    if (px > maxX || py < minY || py > maxY) continue;
    for (let i = 0; i + 1 < points.length; i++) {
      const [ax, ay] = points[i] as GridPoint;
      const [bx, by] = points[i + 1] as GridPoint;
      if (ay > py !== by > py && px < ((bx - ax) * (py - ay)) / (by - ay) + ax) inside = !inside;
    }
  }
  return inside;
}

function mergedLines(merger: LineMerger): PositionM[][] {
  const out: PositionM[][] = [];
  for (let it = merger.getMergedLineStrings().iterator(); it.hasNext(); ) {
    out.push(...geometryLines(it.next() as Geometry));
  }
  return out;
}
