import type { PositionM, RingM } from '../contract/model.ts';
import type { GridSpec } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import { boundingBox, distanceToSegment } from '../geo/planar.ts';

export interface LotGrid {
  readonly grid: GridSpec;
  /** 1 where the cell's centre lies in the lot; row by row from the south-west cell. */
  readonly inside: Uint8Array;
  /** 1 where the centre lies in the lot or within 1.5 cells of its edge: what contouring needs. */
  readonly near: Uint8Array;
}

const FEWEST_CELLS_ALONG = 100;
const MARGIN_CELLS = 1.5;
const ROUND_STEPS = [1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8];
export const DEFAULT_MAX_CELLS = 40_000;

/**
 * A square grid over a lot. Cell edges lie on whole multiples of the cell, so that grids of one project match.
 * Every point of the lot lies between four centres that are all `near`.
 * @param lotRing - project metres, simple
 * @param cellM - side of a cell; null: a round number that puts about 100 to 150 cells along the lot's long side
 * @throws AppError BAD_INPUT when the cell asked for makes more cells than `maxCells`
 */
export function gridForLot(lotRing: RingM, cellM: number | null, maxCells = DEFAULT_MAX_CELLS): LotGrid {
  const box = boundingBox(lotRing);
  const longSideM = Math.max(box.maxX - box.minX, box.maxY - box.minY);
  if (!(longSideM > 0) || !Number.isFinite(longSideM)) {
    throw new AppError('BAD_INPUT', `The lot has no extent (${longSideM} m): no grid can be laid over it.`);
  }
  let cell = cellM ?? roundBelow(longSideM / FEWEST_CELLS_ALONG);
  let grid = gridOver(box, cell);
  if (cellM !== null && (!(cellM > 0) || grid.columns * grid.rows > maxCells)) {
    throw new AppError(
      'BAD_INPUT',
      `Cells of ${cellM} m make ${grid.columns} x ${grid.rows} cells over this lot; at most ${maxCells} can be computed.`,
      { field: 'cellM', cellM, maxCells },
    );
  }
  while (grid.columns * grid.rows > maxCells) {
    cell = roundAbove(cell);
    grid = gridOver(box, cell);
  }
  const inside = cellsInside(grid, lotRing);
  const near = inside.slice();
  markNearEdge(grid, lotRing, near);
  return { grid, inside, near };
}

/** Project metres of a cell's centre. */
export function cellCentre(grid: GridSpec, column: number, row: number): PositionM {
  return [grid.x0M + column * grid.cellM, grid.y0M + row * grid.cellM];
}

function gridOver(box: ReturnType<typeof boundingBox>, cell: number): GridSpec {
  const first = (low: number) => Math.ceil(low / cell - MARGIN_CELLS - 0.5);
  const last = (high: number) => Math.floor(high / cell + MARGIN_CELLS - 0.5);
  const [i0, j0] = [first(box.minX), first(box.minY)];
  return {
    x0M: (i0 + 0.5) * cell,
    y0M: (j0 + 0.5) * cell,
    cellM: cell,
    columns: last(box.maxX) - i0 + 1,
    rows: last(box.maxY) - j0 + 1,
  };
}

function cellsInside(grid: GridSpec, ring: RingM): Uint8Array {
  const inside = new Uint8Array(grid.columns * grid.rows);
  for (let row = 0; row < grid.rows; row++) {
    const y = grid.y0M + row * grid.cellM;
    const crossings: number[] = [];
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [ax, ay] = ring[i] as PositionM;
      const [bx, by] = ring[j] as PositionM;
      if (ay > y !== by > y) crossings.push(((bx - ax) * (y - ay)) / (by - ay) + ax);
    }
    crossings.sort((a, b) => a - b);
    for (let c = 0; c + 1 < crossings.length; c += 2) {
      const from = Math.ceil(((crossings[c] as number) - grid.x0M) / grid.cellM);
      const to = Math.floor(((crossings[c + 1] as number) - grid.x0M) / grid.cellM);
      inside.fill(
        1,
        row * grid.columns + Math.max(0, from),
        row * grid.columns + Math.min(grid.columns, to + 1),
      );
    }
  }
  return inside;
}

function markNearEdge(grid: GridSpec, ring: RingM, near: Uint8Array): void {
  const reach = MARGIN_CELLS * grid.cellM;
  const clamp = (value: number, count: number) => Math.min(count - 1, Math.max(0, value));
  for (let i = 0; i < ring.length; i++) {
    const a = ring[i] as PositionM;
    const b = ring[(i + 1) % ring.length] as PositionM;
    const column = (x: number) => (x - grid.x0M) / grid.cellM;
    const row = (y: number) => (y - grid.y0M) / grid.cellM;
    const fromRow = clamp(Math.ceil(row(Math.min(a[1], b[1]) - reach)), grid.rows);
    const toRow = clamp(Math.floor(row(Math.max(a[1], b[1]) + reach)), grid.rows);
    const fromColumn = clamp(Math.ceil(column(Math.min(a[0], b[0]) - reach)), grid.columns);
    const toColumn = clamp(Math.floor(column(Math.max(a[0], b[0]) + reach)), grid.columns);
    for (let r = fromRow; r <= toRow; r++) {
      for (let c = fromColumn; c <= toColumn; c++) {
        const at = r * grid.columns + c;
        if (near[at] === 0 && distanceToSegment(cellCentre(grid, c, r), a, b) <= reach) near[at] = 1;
      }
    }
  }
}

function roundBelow(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  const step = ROUND_STEPS.findLast((candidate) => candidate * power <= value * (1 + 1e-9)) ?? 1;
  return tidy(step * power);
}

function roundAbove(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value) + 1e-9);
  const step = ROUND_STEPS.find((candidate) => candidate * power > value * (1 + 1e-9)) ?? 10;
  return tidy(step * power);
}

/** Takes the last binary digits off, so that 3 x 0.1 is 0.3. */
function tidy(value: number): number {
  return Number(value.toPrecision(6));
}
