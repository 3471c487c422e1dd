import type { RowIssue } from '../contract/requests.ts';
import { type BoxM, boundingBox, pointInPolygon } from '../geo/planar.ts';
import { median } from '../median.ts';
import type { KnownCode } from './probe-code.ts';

/** What is known of the ground before a file is read. All coordinates in the system of the file's x and y columns. */
export interface ImportContext {
  readonly system: {
    readonly kind: 'projected' | 'geographic' | 'local';
    /** Metres of one unit of x and y; not used where `kind` is 'geographic'. */
    readonly metresPerUnit: number;
    /** Unit in words ('m', 'ft', 'ft-us', 'deg'). */
    readonly unitLabel: string;
    readonly name: string;
  };
  readonly lotRing: readonly (readonly [x: number, y: number])[] | null;
  /** Codes of the probes on printed sheets. */
  readonly codes?: readonly KnownCode[];
  /** Probes already in the project: their label may come back without coordinates, or at the same place. */
  readonly knownProbes?: readonly {
    readonly label: string;
    readonly x: number;
    readonly y: number;
    /** Then a sample of the file is a repeat unless the file says what it is. */
    readonly hasSamples?: boolean;
    /** Laid out and not driven yet: a row of its label says where it was driven. */
    readonly isPlanned?: boolean;
  }[];
}

export interface FilePoint {
  readonly row: number;
  readonly label: string;
  readonly x: number;
  readonly y: number;
}

/** Farther off than this many lot sizes (diagonals), a point is taken to be in another system. */
const FAR_LOT_SIZES = 10;
const NEAR_LOT_SIZES = 2;

/** Ground distance in metres between two points of the file's system; for degrees good to 1 % over a lot. */
export function distanceM(a: XY, b: XY, system: ImportContext['system']): number {
  if (system.kind !== 'geographic') return Math.hypot(a.x - b.x, a.y - b.y) * system.metresPerUnit;
  const mPerDegree = 111_320;
  const cosLat = Math.cos((((a.y + b.y) / 2) * Math.PI) / 180);
  return Math.hypot((a.x - b.x) * cosLat, a.y - b.y) * mPerDegree;
}

interface XY {
  readonly x: number;
  readonly y: number;
}

/** True where numbers fit longitude and latitude and all lie so close together that they cannot be a lot in metres. */
export function looksLikeDegrees(points: readonly XY[]): boolean {
  if (points.length === 0) return false;
  if (!points.every((p) => Math.abs(p.x) <= 180 && Math.abs(p.y) <= 180)) return false;
  const xs = points.map((p) => p.x);
  const ys = points.map((p) => p.y);
  const extent = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
  const distinct = new Set(points.map((p) => `${p.x} ${p.y}`)).size;
  return distinct >= 3 && extent < 0.05;
}

/**
 * Points whose coordinates cannot be where the lot is, each with what to do. One issue of row null says it for the
 * file, one issue for each row names the row.
 */
export function checkCoordinates(
  points: readonly FilePoint[],
  columns: { readonly x: string; readonly y: string },
  file: string,
  context: ImportContext,
): RowIssue[] {
  const issues: RowIssue[] = [];
  if (points.length === 0) return issues;
  const { system } = context;
  const error = (row: number | null, field: string, message: string) =>
    issues.push({ severity: 'error', file, row, field, message });

  if (system.kind === 'geographic') {
    for (const p of points) {
      if (Math.abs(p.x) <= 180 && Math.abs(p.y) <= 90) continue;
      const remedy =
        Math.abs(p.x) <= 90 && Math.abs(p.y) <= 180
          ? exchangeRemedy(columns)
          : 'choose the system the file is written in';
      error(
        p.row,
        columns.x,
        `row ${p.row} of ${file}: (${p.x}, ${p.y}) is not longitude and latitude in degrees; ${remedy}`,
      );
    }
    if (issues.length > 0) return issues;
  } else {
    const projectedSmall =
      system.kind === 'projected' &&
      !lotFitsDegrees(context) &&
      points.every((p) => Math.abs(p.x) <= 180 && Math.abs(p.y) <= 180);
    if (projectedSmall || looksLikeDegrees(points)) {
      const remedy = `they look like longitude and latitude in degrees, while ${system.name} is in ${system.unitLabel}: choose the degree system (EPSG 4326) for this file`;
      error(null, columns.x, `coordinates of ${file} (${rangeText(points)}) do not fit: ${remedy}`);
      for (const p of points) {
        error(
          p.row,
          columns.x,
          `row ${p.row} of ${file}: probe '${p.label}' at (${p.x}, ${p.y}) looks like degrees`,
        );
      }
      return issues;
    }
  }
  const ring = context.lotRing;
  if (ring === null || ring.length < 3)
    return issues.concat(checkAmongThemselves(points, columns, file, context));
  return issues.concat(checkAgainstLot(points, columns, file, context, ring));
}

function exchangeRemedy(columns: { readonly x: string; readonly y: string }): string {
  return `x and y look exchanged: map column '${columns.y}' to x and column '${columns.x}' to y`;
}

/** Without a lot only a point far from all others can be seen to be wrong, and it may be right. */
function checkAmongThemselves(
  points: readonly FilePoint[],
  columns: { readonly x: string; readonly y: string },
  file: string,
  context: ImportContext,
): RowIssue[] {
  if (points.length < 5) return [];
  const middle = { x: median(points.map((p) => p.x)), y: median(points.map((p) => p.y)) };
  const distances = points.map((p) => distanceM(p, middle, context.system));
  const usual = Math.max(median(distances), 1);
  return points.flatMap((p, i) => {
    const d = distances[i] ?? 0;
    if (d <= 50 * usual) return [];
    return [
      {
        severity: 'warning' as const,
        file,
        row: p.row,
        field: columns.x,
        message: `row ${p.row} of ${file}: probe '${p.label}' at (${p.x}, ${p.y}) lies ${formatDistance(d)} from the middle of the others, which is usually ${formatDistance(usual)}; check its coordinates`,
      },
    ];
  });
}

function checkAgainstLot(
  points: readonly FilePoint[],
  columns: { readonly x: string; readonly y: string },
  file: string,
  context: ImportContext,
  ring: readonly (readonly [number, number])[],
): RowIssue[] {
  const issues: RowIssue[] = [];
  const { system } = context;
  const box = boundingBox(ring);
  const isInside = (p: XY) => pointInPolygon([p.x, p.y], [ring]);
  const size = distanceM({ x: box.minX, y: box.minY }, { x: box.maxX, y: box.maxY }, system);
  const off = (p: XY) => distanceToBoxM(p, box, system);
  const swapped = (p: XY): XY => ({ x: p.y, y: p.x });
  const far = points.filter((p) => off(p) > FAR_LOT_SIZES * size);
  const exchanged = far.filter((p) => off(swapped(p)) <= NEAR_LOT_SIZES * size);
  const exchangeText = exchangeRemedy(columns);
  const scale = far.length > exchanged.length ? findScale(far, off, size) : null;

  if (exchanged.length > 1) {
    issues.push({
      severity: 'error',
      file,
      row: null,
      field: columns.x,
      message: `${exchanged.length} of ${points.length} points of ${file} lie far off the lot as written, but on it when turned round: ${exchangeText}`,
    });
  }
  for (const p of far) {
    const reason = exchanged.includes(p)
      ? exchangeText
      : scale !== null
        ? `the numbers fit the lot when read in ${scale}: choose a system in that unit`
        : 'check the coordinate system chosen for the file, or the lot';
    issues.push({
      severity: 'error',
      file,
      row: p.row,
      field: columns.x,
      message: `row ${p.row} of ${file}: probe '${p.label}' at (${p.x}, ${p.y}) lies ${formatDistance(off(p))} off the lot, which is ${formatDistance(size)} across; ${reason}`,
    });
  }
  if (far.length > 0) return issues;

  const outside = points.filter((p) => !isInside(p));
  const outsideTurned = points.filter((p) => !isInside(swapped(p)));
  if (points.length >= 5 && outside.length > 0.3 * points.length && outsideTurned.length === 0) {
    issues.push({
      severity: 'warning',
      file,
      row: null,
      field: columns.x,
      message: `${outside.length} of ${points.length} points of ${file} lie outside the lot as written, none when turned round; perhaps ${exchangeText}`,
    });
    return issues;
  }
  for (const p of outside) {
    issues.push({
      severity: 'warning',
      file,
      row: p.row,
      field: columns.x,
      message: `row ${p.row} of ${file}: probe '${p.label}' at (${p.x}, ${p.y}) lies outside the lot line; it counts only if the scheme's surroundings reach that far`,
    });
  }
  return issues;
}

const SCALES: readonly { readonly unit: string; readonly factor: number }[] = [
  { unit: 'feet', factor: 0.3048 },
  { unit: 'metres', factor: 1 / 0.3048 },
  { unit: 'kilometres', factor: 1000 },
  { unit: 'centimetres', factor: 0.01 },
  { unit: 'millimetres', factor: 0.001 },
];

/** A unit that brings every far point near the lot. */
function findScale(far: readonly XY[], off: (p: XY) => number, sizeM: number): string | null {
  for (const { unit, factor } of SCALES) {
    if (far.every((p) => off({ x: p.x * factor, y: p.y * factor }) <= NEAR_LOT_SIZES * sizeM)) return unit;
  }
  return null;
}

function distanceToBoxM(p: XY, box: BoxM, system: ImportContext['system']): number {
  const nearest = {
    x: Math.min(Math.max(p.x, box.minX), box.maxX),
    y: Math.min(Math.max(p.y, box.minY), box.maxY),
  };
  return distanceM(p, nearest, system);
}

function lotFitsDegrees(context: ImportContext): boolean {
  return context.lotRing?.every(([x, y]) => Math.abs(x) <= 180 && Math.abs(y) <= 180) ?? false;
}

function rangeText(points: readonly XY[]): string {
  const xs = points.map((p) => p.x);
  const ys = points.map((p) => p.y);
  return `x ${Math.min(...xs)} to ${Math.max(...xs)}, y ${Math.min(...ys)} to ${Math.max(...ys)}`;
}

function formatDistance(m: number): string {
  if (m >= 10_000) return `${Math.round(m / 1000)} km`;
  return m >= 10 ? `${Math.round(m)} m` : `${m.toFixed(1)} m`;
}
