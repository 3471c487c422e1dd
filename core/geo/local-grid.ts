/** How a local grid (tape and compass) lies in a mapped system: a similarity fit through control points. */
import type { PositionM, ProjectCrs } from '../contract/model.ts';
import { AppError, type ErrorDetails } from '../errors.ts';
import { toMetres } from '../units.ts';
import { gridScaleAndConvergence, metresPerUnit } from './crs.ts';
import { findCrs, systemTitle } from './crs-table.ts';
import { convertNative, type PositionNative } from './frame.ts';

/** A point measured in both systems, each in its own unit. */
export interface ControlPoint {
  readonly label: string;
  readonly local: PositionNative;
  readonly mapped: PositionNative;
}

/**
 * to = toCentre + [a -b; b a] (from - fromCentre): shift, turn and one scale. Centres are kept apart so that
 * seven-digit eastings lose nothing.
 */
export interface Similarity {
  readonly fromCentre: PositionM;
  readonly toCentre: PositionM;
  readonly a: number;
  readonly b: number;
}

/** A local grid tied to an EPSG system. Both sides of `similarity` are in metres. Plain data: it can be stored as JSON. */
export interface GridTie {
  readonly code: number;
  readonly similarity: Similarity;
}

export interface ControlResidual {
  readonly label: string;
  /** Fitted minus given place, in metres of the mapped system. */
  readonly eastM: number;
  readonly northM: number;
  readonly lengthM: number;
}

export interface GridTieFit {
  readonly tie: GridTie;
  /** Metres of the mapped grid for a metre of the local one. */
  readonly scale: number;
  /** What `scale` is for a perfect tape: grid length over ground length at the place. */
  readonly expectedScale: number;
  /** Direction of the local y axis, degrees clockwise from grid north of the mapped system, 0 to 360. */
  readonly turnDeg: number;
  readonly residuals: readonly ControlResidual[];
  /** Root of the sum of squared residuals over the redundancy (2n - 4); null for two points, which leave none. */
  readonly standardDeviationM: number | null;
  readonly warnings: readonly string[];
}

/** Common practice: no tape and no compass is this far off; a greater difference is another unit or a wrong point. */
const GREATEST_SCALE_ERROR = 0.05;
/** Common practice: 2 mm in a metre is more than a careful tape gives. */
const DOUBTFUL_SCALE_ERROR = 0.002;
const SAME_PLACE_M = 1e-6;
/** Ratios that come of a unit taken for another, with what to do. */
const UNIT_SLIPS: readonly { readonly ratio: number; readonly what: string }[] = [
  { ratio: 0.3048, what: 'the local coordinates look like feet: the grid is said to be in metres' },
  { ratio: 1 / 0.3048, what: 'the local coordinates look like metres: the grid is said to be in feet' },
];

/**
 * Least-squares similarity between two sets of at least 2 points, in closed form (as in any text on adjustment, such
 * as Ghilani, "Adjustment Computations", chapter on coordinate transformations).
 * @throws AppError BAD_INPUT for fewer than 2 points, and where they all lie at one place
 */
export function fitSimilarity(
  from: readonly PositionM[],
  to: readonly PositionM[],
  where: ErrorDetails = {},
): Similarity {
  if (from.length < 2 || from.length !== to.length) {
    throw new AppError(
      'BAD_INPUT',
      `${from.length === 1 ? '1 control point is' : `${from.length} control points are`} given; shift, turn and scale need at least 2.`,
      where,
    );
  }
  const fromCentre = centroid(from);
  const toCentre = centroid(to);
  let [along, across, square] = [0, 0, 0];
  from.forEach((point, i) => {
    const [x, y] = [point[0] - fromCentre[0], point[1] - fromCentre[1]];
    const other = to[i] as PositionM;
    const [u, v] = [other[0] - toCentre[0], other[1] - toCentre[1]];
    along += x * u + y * v;
    across += x * v - y * u;
    square += x * x + y * y;
  });
  if (Math.sqrt(square) < SAME_PLACE_M) {
    throw new AppError('BAD_INPUT', 'All control points lie at one place: they give no direction.', where);
  }
  return { fromCentre, toCentre, a: along / square, b: across / square };
}

export function applySimilarity({ fromCentre, toCentre, a, b }: Similarity, [px, py]: PositionM): PositionM {
  const [x, y] = [px - fromCentre[0], py - fromCentre[1]];
  return [toCentre[0] + a * x - b * y, toCentre[1] + b * x + a * y];
}

export function invertSimilarity({ fromCentre, toCentre, a, b }: Similarity): Similarity {
  const square = a * a + b * b;
  return { fromCentre: toCentre, toCentre: fromCentre, a: a / square, b: -b / square };
}

/**
 * Ties a local grid to a mapped system by control points measured in both.
 * @throws AppError BAD_INPUT for fewer than 2 points or one place, for a system in degrees, and for a scale that no
 *   tape gives (more than 5 % off, common practice), saying which slip it looks like
 */
export function fitLocalGrid(
  local: Extract<ProjectCrs, { kind: 'local' }>,
  code: number,
  points: readonly ControlPoint[],
): GridTieFit {
  refuseUnusable(points);
  const localUnitM = toMetres(1, local.unit);
  const mappedUnitM = metresPerUnit(code);
  const from = points.map(({ local: [x, y] }): PositionM => [x * localUnitM, y * localUnitM]);
  const to = points.map(({ mapped: [x, y] }): PositionM => [x * mappedUnitM, y * mappedUnitM]);
  const similarity = fitSimilarity(from, to, { field: 'control points' });
  const scale = Math.hypot(similarity.a, similarity.b);
  const [east, north] = similarity.toCentre;
  const expectedScale = gridScaleAndConvergence(code, east / mappedUnitM, north / mappedUnitM).scaleFactor;
  refuseScale(scale / expectedScale, from, to, code);
  const residuals = points.map(({ label }, i): ControlResidual => {
    const [x, y] = applySimilarity(similarity, from[i] as PositionM);
    const [eastM, northM] = [x - (to[i] as PositionM)[0], y - (to[i] as PositionM)[1]];
    return { label, eastM, northM, lengthM: Math.hypot(eastM, northM) };
  });
  const redundancy = 2 * points.length - 4;
  const sumOfSquares = residuals.reduce((sum, { lengthM }) => sum + lengthM ** 2, 0);
  const warnings: string[] = [];
  if (redundancy === 0) {
    warnings.push(
      'Two control points fit by themselves: a slip in one of them does not show. Measure a third one.',
    );
  }
  if (Math.abs(scale / expectedScale - 1) > DOUBTFUL_SCALE_ERROR) {
    const percent = ((scale / expectedScale - 1) * 100).toFixed(2);
    warnings.push(
      `The scale is ${percent} % off what a tape gives here (more than ${DOUBTFUL_SCALE_ERROR * 100} %, common practice): check the control points.`,
    );
  }
  return {
    tie: { code, similarity },
    scale,
    expectedScale,
    turnDeg: ((Math.atan2(-similarity.b, similarity.a) * 180) / Math.PI + 360) % 360,
    residuals,
    standardDeviationM: redundancy === 0 ? null : Math.sqrt(sumOfSquares / redundancy),
    warnings,
  };
}

/** Local coordinates (unit of the grid) in the mapped system (its unit). */
export function localToMapped(
  tie: GridTie,
  localUnitM: number,
  points: readonly PositionNative[],
): PositionNative[] {
  return moveBetween(tie.similarity, localUnitM, metresPerUnit(tie.code), points);
}

/** Coordinates of the mapped system in the local grid. */
export function mappedToLocal(
  tie: GridTie,
  localUnitM: number,
  points: readonly PositionNative[],
): PositionNative[] {
  return moveBetween(invertSimilarity(tie.similarity), metresPerUnit(tie.code), localUnitM, points);
}

/**
 * As `convertNative`, also between a local grid and a mapped system once the grid is tied.
 * @param tie - of whichever side is the local grid; null where it is tied to nothing
 * @throws AppError BAD_INPUT as `convertNative`
 */
export function convertTied(
  from: ProjectCrs,
  to: ProjectCrs,
  tie: GridTie | null,
  points: readonly PositionNative[],
): PositionNative[] {
  if (tie === null || from.kind === to.kind) return convertNative(from, to, points);
  const mapped: ProjectCrs = { kind: 'epsg', code: tie.code };
  if (from.kind === 'local') {
    return convertNative(mapped, to, localToMapped(tie, toMetres(1, from.unit), points));
  }
  if (to.kind === 'local') {
    return mappedToLocal(tie, toMetres(1, to.unit), convertNative(from, mapped, points));
  }
  return convertNative(from, to, points);
}

function moveBetween(
  similarity: Similarity,
  fromUnitM: number,
  toUnitM: number,
  points: readonly PositionNative[],
): PositionNative[] {
  return points.map(([x, y]) => {
    const [u, v] = applySimilarity(similarity, [x * fromUnitM, y * fromUnitM]);
    return [u / toUnitM, v / toUnitM];
  });
}

function refuseUnusable(points: readonly ControlPoint[]): void {
  for (const { label, local, mapped } of points) {
    if ([...local, ...mapped].every(Number.isFinite)) continue;
    throw new AppError(
      'BAD_INPUT',
      `Control point "${label}" has a coordinate that is not a number: ${[...local, ...mapped].join(', ')}.`,
      { field: label },
    );
  }
}

function refuseScale(
  ratio: number,
  from: readonly PositionM[],
  to: readonly PositionM[],
  code: number,
): void {
  if (Math.abs(ratio - 1) <= GREATEST_SCALE_ERROR) return;
  const isNear = (value: number, wanted: number) => Math.abs(value / wanted - 1) <= GREATEST_SCALE_ERROR;
  const slip = UNIT_SLIPS.find((candidate) => isNear(ratio, candidate.ratio));
  const turned = fitSimilarity(
    from.map(([x, y]) => [y, x]),
    to,
  );
  const reason =
    slip?.what ??
    (from.length > 2 && isNear(Math.hypot(turned.a, turned.b), 1)
      ? 'they fit when x and y of one side are exchanged'
      : 'a point is wrong, or the two sides do not belong together');
  throw new AppError(
    'BAD_INPUT',
    `The control points say that 1 m of the local grid is ${ratio.toPrecision(4)} m in ${systemTitle(findCrs(code))}; no tape is that far off: ${reason}.`,
    { field: 'control points', scale: ratio },
  );
}

function centroid(points: readonly PositionM[]): PositionM {
  const sum = (axis: 0 | 1) => points.reduce((total, point) => total + point[axis], 0);
  return [sum(0) / points.length, sum(1) / points.length];
}
