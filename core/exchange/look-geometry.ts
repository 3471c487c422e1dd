/** What a geometry file holds, in sizes a person knows their outline by. */
import type { PositionM, ProjectFrame } from '../contract/model.ts';
import type { FeatureLook, GeometryKind } from '../contract/outlines.ts';
import { ringToFrame } from '../geo/frame.ts';
import { convertTied, type GridTie } from '../geo/local-grid.ts';
import { boundingBox, polygonsArea } from '../geo/planar.ts';
import { asPolygon, isMarked } from './choose-geometry.ts';
import { type GeometryFeature, type GeometryReading, pointsOf } from './geometry.ts';

const MOST_SHOWN = 400;
const SKETCH_POINTS = 60;

/**
 * Features that could be what is asked for, the largest first: those that the file marks as such, else polygons and
 * closed lines for outlines, all but planned probes for keep-outs, points for probes. At most 400; `total` says how many
 * there are.
 */
export function lookAtGeometry(
  reading: GeometryReading,
  what: GeometryKind,
  frame: ProjectFrame,
  tie: GridTie | null,
): { readonly features: FeatureLook[]; readonly total: number } {
  const fitting = reading.features.flatMap((feature): GeometryFeature[] => {
    const [polygon] = asPolygon(feature);
    if (what === 'probes') return feature.kind === 'point' ? [feature] : [];
    if (what === 'keep-out') return isMarked(feature, 'probe') ? [] : [polygon ?? feature];
    return polygon === undefined ? [] : [polygon];
  });
  const role = what === 'probes' ? 'probe' : what;
  const marked = fitting.filter((feature) => isMarked(feature, role));
  const looks = (marked.length > 0 ? marked : fitting).map((feature) => look(feature, reading, frame, tie));
  const size = (one: FeatureLook) => one.areaM2 ?? one.lengthM ?? 0;
  return {
    features: looks.sort((a, b) => size(b) - size(a)).slice(0, MOST_SHOWN),
    total: looks.length,
  };
}

function look(
  feature: GeometryFeature,
  { crs }: GeometryReading,
  frame: ProjectFrame,
  tie: GridTie | null,
): FeatureLook {
  const toMetres = (points: Parameters<typeof ringToFrame>[1]): PositionM[] =>
    ringToFrame(frame, convertTied(crs ?? frame.crs, frame.crs, tie, points));
  const points = toMetres(pointsOf(feature));
  const box = boundingBox(points);
  const isPolygon = feature.kind === 'polygon';
  const outer = isPolygon ? toMetres(feature.coordinates[0] ?? []) : points;
  const ends = isPolygon ? [...outer, ...outer.slice(0, 1)] : outer;
  const lengthM = ends.reduce((sum, [x, y], i) => {
    const [u, v] = ends[i + 1] ?? [x, y];
    return sum + Math.hypot(u - x, v - y);
  }, 0);
  const every = Math.max(1, Math.ceil(ends.length / SKETCH_POINTS));
  return {
    layer: feature.layer,
    feature: feature.name,
    label: feature.label,
    shape: feature.kind,
    corners: outer.length,
    areaM2: isPolygon ? polygonsArea([feature.coordinates.map(toMetres)]) : null,
    lengthM: feature.kind === 'point' ? null : lengthM,
    widthM: box.maxX - box.minX,
    heightM: box.maxY - box.minY,
    sketchM: ends
      .filter((_, i) => i % every === 0 || i === ends.length - 1)
      .map(([x, y]): PositionM => [x - box.minX, y - box.minY]),
  };
}
