/** Where an exported position lies: in the project's own or its tied system, and on WGS 84. */
import type { PositionM, ProjectView, RingM } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { metresPerUnit, transformPoints, WGS84_CODE } from '../geo/crs.ts';
import { findCrs, systemTitle } from '../geo/crs-table.ts';
import { describeDatumShift } from '../geo/datum-shift.ts';
import { type PositionNative, ringToNative } from '../geo/frame.ts';
import { type GridTie, localToMapped } from '../geo/local-grid.ts';

export interface ExportOptions {
  /** How a local grid lies in a mapped system. Without it such a project can go only into formats that need no map. */
  readonly tie?: GridTie | null;
  /** Codes of the field sheets by the ids of probes. */
  readonly codes?: ReadonlyMap<string, string>;
}

export type LonLat = [longitude: number, latitude: number];

export interface MapPlace {
  /** EPSG code; null on a local grid that is tied to nothing. */
  readonly code: number | null;
  readonly systemName: string;
  readonly metresPerUnit: number;
  readonly unitLabel: string;
  /** Coordinates in the system, in its unit. */
  readonly toMap: (points: readonly PositionM[]) => PositionNative[];
}

export interface LonLatPlace {
  readonly code: number;
  readonly systemName: string;
  /** WGS 84, rounded to a tenth of a millimetre. */
  readonly toLonLat: (points: readonly PositionM[]) => LonLat[];
  readonly datumOperation: string;
  readonly datumAccuracyM: number | null;
}

/** 1e-9 degrees is a tenth of a millimetre. */
const DECIMALS = 9;

/** The project's own system, or for a tied local grid the one that it is tied to. */
export function mapPlace(view: ProjectView, { tie = null }: ExportOptions): MapPlace {
  const { frame } = view;
  if (frame.crs.kind === 'local' && tie !== null) {
    const entry = findCrs(tie.code);
    return {
      code: tie.code,
      systemName: systemTitle(entry),
      metresPerUnit: metresPerUnit(tie.code),
      unitLabel: entry.unitLabel,
      toMap: (points) => localToMapped(tie, frame.metresPerUnit, ringToNative(frame, points)),
    };
  }
  return {
    code: frame.crs.kind === 'epsg' ? frame.crs.code : null,
    systemName: frame.crsName,
    metresPerUnit: frame.metresPerUnit,
    unitLabel: frame.unitLabel,
    toMap: (points) => ringToNative(frame, points),
  };
}

/**
 * @param format - named in the message
 * @throws AppError BAD_INPUT for a local grid without a tie, and where the datum operation is not to be had offline
 */
export function lonLatPlace(view: ProjectView, format: string, options: ExportOptions): LonLatPlace {
  const place = mapPlace(view, options);
  const { code } = place;
  if (code === null) {
    throw new AppError(
      'BAD_INPUT',
      `${format} holds longitude and latitude, and a local grid has none: tie the grid to a mapped system with control points, or export CSV, GeoPackage or DXF, which keep the coordinates of the grid.`,
      { field: 'crs' },
    );
  }
  const shift = describeDatumShift(code, WGS84_CODE);
  return {
    code,
    systemName: place.systemName,
    datumOperation: shift.statement,
    datumAccuracyM: shift.accuracyM,
    toLonLat: (points) => {
      const moved = transformPoints(code, WGS84_CODE, Float64Array.from(place.toMap(points).flat()));
      return points.map((_, i) => [roundDegrees(moved[2 * i]), roundDegrees(moved[2 * i + 1])]);
    },
  };
}

/** Degrees as XML's decimal type wants them: no exponent, however near to zero. */
export function degreesText(value: number): string {
  return value.toFixed(DECIMALS).replace(/\.?0+$/, '');
}

/** The points with the first one again at the end, as most formats write a ring. */
export function closeRing<P>(points: readonly P[]): P[] {
  const [first] = points;
  return first === undefined ? [] : [...points, first];
}

/** Points of a ring that is closed by meaning, or of an open line, ready to be written. */
export function linePoints({ points, closed }: { points: RingM; closed: boolean }): RingM {
  return closed ? closeRing(points) : points;
}

function roundDegrees(value: number | undefined): number {
  return Number((value ?? Number.NaN).toFixed(DECIMALS));
}
