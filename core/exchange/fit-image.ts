/** Places a site plan's image on the ground by points seen in both. */
import type { PositionM } from '../contract/model.ts';
import { applySimilarity, fitSimilarity } from '../geo/local-grid.ts';
import { bad } from './geometry.ts';

/**
 * x = a column + b row + c, y = d column + e row + f. Columns and rows count from the upper left corner of the image, so
 * that the middle of its first pixel is 0.5, 0.5; the row grows downward.
 */
export type ImageMatrix = readonly [a: number, b: number, c: number, d: number, e: number, f: number];

export interface ImagePoint {
  readonly label: string;
  readonly pixel: readonly [column: number, row: number];
  /** Place on the ground in project metres. */
  readonly atM: PositionM;
}

export interface ImageFit {
  /** To project metres. */
  readonly matrix: ImageMatrix;
  /** Fitted minus given place of each point. */
  readonly residualsM: readonly {
    readonly label: string;
    readonly eastM: number;
    readonly northM: number;
    readonly lengthM: number;
  }[];
  /** Root of the sum of squared residuals over the redundancy; null where there is none. */
  readonly standardDeviationM: number | null;
  readonly metresPerPixel: number;
  readonly warnings: readonly string[];
}

/** Common practice: a copy stretched by more than this was not copied true to scale. */
const GREATEST_STRETCH = 0.01;
const UNKNOWNS = { similarity: 4, affine: 6 } as const;

/**
 * Least squares. A similarity (shift, turn, one scale; from 2 points) fits a plan copied true to scale; an affine fit
 * (from 3 points) also takes up a stretched or slanted copy, and hides a wrong point more easily.
 * @throws AppError BAD_INPUT for too few points, points at one place or on one line, or a mirrored image
 */
export function fitImage(
  points: readonly ImagePoint[],
  kind: 'similarity' | 'affine' = 'similarity',
): ImageFit {
  const least = UNKNOWNS[kind] / 2;
  if (points.length < least) {
    throw bad(`${points.length} control points are given; this fit of the image needs at least ${least}.`, {
      field: 'control points',
    });
  }
  const matrix = kind === 'similarity' ? fitTurned(points) : fitStretched(points);
  const [a, b, , d, e] = matrix;
  const residualsM = points.map(({ label, pixel, atM }) => {
    const [x, y] = placePixel(matrix, pixel);
    const [eastM, northM] = [x - atM[0], y - atM[1]];
    return { label, eastM, northM, lengthM: Math.hypot(eastM, northM) };
  });
  const redundancy = 2 * points.length - UNKNOWNS[kind];
  const sumOfSquares = residualsM.reduce((sum, { lengthM }) => sum + lengthM ** 2, 0);
  const warnings: string[] = [];
  if (redundancy === 0)
    warnings.push('These points fit by themselves: a slip does not show. Measure one more.');
  const [wide, high] = [Math.hypot(a, d), Math.hypot(b, e)];
  if (Math.abs(wide / high - 1) > GREATEST_STRETCH) {
    warnings.push(
      `A pixel is ${wide.toPrecision(4)} m wide and ${high.toPrecision(4)} m high: the plan is stretched, or a point is wrong.`,
    );
  }
  if (a * e - b * d > 0) {
    throw bad('The control points turn the image over like a mirror: are two of them exchanged?', {
      field: 'control points',
    });
  }
  return {
    matrix,
    residualsM,
    standardDeviationM: redundancy === 0 ? null : Math.sqrt(sumOfSquares / redundancy),
    metresPerPixel: Math.sqrt(Math.abs(a * e - b * d)),
    warnings,
  };
}

export function placePixel(
  [a, b, c, d, e, f]: ImageMatrix,
  [column, row]: readonly [number, number],
): PositionM {
  return [a * column + b * row + c, d * column + e * row + f];
}

/** With rows counted upward an image turns like any plan. */
function fitTurned(points: readonly ImagePoint[]): ImageMatrix {
  const upward = points.map(({ pixel: [column, row] }): PositionM => [column, -row]);
  const similarity = fitSimilarity(
    upward,
    points.map(({ atM }) => atM),
    { field: 'control points' },
  );
  const [c, f] = applySimilarity(similarity, [0, 0]);
  const { a, b } = similarity;
  return [a, b, c, b, -a, f];
}

function fitStretched(points: readonly ImagePoint[]): ImageMatrix {
  const n = points.length;
  const mean = (of: (point: ImagePoint) => number) => points.reduce((sum, point) => sum + of(point), 0) / n;
  const [column0, row0] = [mean(({ pixel }) => pixel[0]), mean(({ pixel }) => pixel[1])];
  const [x0, y0] = [mean(({ atM }) => atM[0]), mean(({ atM }) => atM[1])];
  let [cc, cr, rr, cx, rx, cy, ry] = [0, 0, 0, 0, 0, 0, 0];
  for (const { pixel, atM } of points) {
    const [column, row] = [pixel[0] - column0, pixel[1] - row0];
    const [x, y] = [atM[0] - x0, atM[1] - y0];
    cc += column * column;
    cr += column * row;
    rr += row * row;
    cx += column * x;
    rx += row * x;
    cy += column * y;
    ry += row * y;
  }
  const determinant = cc * rr - cr * cr;
  if (!(determinant > 1e-9 * (cc + rr) ** 2)) {
    throw bad('The control points lie on one line of the image: this fit needs one off it.', {
      field: 'control points',
    });
  }
  const solve = (c: number, r: number) =>
    [(c * rr - r * cr) / determinant, (r * cc - c * cr) / determinant] as const;
  const [a, b] = solve(cx, rx);
  const [d, e] = solve(cy, ry);
  return [a, b, x0 - a * column0 - b * row0, d, e, y0 - d * column0 - e * row0];
}
