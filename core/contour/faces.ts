/** The pieces into which lines cut the plane, sharing their edges exactly. */
import ArrayList from 'jsts/java/util/ArrayList.js';
import InteriorPointArea from 'jsts/org/locationtech/jts/algorithm/InteriorPointArea.js';
import PrecisionModel from 'jsts/org/locationtech/jts/geom/PrecisionModel.js';
import GeometryNoder from 'jsts/org/locationtech/jts/noding/snapround/GeometryNoder.js';
import type { PolygonM, PositionM } from '../contract/model.ts';
import { type Geometry, geometryLines, lineGeometry, polygonGeometry, signedArea } from '../geo/jsts.ts';

/** Lines meet on this raster (10 micrometres): no slivers, no gaps. */
const NODES_PER_M = 1e5;

export interface Face {
  readonly polygon: PolygonM;
  /** A place well inside. */
  readonly interior: PositionM;
}

/** One direction of an edge; its twin has the number with the last bit turned. */
interface HalfEdge {
  readonly from: number;
  readonly to: number;
}

/** Bounded pieces only. Parts of lines that enclose nothing are ignored. */
export function facesBetween(lines: readonly PositionM[][]): Face[] {
  const graph = buildGraph(nodeLines(lines));
  const part = connectedParts(graph);
  const shells: { ring: PositionM[]; holes: PositionM[][]; area: number; part: number }[] = [];
  const loose: { ring: PositionM[]; part: number }[] = [];
  for (const walk of walkFaces(graph)) {
    const rings = splitAtRepeats(walk).map((ring) => ring.map((v) => graph.places[v] as PositionM));
    const shell = rings.find((ring) => signedArea(ring) > 0);
    const holes = rings.filter((ring) => signedArea(ring) < 0);
    const ofPart = part[walk[0] as number] as number;
    if (shell === undefined) loose.push(...holes.map((ring) => ({ ring, part: ofPart })));
    else shells.push({ ring: shell, holes, area: signedArea(shell), part: ofPart });
  }
  // What lies free in a face is a hole of the smallest shell around it, which belongs to another connected part.
  shells.sort((a, b) => a.area - b.area);
  for (const hole of loose) {
    const around = shells.find((shell) => shell.part !== hole.part && surrounds(shell.ring, hole.ring));
    around?.holes.push(hole.ring);
  }
  return shells.flatMap(({ ring, holes }) => {
    const polygon: PolygonM = [ring, ...holes];
    const inside = InteriorPointArea.getInteriorPoint(polygonGeometry(polygon)) as {
      x: number;
      y: number;
    } | null;
    // Null only for a sliver without a place inside: nothing that could be drawn.
    return inside === null ? [] : [{ polygon, interior: [inside.x, inside.y] as const }];
  });
}

interface Graph {
  readonly places: readonly PositionM[];
  readonly edges: readonly HalfEdge[];
  /** Outgoing half edges of each place, anticlockwise. */
  readonly outgoing: readonly number[][];
}

/** Single segments, cut at every crossing, each once. */
function nodeLines(lines: readonly PositionM[][]): [PositionM, PositionM][] {
  const input = new ArrayList(undefined);
  for (const line of lines) if (line.length > 1) input.add(lineGeometry(line));
  if (input.size() === 0) return [];
  const noded = new GeometryNoder(new PrecisionModel(NODES_PER_M)).node(input);
  const segments: [PositionM, PositionM][] = [];
  for (let it = noded.iterator(); it.hasNext(); ) {
    for (const line of geometryLines(it.next() as Geometry)) {
      for (let i = 0; i + 1 < line.length; i++)
        segments.push([line[i] as PositionM, line[i + 1] as PositionM]);
    }
  }
  return segments;
}

function buildGraph(segments: readonly [PositionM, PositionM][]): Graph {
  const places: PositionM[] = [];
  const numbers = new Map<string, number>();
  const numberOf = (place: PositionM): number => {
    const key = `${Math.round(place[0] * NODES_PER_M)} ${Math.round(place[1] * NODES_PER_M)}`;
    const known = numbers.get(key);
    if (known !== undefined) return known;
    numbers.set(key, places.length);
    return places.push(place) - 1;
  };
  const seen = new Set<string>();
  const pairs: [number, number][] = [];
  for (const [a, b] of segments) {
    const [from, to] = [numberOf(a), numberOf(b)];
    const key = from < to ? `${from} ${to}` : `${to} ${from}`;
    if (from === to || seen.has(key)) continue;
    seen.add(key);
    pairs.push([from, to]);
  }
  const edges = withoutDeadEnds(pairs, places.length).flatMap(([from, to]): HalfEdge[] => [
    { from, to },
    { from: to, to: from },
  ]);
  const outgoing = places.map((): number[] => []);
  edges.forEach((edge, i) => {
    outgoing[edge.from]?.push(i);
  });
  const direction = (i: number) => {
    const edge = edges[i] as HalfEdge;
    const [a, b] = [places[edge.from] as PositionM, places[edge.to] as PositionM];
    return Math.atan2(b[1] - a[1], b[0] - a[0]);
  };
  for (const around of outgoing) if (around.length > 1) around.sort((i, j) => direction(i) - direction(j));
  return { places, edges, outgoing };
}

/** For each place the number of the connected part it belongs to. */
function connectedParts({ edges, outgoing }: Graph): Int32Array {
  const part = new Int32Array(outgoing.length).fill(-1);
  for (let start = 0; start < part.length; start++) {
    if (part[start] !== -1) continue;
    part[start] = start;
    const open = [start];
    for (let place = open.pop(); place !== undefined; place = open.pop()) {
      for (const edge of outgoing[place] ?? []) {
        const { to } = edges[edge] as HalfEdge;
        if (part[to] !== -1) continue;
        part[to] = start;
        open.push(to);
      }
    }
  }
  return part;
}

function withoutDeadEnds(pairs: readonly [number, number][], placeCount: number): [number, number][] {
  const touching = Array.from({ length: placeCount }, (): number[] => []);
  pairs.forEach(([a, b], i) => {
    touching[a]?.push(i);
    touching[b]?.push(i);
  });
  const degree = touching.map((list) => list.length);
  const isGone = new Uint8Array(pairs.length);
  const ends = degree.flatMap((count, place) => (count === 1 ? [place] : []));
  for (let place = ends.pop(); place !== undefined; place = ends.pop()) {
    const i = touching[place]?.find((candidate) => isGone[candidate] === 0);
    if (i === undefined) continue;
    isGone[i] = 1;
    for (const end of pairs[i] as [number, number]) {
      degree[end] = (degree[end] as number) - 1;
      if (degree[end] === 1) ends.push(end);
    }
  }
  return pairs.filter((_, i) => isGone[i] === 0);
}

/** Walks with the face on the left: bounded faces run anticlockwise, the outside of a connected part clockwise. */
function walkFaces({ edges, outgoing }: Graph): number[][] {
  const next = new Int32Array(edges.length);
  for (const around of outgoing) {
    // Arriving by the twin of around[k], the leftmost way on is the one before it, clockwise.
    around.forEach((edge, k) => {
      next[edge ^ 1] = around[(k + around.length - 1) % around.length] as number;
    });
  }
  const isWalked = new Uint8Array(edges.length);
  const walks: number[][] = [];
  for (let start = 0; start < edges.length; start++) {
    if (isWalked[start] === 1) continue;
    const walk: number[] = [];
    for (let at = start; isWalked[at] === 0; at = next[at] as number) {
      isWalked[at] = 1;
      walk.push((edges[at] as HalfEdge).from);
    }
    walks.push(walk);
  }
  return walks;
}

/** Rings that meet themselves at a corner, taken apart into rings that do not. */
function splitAtRepeats(walk: readonly number[]): number[][] {
  const rings: number[][] = [];
  const stack: number[] = [];
  const position = new Map<number, number>();
  for (const place of walk) {
    const earlier = position.get(place);
    if (earlier !== undefined) {
      const ring = stack.splice(earlier);
      for (const corner of ring) position.delete(corner);
      if (ring.length > 2) rings.push(ring);
    }
    position.set(place, stack.length);
    stack.push(place);
  }
  if (stack.length > 2) rings.push(stack);
  return rings;
}

function surrounds(shell: readonly PositionM[], hole: readonly PositionM[]): boolean {
  const [px, py] = hole[0] as PositionM;
  let inside = false;
  for (let i = 0, j = shell.length - 1; i < shell.length; j = i++) {
    const [ax, ay] = shell[i] as PositionM;
    const [bx, by] = shell[j] as PositionM;
    if (ay > py !== by > py && px < ((bx - ax) * (py - ay)) / (by - ay) + ax) inside = !inside;
  }
  return inside;
}
