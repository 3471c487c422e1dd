/** Fewer points for bands that must stay one sheet: each border is thinned once, for both sides of it. */
import GeometryFactory from 'jsts/org/locationtech/jts/geom/GeometryFactory.js';
import TopologyPreservingSimplifier from 'jsts/org/locationtech/jts/simplify/TopologyPreservingSimplifier.js';
import type { PolygonM, PositionM, RingM } from '../contract/model.ts';
import type { ContourBand } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import { geometryLines, lineGeometry } from '../geo/jsts.ts';
import { findRingCrossing, pointInPolygon, polygonsArea, ringArea } from '../geo/planar.ts';

/** Between two nodes; the two sides of a border hold the same arc, one of them backwards. */
interface Arc {
  readonly points: readonly PositionM[];
  uses: number;
}

const keyOf = ([x, y]: PositionM): string => `${x},${y}`;
/** Halvings of the tolerance tried where thinned borders would touch. */
const MOST_TRIES = 6;
/** Part of the ground by which the sum of the bands may differ: rounding. */
const AREA_TOLERANCE = 1e-9;

/**
 * Bands with fewer points on the borders between them. No border moves by more than `toleranceM`, what two bands
 * share they still share point for point, and the outer edge of all of them stays as it is: no gap, no overlap.
 * Where thinned borders would touch, the tolerance is halved; where that does not help the bands come back unchanged.
 * @throws AppError BAD_INPUT for a tolerance that is no length
 */
export function simplifyBands(bands: readonly ContourBand[], toleranceM: number): ContourBand[] {
  if (!(toleranceM >= 0) || !Number.isFinite(toleranceM)) {
    throw new AppError('BAD_INPUT', `A tolerance of ${toleranceM} m is no length.`, { field: 'toleranceM' });
  }
  const rings = bands.flatMap((band) => band.polygons.flat());
  if (toleranceM === 0 || rings.length === 0) return [...bands];
  const nodes = findNodes(rings);
  const arcs = new Map<string, Arc>();
  for (const ring of rings) {
    for (const points of cutAtNodes(ring, nodes)) {
      const { key, forward } = nameArc(points);
      const known = arcs.get(key);
      if (known === undefined) arcs.set(key, { points: forward ? points : points.toReversed(), uses: 1 });
      else known.uses += 1;
    }
  }
  for (let k = 0, tolerance = toleranceM; k < MOST_TRIES; k++, tolerance /= 2) {
    const thinned = thinArcs(arcs, tolerance);
    const out = bands.map((band) => ({
      ...band,
      polygons: band.polygons.flatMap((polygon) => rebuild(polygon, nodes, thinned)),
    }));
    if (isOneSheet(bands, out)) return out;
  }
  return [...bands];
}

/** Where three or more borders meet, and three points on every ring that meets no other. */
function findNodes(rings: readonly RingM[]): Set<string> {
  const beside = new Map<string, Set<string>>();
  const link = (a: string, b: string) => {
    const found = beside.get(a);
    if (found === undefined) beside.set(a, new Set([b]));
    else found.add(b);
  };
  for (const ring of rings) {
    ring.forEach((point, i) => {
      const next = keyOf(ring[(i + 1) % ring.length] as PositionM);
      link(keyOf(point), next);
      link(next, keyOf(point));
    });
  }
  const nodes = new Set([...beside].filter(([, others]) => others.size !== 2).map(([key]) => key));
  // Corners of a triangle within the ring, which cannot fall together; found alike from either side of it.
  for (const ring of rings) {
    const own = ring.filter((point) => nodes.has(keyOf(point)));
    if (own.length >= 3) continue;
    const start = own[0] ?? ring.reduce((a, b) => (keyOf(a) < keyOf(b) ? a : b));
    const far = farthest(ring, (p) => Math.hypot(p[0] - start[0], p[1] - start[1]));
    const third = farthest(ring, (p) =>
      Math.abs((far[0] - start[0]) * (p[1] - start[1]) - (far[1] - start[1]) * (p[0] - start[0])),
    );
    for (const point of [start, far, third]) nodes.add(keyOf(point));
  }
  return nodes;
}

function farthest(ring: RingM, measure: (p: PositionM) => number): PositionM {
  return ring.reduce((best, p) => {
    const [a, b] = [measure(p), measure(best)];
    return a > b || (a === b && keyOf(p) < keyOf(best)) ? p : best;
  });
}

/** The ring as runs from node to node, ends included, in its own order. */
function cutAtNodes(ring: RingM, nodes: ReadonlySet<string>): PositionM[][] {
  const first = ring.findIndex((point) => nodes.has(keyOf(point)));
  const turned = [...ring.slice(first), ...ring.slice(0, first), ring[first] as PositionM];
  const runs: PositionM[][] = [];
  let run: PositionM[] = [];
  for (const point of turned) {
    run.push(point);
    if (run.length > 1 && nodes.has(keyOf(point))) {
      runs.push(run);
      run = [point];
    }
  }
  return runs;
}

/** One name for a run and for the same run backwards. */
function nameArc(points: readonly PositionM[]): { readonly key: string; readonly forward: boolean } {
  const ends = [points[0], points[1], points.at(-2), points.at(-1)].map((p) => keyOf(p as PositionM));
  const [forwards, backwards] = [ends.join(' '), ends.toReversed().join(' ')];
  return forwards <= backwards
    ? { key: `${forwards} ${points.length}`, forward: true }
    : { key: `${backwards} ${points.length}`, forward: false };
}

/** Borders thinned together, so that none crosses another; an edge of one side only is held, piece by piece. */
function thinArcs(arcs: ReadonlyMap<string, Arc>, toleranceM: number): Map<string, readonly PositionM[]> {
  const inner = [...arcs].filter(([, arc]) => arc.uses > 1);
  const held = [...arcs.values()]
    .filter((arc) => arc.uses === 1)
    .flatMap(({ points }) => points.slice(1).map((point, i) => [points[i] as PositionM, point]));
  const all = new GeometryFactory().createMultiLineString(
    [...inner.map(([, arc]) => arc.points), ...held].map((points) => lineGeometry(points)) as never,
  );
  const lines = geometryLines(TopologyPreservingSimplifier.simplify(all, toleranceM));
  const out = new Map([...arcs].map(([key, arc]) => [key, arc.points] as const));
  inner.forEach(([key, arc], i) => {
    out.set(key, lines[i] ?? arc.points);
  });
  return out;
}

function rebuild(
  polygon: PolygonM,
  nodes: ReadonlySet<string>,
  thinned: ReadonlyMap<string, readonly PositionM[]>,
): PolygonM[] {
  return [
    polygon.map((ring) =>
      cutAtNodes(ring, nodes).flatMap((run) => {
        const { key, forward } = nameArc(run);
        const points = thinned.get(key) ?? run;
        return (forward ? points : points.toReversed()).slice(0, -1);
      }),
    ),
  ];
}

/** Every ring simple and turned as before, every hole in its polygon, and the same ground in all. */
function isOneSheet(before: readonly ContourBand[], after: readonly ContourBand[]): boolean {
  const [was, is] = [before, after].map((bands) => bands.flatMap((band) => band.polygons)) as [
    PolygonM[],
    PolygonM[],
  ];
  const area = polygonsArea(was);
  if (Math.abs(polygonsArea(is) - area) > AREA_TOLERANCE * area) return false;
  return is.every((polygon, i) =>
    polygon.every((ring, k) => {
      const old = was[i]?.[k] as RingM;
      const isWhole = ring.length >= 3 && findRingCrossing(ring) === null;
      const isTurnedAlike = Math.sign(ringArea(ring)) === Math.sign(ringArea(old));
      const [first] = ring;
      const outer = polygon[0] as RingM;
      return (
        isWhole &&
        isTurnedAlike &&
        (k === 0 || (first !== undefined && (pointInPolygon(first, [outer]) || touches(first, outer))))
      );
    }),
  );
}

function touches(point: PositionM, ring: RingM): boolean {
  const key = keyOf(point);
  return ring.some((p) => keyOf(p) === key);
}
