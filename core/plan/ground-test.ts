// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Ground prepared for many quick questions about points. */
import type { PolygonM, PositionM } from '../contract/model.ts';
import { type BoxM, boundingBox } from '../geo/planar.ts';

export interface GroundTest {
  readonly box: BoxM;
  /** Every edge of every ring as [ax, ay, bx, by]. */
  readonly edges: Float64Array;
  /** On an edge, within a micrometre, counts as inside. */
  contains(xM: number, yM: number): boolean;
  /** Metres to the nearest edge, whichever side the point is on. */
  distanceToEdge(xM: number, yM: number): number;
}

const ON_EDGE_M = 1e-6;

/** @param polygons must not overlap each other */
export function prepareGround(polygons: readonly PolygonM[]): GroundTest {
  const flat: number[] = [];
  for (const ring of polygons.flat()) {
    for (let i = 0; i < ring.length; i++) flat.push(...ring[i]!, ...ring[(i + 1) % ring.length]!);
  }
  const edges = Float64Array.from(flat);
  const box = boundingBox(polygons.flatMap((polygon) => polygon[0] ?? []));
  const squaredDistance = (x: number, y: number): number => {
    let best = Number.POSITIVE_INFINITY;
    for (let e = 0; e < edges.length; e += 4) {
      const ax = edges[e]!;
      const ay = edges[e + 1]!;
      const dx = edges[e + 2]! - ax;
      const dy = edges[e + 3]! - ay;
      const length2 = dx * dx + dy * dy;
      const t = length2 === 0 ? 0 : Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / length2));
      const ex = x - ax - t * dx;
      const ey = y - ay - t * dy;
      const d2 = ex * ex + ey * ey;
      if (d2 < best) best = d2;
    }
    return best;
  };
  return {
    box,
    edges,
    contains(x, y) {
      if (x < box.minX - ON_EDGE_M || x > box.maxX + ON_EDGE_M) return false;
      if (y < box.minY - ON_EDGE_M || y > box.maxY + ON_EDGE_M) return false;
      let inside = false;
      for (let e = 0; e < edges.length; e += 4) {
        const ay = edges[e + 1]!;
        const by = edges[e + 3]!;
        if (ay > y === by > y) continue;
        const ax = edges[e]!;
        if (x < ((edges[e + 2]! - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
      }
      return inside || squaredDistance(x, y) <= ON_EDGE_M * ON_EDGE_M;
    },
    distanceToEdge: (x, y) => Math.sqrt(squaredDistance(x, y)),
  };
}

/** Edges, corners and a regular grid of points about `stepM` apart that stand for the ground. Always at least the corners. */
export function samplePoints(polygons: readonly PolygonM[], stepM: number): PositionM[] {
  const out: PositionM[] = gridPointsInside(polygons, stepM);
  for (const ring of polygons.flat()) {
    for (let i = 0; i < ring.length; i++) {
      const [ax, ay] = ring[i]!;
      const [bx, by] = ring[(i + 1) % ring.length]!;
      const pieces = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) / stepM));
      for (let k = 0; k < pieces; k++) {
        out.push([ax + ((bx - ax) * k) / pieces, ay + ((by - ay) * k) / pieces]);
      }
    }
  }
  return out;
}

/**
 * Centres, inside the ground, of equal cells that fill the box of each polygon and measure about `stepM` each way;
 * polygon by polygon, row by row from the south-west.
 */
export function gridPointsInside(polygons: readonly PolygonM[], stepM: number): PositionM[] {
  // a box of its own for each: small pieces far apart would else cost a grid over all that lies between
  return polygons.flatMap((polygon) => {
    const ground = prepareGround([polygon]);
    const { minX, maxX, minY, maxY } = ground.box;
    const out: PositionM[] = [];
    const columns = Math.max(1, Math.round((maxX - minX) / stepM));
    const rows = Math.max(1, Math.round((maxY - minY) / stepM));
    for (let r = 0; r < rows; r++) {
      const y = minY + ((r + 0.5) * (maxY - minY)) / rows;
      for (let c = 0; c < columns; c++) {
        const x = minX + ((c + 0.5) * (maxX - minX)) / columns;
        if (ground.contains(x, y)) out.push([x, y]);
      }
    }
    return out;
  });
}

/** A step that puts about `count` grid nodes on ground of this area. */
export function stepForCount(areaM2: number, count: number): number {
  return Math.sqrt(areaM2 / count);
}
