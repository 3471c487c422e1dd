// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Which cells of a grid lie under a ring and how much of each: exact areas, by summing signed areas along the outline. */
import type { RingM } from '../contract/model.ts';
import type { GridSpec } from '../contract/results.ts';
import { boundingBox } from '../geo/planar.ts';

export interface CellCover {
  /** Cells with any ground under the ring, in grid order. */
  readonly cells: Int32Array;
  /** Share of each cell that lies under it, above 0 to 1. */
  readonly shares: Float64Array;
  readonly areaM2: number;
  /** Part of the ring's area that lies off the grid. */
  readonly offGridShare: number;
}

/** A share below this is rounding. */
const NO_SHARE = 1e-9;

/** @param ring simple, either way round */
export function coverCells(ring: RingM, grid: GridSpec): CellCover {
  const { x0M, y0M, cellM, columns, rows } = grid;
  const box = boundingBox(ring);
  const column = (x: number) => (x - x0M) / cellM + 0.5;
  const row = (y: number) => (y - y0M) / cellM + 0.5;
  const firstRow = Math.max(0, Math.floor(row(box.minY)));
  const lastRow = Math.min(rows - 1, Math.ceil(row(box.maxY)) - 1);
  const firstColumn = Math.max(0, Math.floor(column(box.minX)));
  const lastColumn = Math.min(columns - 1, Math.ceil(column(box.maxX)) - 1);
  const width = lastColumn - firstColumn + 1;
  const height = lastRow - firstRow + 1;
  let twice = 0;
  const corners = ring.map(([x, y]) => [column(x) - firstColumn, row(y) - firstRow] as const);
  corners.forEach(([ax, ay], i) => {
    const [bx, by] = corners[(i + 1) % corners.length]!;
    twice += (ax - corners[0]![0]) * (by - corners[0]![1]) - (bx - corners[0]![0]) * (ay - corners[0]![1]);
  });
  const sign = twice >= 0 ? 1 : -1;
  const areaCells = Math.abs(twice) / 2;
  const cells: number[] = [];
  const shares: number[] = [];
  let covered = 0;
  if (width > 0 && height > 0) {
    // own[c]: signed area to the left of the outline's pieces within cell c; rise[c]: what all cells left of c gain whole
    const own = new Float64Array(width * height);
    const rise = new Float64Array((width + 1) * height);
    corners.forEach(([ax, ay], i) => {
      const [bx, by] = corners[(i + 1) % corners.length]!;
      addEdge(own, rise, width, height, ax, ay, bx, by);
    });
    for (let r = 0; r < height; r++) {
      let whole = 0;
      const line: number[] = [];
      for (let c = width - 1; c >= 0; c--) {
        whole += rise[r * (width + 1) + c + 1]!;
        line.push(sign * (own[r * width + c]! + whole));
      }
      for (let c = 0; c < width; c++) {
        const share = Math.min(1, line[width - 1 - c]!);
        if (share <= NO_SHARE) continue;
        cells.push((firstRow + r) * columns + firstColumn + c);
        shares.push(share);
        covered += share;
      }
    }
  }
  return {
    cells: Int32Array.from(cells),
    shares: Float64Array.from(shares),
    areaM2: areaCells * cellM * cellM,
    offGridShare: areaCells > 0 ? Math.max(0, 1 - covered / areaCells) : 0,
  };
}

/** One edge in cell units, cut at the rows and then at the columns. */
function addEdge(
  own: Float64Array,
  rise: Float64Array,
  width: number,
  height: number,
  ax: number,
  ay: number,
  bx: number,
  by: number,
): void {
  if (ay === by) return;
  const slope = (bx - ax) / (by - ay);
  const up = by > ay;
  const low = Math.max(0, Math.min(ay, by));
  const high = Math.min(height, Math.max(ay, by));
  for (let y = low; y < high; ) {
    const r = Math.floor(y);
    const next = Math.min(high, r + 1);
    const x1 = ax + (y - ay) * slope;
    const x2 = ax + (next - ay) * slope;
    addWithinRow(own, rise, width, r, x1, x2, up ? next - y : y - next);
    y = next;
  }
}

function addWithinRow(
  own: Float64Array,
  rise: Float64Array,
  width: number,
  r: number,
  x1: number,
  x2: number,
  dy: number,
): void {
  const [left, right] = x1 < x2 ? [x1, x2] : [x2, x1];
  const span = right - left;
  const put = (from: number, to: number) => {
    const part = span === 0 ? dy : (dy * (to - from)) / span;
    const middle = (from + to) / 2;
    const c = Math.min(width, Math.floor(middle));
    if (c < 0) return;
    if (c < width) own[r * width + c] = own[r * width + c]! + part * (middle - c);
    // every cell left of this one gains the full height of the piece
    rise[r * (width + 1) + c] = rise[r * (width + 1) + c]! + part;
  };
  if (span === 0) {
    put(left, right);
    return;
  }
  for (let x = left; x < right; ) {
    const next = Math.min(right, Math.floor(x) + 1);
    put(x, next);
    x = next;
  }
}
