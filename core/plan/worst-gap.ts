// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** The worst gap of a layout: the largest distance from ground of interest to its nearest probe. */
import type { PolygonM, PositionM } from '../contract/model.ts';
import { polygonsArea } from '../geo/planar.ts';
import { buildSpatialIndex, nearestSearch } from '../geostat/spatial-index.ts';
import { type GroundTest, prepareGround, samplePoints, stepForCount } from './ground-test.ts';

export interface Interest {
  readonly ground: GroundTest;
  readonly areaM2: number;
  readonly samples: readonly PositionM[];
  readonly stepM: number;
}

export interface WorstGap {
  readonly gapM: number;
  readonly atM: PositionM;
}

const CLIMBERS = 6;

/** @param samples about how many places inside stand for the ground; edges and corners come on top */
export function prepareInterest(polygons: readonly PolygonM[], samples: number): Interest {
  const areaM2 = polygonsArea(polygons);
  const stepM = stepForCount(areaM2, samples);
  return { ground: prepareGround(polygons), areaM2, samples: samplePoints(polygons, stepM), stepM };
}

/**
 * The largest distance among the samples, then climbed to its top from the six widest of them. A peak that lies between
 * samples under all six is missed, so the gap can be low by at most 0.71 of the samples' step.
 * @param giveUpAbove once a sample's gap exceeds this, its distance is returned as it is: the layout is worse anyway
 */
export function worstGap(
  nodes: readonly PositionM[],
  interest: Interest,
  giveUpAbove = Number.POSITIVE_INFINITY,
): WorstGap {
  if (nodes.length === 0) return { gapM: Number.POSITIVE_INFINITY, atM: interest.samples[0] ?? [0, 0] };
  const nearest = nearestDistance(nodes);
  const top: WorstGap[] = [];
  for (const atM of interest.samples) {
    const gapM = nearest(atM[0], atM[1]);
    if (gapM > giveUpAbove) return { gapM, atM };
    if (top.length < CLIMBERS || gapM > top.at(-1)!.gapM) {
      top.push({ gapM, atM });
      top.sort((a, b) => b.gapM - a.gapM);
      if (top.length > CLIMBERS) top.pop();
    }
  }
  let best: WorstGap = { gapM: Number.NEGATIVE_INFINITY, atM: [0, 0] };
  for (const start of top) {
    const found = climb(start, interest, nearest);
    if (found.gapM > best.gapM) best = found;
    if (best.gapM > giveUpAbove) return best;
  }
  return best;
}

const DIRECTIONS = Array.from({ length: 16 }, (_, k) => [
  Math.cos((k * Math.PI) / 8),
  Math.sin((k * Math.PI) / 8),
]);

function climb(start: WorstGap, interest: Interest, nearest: (x: number, y: number) => number): WorstGap {
  let best = start;
  for (let step = interest.stepM / 2; step > interest.stepM / 500; step /= 2) {
    for (let moved = true; moved; ) {
      moved = false;
      for (const [dx, dy] of DIRECTIONS) {
        const x = best.atM[0] + step * dx!;
        const y = best.atM[1] + step * dy!;
        const gapM = nearest(x, y);
        if (gapM > best.gapM + 1e-9 && interest.ground.contains(x, y)) {
          best = { gapM, atM: [x, y] };
          moved = true;
        }
      }
    }
  }
  return best;
}

/** Below this a plain loop beats the tree. */
const FEW_NODES = 48;

function nearestDistance(nodes: readonly PositionM[]): (x: number, y: number) => number {
  const xs = Float64Array.from(nodes, (node) => node[0]);
  const ys = Float64Array.from(nodes, (node) => node[1]);
  if (nodes.length <= FEW_NODES) {
    return (x, y) => {
      let best = Number.POSITIVE_INFINITY;
      for (let i = 0; i < xs.length; i++) {
        const dx = xs[i]! - x;
        const dy = ys[i]! - y;
        const d2 = dx * dx + dy * dy;
        if (d2 < best) best = d2;
      }
      return Math.sqrt(best);
    };
  }
  const search = nearestSearch(buildSpatialIndex(xs, ys), 1);
  return (x, y) => {
    search.search(x, y, Number.POSITIVE_INFINITY, -1);
    return Math.sqrt(search.squaredDistance[0]!);
  };
}
