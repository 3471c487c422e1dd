/** Blocks for block kriging: the reference that means over an area are held to. */
// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
import { AppError } from '../../../core/errors.ts';
import type { BlockNodes } from '../../../core/geostat/kriging.ts';

/** Gauss-Legendre nodes and weights of order 4 on [-1, 1], in closed form. */
const INNER = Math.sqrt(3 / 7 - (2 / 7) * Math.sqrt(6 / 5));
const OUTER = Math.sqrt(3 / 7 + (2 / 7) * Math.sqrt(6 / 5));
const INNER_WEIGHT = (18 + Math.sqrt(30)) / 36;
const OUTER_WEIGHT = (18 - Math.sqrt(30)) / 36;

function tensorNodes(
  nodes: readonly number[],
  weights: readonly number[],
  widthM: number,
  heightM: number,
): BlockNodes {
  const n = nodes.length;
  const offsetsXy = new Float64Array(2 * n * n);
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      offsetsXy[2 * (i * n + j)] = (nodes[j]! * widthM) / 2;
      offsetsXy[2 * (i * n + j) + 1] = (nodes[i]! * heightM) / 2;
      out[i * n + j] = weights[i]! * weights[j]!;
    }
  }
  return { offsetsXy, weights: out };
}

/** 4 x 4 Gauss-Legendre nodes of a rectangle centred on the cell. */
export function gaussBlock(widthM: number, heightM: number): BlockNodes {
  const weights = [OUTER_WEIGHT, INNER_WEIGHT, INNER_WEIGHT, OUTER_WEIGHT].map((w) => w / 2);
  return tensorNodes([-OUTER, -INNER, INNER, OUTER], weights, widthM, heightM);
}

/** Centres of a regular count x count division of a rectangle centred on the cell, equal weights. */
export function regularBlock(widthM: number, heightM: number, count = 4): BlockNodes {
  const nodes = Array.from({ length: count }, (_, i) => (2 * i + 1) / count - 1);
  return tensorNodes(nodes, Array<number>(count).fill(1 / count), widthM, heightM);
}

function isInside(rings: readonly (readonly (readonly [number, number])[])[], x: number, y: number): boolean {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [xi, yi] = ring[i]!;
      const [xj, yj] = ring[j]!;
      if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
    }
  }
  return inside;
}

/**
 * Nodes of any polygon (outer ring and holes, even-odd rule) at the centres of a regular grid over its box, equal
 * weights. The offsets are absolute positions: use with a cell at (0, 0).
 * @param target about how many nodes to aim for
 * @throws AppError BAD_INPUT for a polygon without area
 */
export function polygonBlock(
  rings: readonly (readonly (readonly [number, number])[])[],
  target = 64,
): BlockNodes {
  const all = rings.flat();
  const minX = Math.min(...all.map((p) => p[0]));
  const maxX = Math.max(...all.map((p) => p[0]));
  const minY = Math.min(...all.map((p) => p[1]));
  const maxY = Math.max(...all.map((p) => p[1]));
  const width = maxX - minX;
  const height = maxY - minY;
  // Doubling ends: a polygon with area holds grid centres once the grid is fine enough.
  for (let wanted = target; width > 0 && height > 0 && wanted <= target * 1024; wanted *= 2) {
    const step = Math.sqrt((width * height) / wanted);
    const columns = Math.max(1, Math.round(width / step));
    const rows = Math.max(1, Math.round(height / step));
    const nodes: number[] = [];
    for (let r = 0; r < rows; r++) {
      for (let c = 0; c < columns; c++) {
        const x = minX + ((c + 0.5) * width) / columns;
        const y = minY + ((r + 0.5) * height) / rows;
        if (isInside(rings, x, y)) nodes.push(x, y);
      }
    }
    const count = nodes.length / 2;
    if (count >= target / 2)
      return { offsetsXy: Float64Array.from(nodes), weights: new Float64Array(count).fill(1 / count) };
  }
  throw new AppError('BAD_INPUT', `Block: the polygon with ${all.length} corners has no area`);
}
