/** Where a place of one project lies in another: the same system, two mapped ones, or local grids tied to them. */
import type { PositionM, ProjectCrs, ProjectFrame } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { describeDatumShift } from '../geo/datum-shift.ts';
import { convertNative, type PositionNative, toFrame, toNative } from '../geo/frame.ts';
import { convertTied, type GridTie } from '../geo/local-grid.ts';

export interface PlacedSide {
  /** Names the side in words, such as the day of sampling. */
  readonly label: string;
  readonly frame: ProjectFrame;
  /** How its local grid lies on the map; absent or null where it is tied to nothing, or is no local grid. */
  readonly tie?: GridTie | null;
}

export interface SidePlaces {
  /** Project metres of the earlier side in those of the later one. */
  readonly toLater: (points: readonly PositionM[]) => PositionM[];
  readonly toEarlier: (points: readonly PositionM[]) => PositionM[];
  /** What was assumed or done to bring the two together; empty where both lie in one mapped system. */
  readonly statements: readonly string[];
}

function systemText({ crs }: ProjectFrame): string {
  return crs.kind === 'epsg' ? `EPSG:${crs.code}` : `local grid "${crs.label}" in ${crs.unit}`;
}

/** The system that a side can be told in on the map; null on a local grid that is tied to nothing. */
function mappedCode({ frame, tie }: PlacedSide): number | null {
  return frame.crs.kind === 'epsg' ? frame.crs.code : (tie?.code ?? null);
}

/**
 * Both ways between the project metres of two sides.
 * @throws AppError BAD_INPUT where nothing ties the two, or the change of datum is not to be had offline
 */
export function placeSides(earlier: PlacedSide, later: PlacedSide): SidePlaces {
  const [a, b] = [earlier.frame.crs, later.frame.crs];
  const [codeA, codeB] = [mappedCode(earlier), mappedCode(later)];
  if (a.kind === 'local' && b.kind === 'local' && (codeA === null || codeB === null)) {
    if (a.label !== b.label) throw apart(earlier, later, 'no control points tie both of them to a map');
    return throughNative(earlier, later, (points, from, to) =>
      convertNative(from.frame.crs, to.frame.crs, points),
    )(['Both lie on a local grid of the same name, taken to be the same grid: nothing else ties the two.']);
  }
  if (codeA === null || codeB === null)
    throw apart(earlier, later, 'no control points tie the local grid to a map');
  const shift = describeDatumShift(codeA, codeB);
  if (shift.kind === 'grid-needed' || shift.kind === 'unknown') throw apart(earlier, later, shift.statement);
  const placed = throughNative(earlier, later, (points, from, to) => {
    const mapped: ProjectCrs = { kind: 'epsg', code: from === earlier ? codeA : codeB };
    const onMap = convertTied(from.frame.crs, mapped, from.tie ?? null, points);
    return convertTied(mapped, to.frame.crs, to.tie ?? null, onMap);
  });
  if (a.kind === 'epsg' && b.kind === 'epsg' && a.code === b.code) return placed([]);
  const by = [a, b].some((crs) => crs.kind === 'local')
    ? 'through the control points of the local grid'
    : 'by projection';
  const between = `Places of ${earlier.label} (${systemText(earlier.frame)}) were brought into ${systemText(later.frame)} ${by}.`;
  const datum = `${shift.statement} A place may be off by that much, which is not in the error.`;
  return placed([shift.kind === 'none' ? between : `${between} ${datum}`]);
}

function throughNative(
  earlier: PlacedSide,
  later: PlacedSide,
  convert: (points: readonly PositionNative[], from: PlacedSide, to: PlacedSide) => readonly PositionNative[],
): (statements: readonly string[]) => SidePlaces {
  const move =
    (from: PlacedSide, to: PlacedSide) =>
    (points: readonly PositionM[]): PositionM[] =>
      convert(
        points.map((p) => toNative(from.frame, p)),
        from,
        to,
      ).map((p) => toFrame(to.frame, p));
  return (statements) => ({
    toLater: move(earlier, later),
    toEarlier: move(later, earlier),
    statements,
  });
}

function apart(earlier: PlacedSide, later: PlacedSide, why: string): AppError {
  return new AppError(
    'BAD_INPUT',
    `The two lie in different systems and cannot be compared: ${earlier.label} in ${systemText(earlier.frame)}, ${later.label} in ${systemText(later.frame)}; ${why.replace(/\.$/, '')}.`,
  );
}
