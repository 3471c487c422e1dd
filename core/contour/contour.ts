/** Isolines and the ground between them, from cell values, cut to the lot. */
import { type Contours, contours } from 'd3-contour';
import ArrayList from 'jsts/java/util/ArrayList.js';
import InteriorPointArea from 'jsts/org/locationtech/jts/algorithm/InteriorPointArea.js';
import PrecisionModel from 'jsts/org/locationtech/jts/geom/PrecisionModel.js';
import GeometryNoder from 'jsts/org/locationtech/jts/noding/snapround/GeometryNoder.js';
import LineMerger from 'jsts/org/locationtech/jts/operation/linemerge/LineMerger.js';
import Polygonizer from 'jsts/org/locationtech/jts/operation/polygonize/Polygonizer.js';
import type { PolygonM, PositionM } from '../contract/model.ts';
import type { ContourBand, ContourLine, GridSpec } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import {
  type Geometry,
  geometryLines,
  geometryPolygons,
  lineGeometry,
  overlay,
  polygonsGeometry,
} from '../geo/jsts.ts';
import { pointInPolygons } from '../geo/planar.ts';

/** Lines meet each other and the lot's edge on this raster (10 micrometres): no slivers, no gaps. */
const NODES_PER_M = 1e5;
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
  const byBand = levels.map((): PolygonM[] => []);
  for (const face of facesBetween(lines)) {
    const at = face.interior;
    if (!pointInPolygons(at, clip)) continue;
    const cell = fromMetres(grid, at);
    if (!oddRings(known, cell)) continue;
    // Regions are nested: the number of levels reached is the number of the band.
    const band = regions.filter((rings) => oddRings(rings, cell)).length;
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

function oddRings(rings: readonly (readonly GridPoint[])[], [px, py]: GridPoint): boolean {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const [ax, ay] = ring[i] as GridPoint;
      const [bx, by] = ring[i + 1] as GridPoint;
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

interface Face {
  readonly polygon: PolygonM;
  readonly interior: PositionM;
}

/** The pieces into which the lines cut the plane. Pieces of lines that enclose nothing are ignored. */
function facesBetween(lines: readonly PositionM[][]): Face[] {
  const input = new ArrayList(undefined);
  for (const line of lines) if (line.length > 1) input.add(lineGeometry(line));
  if (input.size() === 0) return [];
  const noded = new GeometryNoder(new PrecisionModel(NODES_PER_M)).node(input);
  const polygonizer = new Polygonizer(false);
  const seen = new Set<string>();
  for (let it = noded.iterator(); it.hasNext(); ) {
    for (const line of geometryLines(it.next() as Geometry)) {
      for (let i = 0; i + 1 < line.length; i++) {
        const [a, b] = [line[i] as PositionM, line[i + 1] as PositionM];
        const key = segmentKey(a, b);
        if (seen.has(key)) continue;
        seen.add(key);
        polygonizer.add(lineGeometry([a, b]));
      }
    }
  }
  const faces: Face[] = [];
  for (let it = polygonizer.getPolygons().iterator(); it.hasNext(); ) {
    const geometry = it.next() as Geometry;
    const [polygon] = geometryPolygons(geometry);
    if (polygon === undefined) continue;
    const { x, y } = InteriorPointArea.getInteriorPoint(geometry) as { x: number; y: number };
    faces.push({ polygon, interior: [x, y] });
  }
  return faces;
}

function segmentKey(a: PositionM, b: PositionM): string {
  const [p, q] = a[0] < b[0] || (a[0] === b[0] && a[1] < b[1]) ? [a, b] : [b, a];
  return `${p[0]},${p[1]},${q[0]},${q[1]}`;
}
