/** The strip round a keep-out as the map draws it. For the eye only: what is kept free is worked out by the engine. */
import { contours } from 'd3-contour';
import type { KeepOut, PolygonM, PositionM } from '../../core/contract/model.ts';
import { boundsOf, ringContains } from './geometry.ts';

const CELLS_TO_A_BUFFER = 4;
const MOST_CELLS_A_SIDE = 700;

const known = new WeakMap<KeepOut, readonly PolygonM[]>();

function distanceToSegmentM([x, y]: PositionM, a: PositionM, b: PositionM): number {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const length2 = dx * dx + dy * dy;
  const t = length2 === 0 ? 0 : Math.max(0, Math.min(1, ((x - a[0]) * dx + (y - a[1]) * dy) / length2));
  return Math.hypot(x - a[0] - t * dx, y - a[1] - t * dy);
}

/**
 * Polygons of all ground within `bufferM` of the keep-out, itself included: the contour of a field of distances, true
 * to about a twentieth of the buffer. Empty where there is no buffer; the outline itself is drawn then.
 */
export function keepOutStrip(keepOut: KeepOut): readonly PolygonM[] {
  let strip = known.get(keepOut);
  if (!strip) {
    strip = contourStrip(keepOut);
    known.set(keepOut, strip);
  }
  return strip;
}

function contourStrip({ shape, points, bufferM }: KeepOut): readonly PolygonM[] {
  const bounds = boundsOf(points);
  if (!bounds || !(bufferM > 0)) return [];
  const [width, height] = [bounds.maxX - bounds.minX, bounds.maxY - bounds.minY];
  const cellM = Math.max(
    bufferM / CELLS_TO_A_BUFFER,
    (Math.max(width, height) + 2 * bufferM) / (MOST_CELLS_A_SIDE - 6),
  );
  const marginM = bufferM + 2.5 * cellM;
  const [west, south] = [bounds.minX - marginM, bounds.minY - marginM];
  const columns = Math.ceil((width + 2 * marginM) / cellM) + 1;
  const rows = Math.ceil((height + 2 * marginM) / cellM) + 1;
  const sides = points.flatMap((a, i): (readonly [PositionM, PositionM])[] => {
    const b = points[i + 1] ?? (shape === 'polygon' ? points[0] : undefined);
    return b ? [[a, b]] : [];
  });
  const nearness = new Array<number>(columns * rows);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const at: PositionM = [west + column * cellM, south + row * cellM];
      const isIn = shape === 'polygon' && ringContains(points, at);
      const distance = isIn ? 0 : Math.min(...sides.map(([a, b]) => distanceToSegmentM(at, a, b)));
      nearness[row * columns + column] = bufferM - distance;
    }
  }
  const [found] = contours().size([columns, rows]).thresholds([0])(nearness);
  // d3-contour puts the value of a cell at its middle, half a cell from its index.
  const toMetres = ([x = 0, y = 0]: readonly number[]): PositionM => [
    west + (x - 0.5) * cellM,
    south + (y - 0.5) * cellM,
  ];
  return (found?.coordinates ?? []).map((polygon) => polygon.map((ring) => ring.slice(0, -1).map(toMetres)));
}
