/** Fewer points for the same lines, for files that other programs draw. */
import GeometryFactory from 'jsts/org/locationtech/jts/geom/GeometryFactory.js';
import TopologyPreservingSimplifier from 'jsts/org/locationtech/jts/simplify/TopologyPreservingSimplifier.js';
import type { PositionM } from '../contract/model.ts';
import type { ContourLine } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import { geometryLines, lineGeometry } from '../geo/jsts.ts';

/**
 * Isolines without the points that a line within `toleranceM` can do without (Douglas and Peucker, Cartographica 10,
 * 1973). No line moves by more than the tolerance, no two lines come to cross, and ends stay where they are.
 * @throws AppError BAD_INPUT for a tolerance that is no length
 */
export function simplifyContours(lines: readonly ContourLine[], toleranceM: number): ContourLine[] {
  if (!(toleranceM >= 0) || !Number.isFinite(toleranceM)) {
    throw new AppError('BAD_INPUT', `A tolerance of ${toleranceM} m is no length.`, { field: 'toleranceM' });
  }
  if (toleranceM === 0 || lines.length === 0) return [...lines];
  const closed = (line: ContourLine): readonly PositionM[] => {
    const [first] = line.points;
    return line.closed && first !== undefined ? [...line.points, first] : line.points;
  };
  const all = new GeometryFactory().createMultiLineString(
    lines.map((line) => lineGeometry(closed(line))) as never,
  );
  const simplified = geometryLines(TopologyPreservingSimplifier.simplify(all, toleranceM));
  return lines.map((line, i) => {
    const points = simplified[i] ?? line.points;
    return { ...line, points: line.closed ? points.slice(0, -1) : points };
  });
}
