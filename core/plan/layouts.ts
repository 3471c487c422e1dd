/** Regular patterns of probes, laid out with a given spacing, turn and origin. No optimising here. */
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import { bufferPolygons, distanceToRing, pointInPolygon } from '../geo/planar.ts';
import type { GroundTest } from './ground-test.ts';

/**
 * square: s by s. triangular: rows s x sqrt(3) / 2 apart, every other row shifted by s / 2. offset: rows s apart, every
 * other row shifted by s / 2. adaptive: square with s near the footprint and 2 s elsewhere.
 */
export type LatticePattern = 'square' | 'triangular' | 'offset' | 'adaptive';

export interface Lattice {
  readonly pattern: LatticePattern;
  readonly spacingM: number;
  /** Of the rows, degrees anticlockwise from east. */
  readonly turnDeg: number;
  /** A node of the lattice. */
  readonly originM: PositionM;
}

/** What 'adaptive' is denser near to. */
export interface DenseNear {
  readonly ring: RingM;
  readonly withinM: number;
}

/** Nodes of the lattice on the ground, row by row. */
export function latticeNodes(lattice: Lattice, ground: GroundTest, near: DenseNear | null): PositionM[] {
  const { pattern, spacingM: s, turnDeg, originM } = lattice;
  const rowM = pattern === 'triangular' ? (s * Math.sqrt(3)) / 2 : s;
  const staggered = pattern === 'triangular' || pattern === 'offset';
  const [cos, sin] = directionOf(turnDeg);
  const { minX, maxX, minY, maxY } = ground.box;
  let [lowU, highU, lowV, highV] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const [x, y] of [
    [minX, minY],
    [maxX, minY],
    [minX, maxY],
    [maxX, maxY],
  ] as const) {
    const u = (x - originM[0]) * cos + (y - originM[1]) * sin;
    const v = (y - originM[1]) * cos - (x - originM[0]) * sin;
    lowU = Math.min(lowU, u);
    highU = Math.max(highU, u);
    lowV = Math.min(lowV, v);
    highV = Math.max(highV, v);
  }
  const slack = 1e-6;
  const out: PositionM[] = [];
  for (let j = Math.ceil((lowV - slack) / rowM); j * rowM <= highV + slack; j++) {
    const shift = staggered && j % 2 !== 0 ? s / 2 : 0;
    for (let i = Math.ceil((lowU - shift - slack) / s); i * s + shift <= highU + slack; i++) {
      const u = i * s + shift;
      const v = j * rowM;
      const x = originM[0] + u * cos - v * sin;
      const y = originM[1] + u * sin + v * cos;
      if (pattern === 'adaptive' && (i % 2 !== 0 || j % 2 !== 0) && !isNear(x, y, near)) continue;
      if (ground.contains(x, y)) out.push([x, y]);
    }
  }
  return out;
}

function isNear(x: number, y: number, near: DenseNear | null): boolean {
  if (near === null) return false;
  return pointInPolygon([x, y], [near.ring]) || distanceToRing([x, y], near.ring) <= near.withinM;
}

/** Cosine and sine, exact for whole quarter turns so that a lattice along the axes keeps round coordinates. */
export function directionOf(turnDeg: number): readonly [cos: number, sin: number] {
  const t = ((turnDeg % 360) + 360) % 360;
  if (t % 90 === 0) {
    const quarter = t / 90;
    return [[1, 0, -1, 0][quarter] ?? 1, [0, 1, 0, -1][quarter] ?? 0];
  }
  return [Math.cos((t * Math.PI) / 180), Math.sin((t * Math.PI) / 180)];
}

/** Rings along a footprint, the first `offsetM` outside it (inside where negative), the others spacing by spacing inwards. */
export function footprintRings(footprint: RingM, spacingM: number, offsetM: number): RingM[] {
  const rings: RingM[] = [];
  for (let inward = -offsetM; ; inward += spacingM) {
    const polygons: readonly PolygonM[] =
      inward === 0 ? [[footprint]] : bufferPolygons([[footprint]], -inward);
    if (polygons.length === 0) return rings;
    for (const [outer] of polygons) if (outer !== undefined) rings.push(outer);
  }
}

/** How many probes each ring takes so that the steps are as even as whole numbers let them; they sum to `total`. */
export function shareAlongRings(rings: readonly RingM[], total: number): number[] {
  const lengths = rings.map(ringLength);
  const sum = lengths.reduce((s, length) => s + length, 0);
  const exact = lengths.map((length) => (total * length) / sum);
  const counts = exact.map(Math.floor);
  const order = exact.map((value, i) => ({ i, rest: value - Math.floor(value) }));
  order.sort((a, b) => b.rest - a.rest || a.i - b.i);
  const missing = total - counts.reduce((s, count) => s + count, 0);
  for (const { i } of order.slice(0, missing)) counts[i] = (counts[i] as number) + 1;
  return counts;
}

/** The step nearest to the spacing that divides each ring. */
export function countsForSpacing(rings: readonly RingM[], spacingM: number): number[] {
  return rings.map((ring) => Math.max(1, Math.round(ringLength(ring) / spacingM)));
}

/**
 * Probes at equal steps along rings, `counts[i]` on ring i; those off the ground are left out.
 * @param phase where the first probe of each ring stands, as a share of a step past the ring's first corner
 */
export function nodesAlongRings(
  rings: readonly RingM[],
  counts: readonly number[],
  phase: number,
  ground: GroundTest,
): PositionM[] {
  const out: PositionM[] = [];
  rings.forEach((ring, r) => {
    const count = counts[r] as number;
    const total = ringLength(ring);
    let edge = 0;
    let before = 0;
    for (let k = 0; k < count; k++) {
      const at = ((k + phase) * total) / count;
      while (edge < ring.length - 1 && before + edgeLength(ring, edge) <= at)
        before += edgeLength(ring, edge++);
      const a = ring[edge] as PositionM;
      const b = ring[(edge + 1) % ring.length] as PositionM;
      const share = Math.min(1, (at - before) / edgeLength(ring, edge));
      const x = a[0] + share * (b[0] - a[0]);
      const y = a[1] + share * (b[1] - a[1]);
      if (ground.contains(x, y)) out.push([x, y]);
    }
  });
  return out;
}

function edgeLength(ring: RingM, edge: number): number {
  const [ax, ay] = ring[edge] as PositionM;
  const [bx, by] = ring[(edge + 1) % ring.length] as PositionM;
  return Math.hypot(bx - ax, by - ay);
}

function ringLength(ring: RingM): number {
  return ring.reduce((sum, _, edge) => sum + edgeLength(ring, edge), 0);
}
