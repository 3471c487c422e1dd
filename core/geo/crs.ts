/**
 * Coordinates from system to system, and the scale of a grid, offline. Coordinates are always easting, northing (or
 * longitude, latitude in degrees), whatever axis order the EPSG dataset gives the system.
 */
import proj4 from 'proj4';
import { AppError } from '../errors.ts';
import { M_PER_FOOT, M_PER_US_SURVEY_FOOT } from '../units.ts';
import { findCrs, systemTitle } from './crs-table.ts';
import { describeDatumShift } from './datum-shift.ts';

export const WGS84_CODE = 4326;

export interface GridScale {
  /** Grid length over length on the ellipsoid: square root of the area scale, the point scale where conformal. */
  readonly scaleFactor: number;
  readonly scaleEastWest: number;
  readonly scaleNorthSouth: number;
  /** Grid north minus true north, degrees, positive where grid north lies east of true north. */
  readonly convergenceDeg: number;
  readonly longitudeDeg: number;
  readonly latitudeDeg: number;
}

/** Metres in one unit of the system's coordinates; survey and international feet are told apart. */
export function metresPerUnit(code: number): number {
  const entry = findCrs(code);
  if (entry.kind === 'geographic') {
    throw new AppError('BAD_INPUT', `${systemTitle(entry)} is in degrees: a degree has no fixed length.`, {
      code,
    });
  }
  if (entry.unitLabel === 'm') return 1;
  if (entry.unitLabel === 'ft') return M_PER_FOOT;
  if (entry.unitLabel === 'ft-us') return M_PER_US_SURVEY_FOOT;
  const size = Number(/\+to_meter=(\S+)/.exec(entry.proj4)?.[1]);
  if (Number.isFinite(size) && size > 0) return size;
  throw new AppError('INTERNAL', `${systemTitle(entry)} has a unit without a size: ${entry.unitLabel}.`, {
    code,
  });
}

/**
 * Coordinates in another system.
 * @param xy - easting, northing (longitude, latitude) in turn, length 2n, in the units of the systems
 * @throws AppError BAD_INPUT when the datum operation is not to be had offline, or a point cannot be computed
 */
export function transformPoints(fromCode: number, toCode: number, xy: Float64Array): Float64Array {
  const shift = describeDatumShift(fromCode, toCode);
  if (shift.kind === 'grid-needed' || shift.kind === 'unknown') {
    throw new AppError('BAD_INPUT', shift.statement, { fromCode, toCode });
  }
  const from = findCrs(fromCode);
  const to = findCrs(toCode);
  const sameDatum = shift.kind === 'none';
  return transformByStrings(
    sameDatum ? withoutDatum(from.proj4) : from.proj4,
    sameDatum ? withoutDatum(to.proj4) : to.proj4,
    xy,
    `${systemTitle(from)} to ${systemTitle(to)}`,
  );
}

/** As `transformPoints`, between two proj strings; `what` names the operation in messages. */
export function transformByStrings(from: string, to: string, xy: Float64Array, what: string): Float64Array {
  const converter = proj4(from, to);
  const out = new Float64Array(xy.length);
  for (let i = 0; i + 1 < xy.length; i += 2) {
    const point: [number, number] = [xy[i] as number, xy[i + 1] as number];
    const [x, y] = convertPoint(converter, point, what, i / 2);
    out[i] = x;
    out[i + 1] = y;
  }
  return out;
}

/**
 * Scale and convergence of the grid at a place, by differentiating the projection on its own ellipsoid.
 * @throws AppError BAD_INPUT when the place cannot be computed in the system
 */
export function gridScaleAndConvergence(code: number, x: number, y: number): GridScale {
  const entry = findCrs(code);
  const unitM = metresPerUnit(code);
  const forward = proj4(withoutDatum(entry.proj4));
  const what = `${systemTitle(entry)}, place ${x}, ${y}`;
  const [longitudeDeg, latitudeDeg] = convertPoint({ forward: forward.inverse }, [x, y], what, 0);
  const ellipsoid = new proj4.Proj(withoutDatum(entry.proj4));
  const a = Number(ellipsoid.a);
  // A sphere in the system's definition (Web Mercator) is a recipe, not the Earth: lengths are told on WGS 84.
  const es = Number(ellipsoid.es) === 0 ? 0.0066943799901413165 : Number(ellipsoid.es);
  const lat = (latitudeDeg * Math.PI) / 180;
  const w = Math.sqrt(1 - es * Math.sin(lat) ** 2);
  const eastRadiusM = (a / w) * Math.cos(lat);
  const northRadiusM = (a * (1 - es)) / w ** 3;
  const stepDeg = 5e-4;
  const stepRad = (2 * stepDeg * Math.PI) / 180;
  const at = (lon: number, latDeg: number) => convertPoint(forward, [lon, latDeg], what, 0);
  const e1 = at(longitudeDeg + stepDeg, latitudeDeg);
  const e0 = at(longitudeDeg - stepDeg, latitudeDeg);
  const n1 = at(longitudeDeg, latitudeDeg + stepDeg);
  const n0 = at(longitudeDeg, latitudeDeg - stepDeg);
  const east = { x: ((e1[0] - e0[0]) * unitM) / stepRad, y: ((e1[1] - e0[1]) * unitM) / stepRad };
  const north = { x: ((n1[0] - n0[0]) * unitM) / stepRad, y: ((n1[1] - n0[1]) * unitM) / stepRad };
  const areaScale = (east.x * north.y - east.y * north.x) / (eastRadiusM * northRadiusM);
  const scaleFactor = Math.sqrt(Math.abs(areaScale));
  if (!Number.isFinite(scaleFactor) || scaleFactor === 0) {
    throw new AppError('BAD_INPUT', `The scale of the grid cannot be computed: ${what}.`, { code, x, y });
  }
  return {
    scaleFactor,
    scaleEastWest: Math.hypot(east.x, east.y) / eastRadiusM,
    scaleNorthSouth: Math.hypot(north.x, north.y) / northRadiusM,
    convergenceDeg: (-Math.atan2(north.x, north.y) * 180) / Math.PI,
    longitudeDeg,
    latitudeDeg,
  };
}

/** A sentence when the place lies outside the area the system is meant for, else null. */
export function outOfAreaMessage(code: number, x: number, y: number): string | null {
  const entry = findCrs(code);
  const what = `${systemTitle(entry)}, place ${x}, ${y}`;
  let lon = x;
  let lat = y;
  if (entry.kind === 'projected') {
    [lon, lat] = convertPoint({ forward: proj4(withoutDatum(entry.proj4)).inverse }, [x, y], what, 0);
  }
  const [west, south, east, north] = entry.areaWsen;
  const slackDeg = 0.05;
  const lonInside =
    west <= east
      ? lon >= west - slackDeg && lon <= east + slackDeg
      : lon >= west - slackDeg || lon <= east + slackDeg;
  if (lonInside && lat >= south - slackDeg && lat <= north + slackDeg) return null;
  return `The place ${x}, ${y} (longitude ${lon.toFixed(4)}, latitude ${lat.toFixed(4)}) lies outside the area of ${systemTitle(entry)}: ${shortArea(entry.area)} Are the coordinates swapped, or is it another system?`;
}

/** Bounds without the long list of countries that some systems name after them. */
function shortArea(area: string): string {
  const [first = area] = area.split(/(?<=\.) /);
  return area.length > 120 ? first : area;
}

function withoutDatum(text: string): string {
  return text
    .replace(/ \+towgs84=\S+/, '')
    .replace(/ \+nadgrids=(?!@null)\S+/, '')
    .replace('+datum=WGS84', '+ellps=WGS84');
}

function convertPoint(
  converter: { forward(point: [number, number]): number[] },
  point: [number, number],
  what: string,
  index: number,
): [number, number] {
  let x: number | undefined;
  let y: number | undefined;
  try {
    [x, y] = converter.forward(point);
  } catch {
    // the library throws on what it cannot place; both ways of failing end in the message below
  }
  if (x === undefined || y === undefined || !Number.isFinite(x) || !Number.isFinite(y)) {
    throw new AppError(
      'BAD_INPUT',
      `Point ${index + 1} (${point[0]}, ${point[1]}) cannot be computed: ${what}.`,
      {
        x: point[0],
        y: point[1],
        point: index + 1,
      },
    );
  }
  return [x, y];
}
