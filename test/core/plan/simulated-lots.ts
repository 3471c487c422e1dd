/** Made-up lots for judging where next probes go: seeded, invented. */

import type { KeepOut, PolygonM, PositionM, RingM } from '../../../core/contract/model.ts';
import { bufferPolygons, intersectPolygons, polygonsArea } from '../../../core/geo/planar.ts';
import { krige } from '../../../core/geostat/krige.ts';
import type { VariogramModel } from '../../../core/geostat/models.ts';
import { groundForProbes } from '../../../core/plan/allowed-ground.ts';
import { designGrid } from '../../../core/plan/grid-design.ts';
import { gridPointsInside, prepareGround, stepForCount } from '../../../core/plan/ground-test.ts';
import { directionOf, latticeNodes } from '../../../core/plan/layouts.ts';
import { seededUniform } from '../geostat/simulate.ts';

export interface SimulatedLot {
  readonly ground: readonly PolygonM[];
  readonly areaM2: number;
  readonly measured: readonly PositionM[];
  readonly model: VariogramModel;
  readonly count: number;
  /** Measured around a first footprint only, not all over the lot. */
  readonly clustered: boolean;
}

/**
 * A crooked four-sided lot of 30 to 60 m with a service line across; 15 to 25 probes around a first footprint (half of
 * the lots) or on a grid over the lot of which one in five was refused; 5 to 10 more to come. Nugget share 0 to 0.4,
 * practical range 0.25 to 1 of the lot's side.
 */
export function simulateLot(seed: number): SimulatedLot {
  const uniform = seededUniform(seed * 7919);
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const [w, h] = [between(30, 60), between(30, 60)];
  const corner = (x: number, y: number): PositionM => [x + between(-4, 4), y + between(-4, 4)];
  const lot: RingM = [corner(0, 0), corner(w, 0), corner(w, h), corner(0, h)];
  const service: KeepOut = {
    id: 's',
    label: 'service',
    shape: 'line',
    points: [
      [between(0, w), -10],
      [between(0, w), h + 10],
    ],
    bufferM: 1.5,
  };
  const { polygons: ground, areaM2 } = groundForProbes({ lot, keepOuts: [service] });
  const test = prepareGround(ground);
  const turnDeg = between(0, 90);
  let measured: PositionM[];
  const clustered = uniform() < 0.5;
  if (clustered) {
    const [cos, sin] = directionOf(turnDeg);
    const [cx, cy] = [between(0.3, 0.7) * w, between(0.3, 0.7) * h];
    measured = Array.from({ length: 20 }, (_, k): PositionM => {
      const [u, v] = [((k % 4) - 1.5) * 4.5, (Math.floor(k / 4) - 2) * 4.5];
      return [cx + u * cos - v * sin, cy + u * sin + v * cos];
    });
  } else {
    const spacingM = Math.sqrt(areaM2 / between(20, 28));
    measured = latticeNodes(
      { pattern: 'square', spacingM, turnDeg, originM: [w / 2, h / 2] },
      test,
      null,
    ).filter(() => uniform() > 0.2);
  }
  const kinds = ['exponential', 'spherical', 'matern'] as const;
  const kind = kinds[Math.floor(uniform() * 3)] ?? 'spherical';
  const practicalM = between(0.25, 1) * Math.max(w, h);
  const nugget = between(0, 0.4);
  // practical range over scale: 1 for spherical, 3.00 exponential, 4.74 Matern 1.5
  const rangeM = practicalM / { exponential: 3, spherical: 1, matern: 4.74 }[kind];
  const model: VariogramModel = { nugget, structures: [{ kind, partialSill: 1 - nugget, rangeM }] };
  const count = 5 + Math.floor(uniform() * 6);
  return {
    ground,
    areaM2,
    measured: measured.filter(([x, y]) => test.contains(x, y)),
    model,
    count,
    clustered,
  };
}

/** Around the intended building, as far as its class asks for points (common practice). */
const SURROUNDINGS_M = 5;

/** The building that is asked about: a rectangle somewhere on the ground, and it with its surroundings. */
export interface IntendedBuilding {
  readonly footprint: RingM;
  /** Footprint and 5 m around, as far as probes may be driven there. */
  readonly target: readonly PolygonM[];
}

/**
 * 10 to 16 m by 8 to 12 m at any turn, the first of seeded places that lies on the ground; null where 500 tries find none.
 * Draws from a stream of its own: the lots are the same with and without it.
 */
export function intendBuilding(lot: SimulatedLot, seed: number): IntendedBuilding | null {
  const uniform = seededUniform(seed * 104729);
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const { minX, maxX, minY, maxY } = prepareGround(lot.ground).box;
  for (let tries = 0; tries < 500; tries++) {
    const [w, h] = [between(10, 16), between(8, 12)];
    const [cos, sin] = directionOf(between(0, 90));
    const [cx, cy] = [between(minX, maxX), between(minY, maxY)];
    const corner = (u: number, v: number): PositionM => [cx + u * cos - v * sin, cy + u * sin + v * cos];
    const footprint: RingM = [
      corner(-w / 2, -h / 2),
      corner(w / 2, -h / 2),
      corner(w / 2, h / 2),
      corner(-w / 2, h / 2),
    ];
    if (polygonsArea(intersectPolygons([[footprint]], lot.ground)) < w * h * (1 - 1e-9)) continue;
    return {
      footprint,
      target: intersectPolygons(bufferPolygons([[footprint]], SURROUNDINGS_M), lot.ground),
    };
  }
  return null;
}

/** Mean kriging variance over about 440 places (none of which is a candidate) of `target`, once `added` are measured too. */
export function meanVariance(
  lot: SimulatedLot,
  added: readonly PositionM[],
  target: readonly PolygonM[] = lot.ground,
): number {
  const cells = gridPointsInside(target, stepForCount(polygonsArea(target), 437));
  const all = [...lot.measured, ...added];
  const xy = Float64Array.from(all.flat());
  const { variance } = krige(
    { xy, values: new Float64Array(all.length) },
    lot.model,
    Float64Array.from(cells.flat()),
  );
  return variance.reduce((s, v) => s + v, 0) / variance.length;
}

/** What the planner itself lays for the number, blind to the probes there are: one layout each, square, triangular and offset. */
export function plannerLayouts(lot: SimulatedLot, building: IntendedBuilding | null = null): PositionM[][] {
  return (['square', 'triangular', 'offset'] as const).map((pattern) =>
    designGrid(
      {
        pattern,
        size: { count: lot.count },
        ground: lot.ground,
        footprint: building?.footprint ?? null,
        around: building === null ? 'all' : { footprintPlusM: SURROUNDINGS_M },
      },
      { stopped: () => false, progress: () => {} },
    ).probes.map((p) => p.positionM),
  );
}

/**
 * Regular infills of exactly the number: square and triangular lattices over `ground`, 12 turns and 16 shifts each,
 * the spacing found so that the number fits.
 */
export function regularInfills(lot: SimulatedLot, ground: readonly PolygonM[] = lot.ground): PositionM[][] {
  const test = prepareGround(ground);
  const out: PositionM[][] = [];
  for (const [pattern, full] of [
    ['square', 90],
    ['triangular', 60],
  ] as const) {
    for (let turn = 0; turn < 12; turn++) {
      for (let shift = 0; shift < 16; shift++) {
        let [low, high] = [1, 100];
        for (let step = 0; step < 30; step++) {
          const spacingM = Math.sqrt(low * high);
          const originM: PositionM = [
            test.box.minX + ((shift % 4) / 4) * spacingM,
            test.box.minY + (Math.floor(shift / 4) / 4) * spacingM,
          ];
          const nodes = latticeNodes({ pattern, spacingM, turnDeg: (turn * full) / 12, originM }, test, null);
          if (nodes.length === lot.count) {
            out.push(nodes);
            break;
          }
          if (nodes.length > lot.count) low = spacingM;
          else high = spacingM;
        }
      }
    }
  }
  return out;
}
