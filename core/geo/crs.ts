/**
 * Coordinate systems offline. Coordinates are always easting, northing (or longitude, latitude in degrees), whatever
 * axis order the EPSG dataset gives the system.
 */
import proj4 from 'proj4';
import type { CrsChoice } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { M_PER_FOOT, M_PER_US_SURVEY_FOOT } from '../units.ts';
import { allSystems, type CrsEntry, systemByCode } from './crs-table.ts';

export type { CrsEntry } from './crs-table.ts';

export const WGS84_CODE = 4326;
const MOST_CHOICES = 60;
const GEOCENTRIC_ELLIPSOIDS = new Set(['GRS80', 'WGS84']);

/** How coordinates get from one system's datum to another's. */
export interface DatumShift {
  readonly kind: 'none' | 'helmert' | 'grid-needed' | 'unknown';
  readonly name: string;
  /** Null where nobody states one. */
  readonly accuracyM: number | null;
  /** For people: what is done and how far to trust it. */
  readonly statement: string;
}

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

/** @throws AppError BAD_INPUT when the code is not in the offline table */
export function findCrs(code: number): CrsEntry {
  const entry = systemByCode(code);
  if (entry === null) {
    throw new AppError('BAD_INPUT', `EPSG:${code} is not in the offline table of coordinate systems.`, {
      code,
    });
  }
  return entry;
}

/** Systems that match every word of the text by code, name or place, best first, at most 60. */
export function searchCrs(text: string): CrsChoice[] {
  const words = plain(text)
    .replace(/\bepsg:?/g, ' ')
    .split(/[\s,;/]+/)
    .filter((word) => word !== '');
  if (words.length === 0) return [];
  const wanted = words.map((word) => ({
    word,
    whole: new RegExp(`(^|[^a-z0-9])${escapeRegExp(word)}([^a-z0-9]|$)`),
  }));
  const hits: { entry: CrsEntry; score: number }[] = [];
  for (const entry of allSystems()) {
    const score = matchScore(entry, wanted);
    if (score > 0) hits.push({ entry, score });
  }
  hits.sort(
    (a, b) => b.score - a.score || a.entry.name.length - b.entry.name.length || a.entry.code - b.entry.code,
  );
  return hits.slice(0, MOST_CHOICES).map(({ entry }) => ({
    code: entry.code,
    name: entry.name,
    unitLabel: entry.unitLabel,
    area: entry.area,
    note: crsNote(entry),
  }));
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

/** Names the datum operation between two systems and how far to trust it. */
export function describeDatumShift(fromCode: number, toCode: number): DatumShift {
  const from = findCrs(fromCode);
  const to = findCrs(toCode);
  if (datumKey(from) === datumKey(to)) {
    return {
      kind: 'none',
      name: 'same datum',
      accuracyM: 0,
      statement: 'Same datum on both sides: no shift.',
    };
  }
  const ends = [from, to].map(datumOfEntry);
  const pair = `${systemTitle(from)} and ${systemTitle(to)}`;
  const blocked = blockedEnd(ends, 'grid-needed') ?? blockedEnd(ends, 'unknown');
  if (blocked !== null) return blockedStatement(blocked.entry, blocked.kind, pair);
  const shifting = ends.filter((end) => end.kind === 'helmert');
  if (shifting.length === 0) return geocentricStatement(ends, pair);
  return helmertStatement(shifting, pair);
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
  return `The place ${x}, ${y} (longitude ${lon.toFixed(4)}, latitude ${lat.toFixed(4)}) lies outside the area of ${systemTitle(entry)}: ${entry.area} Are the coordinates swapped, or is it another system?`;
}

/** Name with code, as messages and figures print it. */
export function systemTitle(entry: CrsEntry): string {
  return `${entry.name} (EPSG:${entry.code})`;
}

type BlockedKind = 'grid-needed' | 'unknown';

interface DatumEnd {
  readonly entry: CrsEntry;
  readonly kind: 'wgs84' | 'geocentric' | 'helmert' | BlockedKind;
  readonly parameters: string;
}

function datumOfEntry(entry: CrsEntry): DatumEnd {
  const parameters = /\+towgs84=(\S+)/.exec(entry.proj4)?.[1] ?? '';
  const ellipsoid = /\+ellps=(\S+)/.exec(entry.proj4)?.[1] ?? '';
  if (/\+datum=WGS84|\+nadgrids=@null/.test(entry.proj4)) return { entry, kind: 'wgs84', parameters };
  if (entry.proj4.includes('+nadgrids=')) return { entry, kind: 'grid-needed', parameters };
  if (parameters === '') {
    return { entry, kind: GEOCENTRIC_ELLIPSOIDS.has(ellipsoid) ? 'geocentric' : 'unknown', parameters };
  }
  const allZero = parameters.split(',').every((part) => Number(part) === 0);
  return { entry, kind: allZero ? 'geocentric' : 'helmert', parameters };
}

function blockedEnd(
  ends: readonly DatumEnd[],
  kind: BlockedKind,
): { entry: CrsEntry; kind: BlockedKind } | null {
  const end = ends.find((candidate) => candidate.kind === kind);
  return end === undefined ? null : { entry: end.entry, kind };
}

function blockedStatement(entry: CrsEntry, kind: BlockedKind, pair: string): DatumShift {
  const name = kind === 'grid-needed' ? `grid file ${entry.gridFile}` : 'not known';
  const why =
    kind === 'grid-needed'
      ? `the datum operation needs the ${name}, which is not shipped`
      : 'no datum operation is known here';
  return {
    kind,
    name,
    accuracyM: null,
    statement: `Coordinates cannot be taken between ${pair}: for ${systemTitle(entry)} ${why}. A zero shift could be wrong by hundreds of metres, so none is done.`,
  };
}

function geocentricStatement(ends: readonly DatumEnd[], pair: string): DatumShift {
  const stated = ends.map((end) => end.entry.shiftAccuracyM).filter((value) => value !== null);
  const accuracyM = stated.length === 0 ? null : Math.max(...stated);
  const trust =
    accuracyM === null
      ? 'Systems of this kind lie within about 1 to 2 m of one another (common practice); nothing better is stated here.'
      : `Stated accuracy of that: ${accuracyM} m.`;
  return {
    kind: 'helmert',
    name: 'zero shift',
    accuracyM,
    statement: `The datums of ${pair} are taken as one (zero shift). ${trust}`,
  };
}

function helmertStatement(shifting: readonly DatumEnd[], pair: string): DatumShift {
  const names = shifting.map((end) => {
    const count = end.parameters
      .split(',')
      .slice(3)
      .some((part) => Number(part) !== 0)
      ? 7
      : 3;
    return `${count}-parameter Helmert ${end.parameters} (position vector) for ${end.entry.name}`;
  });
  const coarse = shifting.filter((end) => end.entry.gridFile !== null);
  const unstated = shifting.some((end) => end.entry.shiftAccuracyM === null);
  const sumOfSquares = shifting.reduce((sum, end) => sum + (end.entry.shiftAccuracyM ?? 0) ** 2, 0);
  const accuracyM = unstated ? null : Math.sqrt(sumOfSquares);
  let trust =
    accuracyM === null
      ? 'Its accuracy is not stated in the table.'
      : `Stated accuracy: ${round1(accuracyM)} m.`;
  if (coarse.length > 0) {
    const files = coarse.map((end) => end.entry.gridFile).join(', ');
    trust += ` The usual operation uses a grid file (${files}), which is not shipped: expect errors of several metres, in places ten or more.`;
  }
  return {
    kind: 'helmert',
    name: names.join('; '),
    accuracyM,
    statement: `Between ${pair}: ${names.join('; ')}. ${trust}`,
  };
}

function crsNote(entry: CrsEntry): string | null {
  const notes: string[] = [];
  if (entry.kind === 'geographic')
    notes.push('Longitude and latitude: for imported files; a project needs a projected system.');
  if (entry.proj4.includes('+axis=')) {
    notes.push(
      'The dataset counts westing or southing positive; here always easting, northing (signs turned).',
    );
  }
  const datum = datumOfEntry(entry);
  if (datum.kind === 'grid-needed')
    notes.push(`To other datums only with the grid file ${entry.gridFile}, which is not shipped.`);
  if (datum.kind === 'unknown') notes.push('No operation to other datums is known here.');
  if (datum.kind === 'helmert' && entry.gridFile !== null) {
    notes.push(
      `To other datums within several metres only (the grid file ${entry.gridFile} is not shipped).`,
    );
  }
  if (entry.code === 3857) notes.push('Lengths are stretched away from the equator: not for a project.');
  return notes.length === 0 ? null : notes.join(' ');
}

/** 0: no match. Codes count most, then the name, then the place. */
function matchScore(entry: CrsEntry, words: readonly { word: string; whole: RegExp }[]): number {
  const code = String(entry.code);
  const name = plain(entry.name);
  const area = plain(entry.area);
  let score = entry.kind === 'projected' ? 1 : 0.5;
  for (const { word, whole } of words) {
    if (code === word) score += 1000;
    else if (whole.test(name)) score += 30;
    else if (name.includes(word)) score += 20;
    else if (area.includes(word)) score += 10;
    else if (code.startsWith(word) && word.length >= 3) score += 5;
    else return 0;
  }
  // WGS 84 and ETRS89 are what a modern receiver gives: first among equals. Odd axes and datums that lead nowhere: last.
  if (/^(wgs 84|etrs89) /.test(name)) score += 3;
  if (/\((n-e|z?e-n|n-ze)\)/.test(name) || entry.proj4.includes('+axis=')) score -= 4;
  if (['unknown', 'grid-needed'].includes(datumOfEntry(entry).kind)) score -= 3;
  return Math.max(score, 0.1);
}

function plain(text: string): string {
  return text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();
}

function escapeRegExp(text: string): string {
  return text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
}

/** What decides whether two systems share a datum: ellipsoid, prime meridian apart, and operation to WGS 84. */
function datumKey(entry: CrsEntry): string {
  if (/\+datum=WGS84|\+nadgrids=@null/.test(entry.proj4)) return 'WGS84';
  const part = (name: string) => new RegExp(`\\+${name}=(\\S+)`).exec(entry.proj4)?.[1] ?? '';
  const operation = part('towgs84').replace(/(,0)+$/, '');
  const ellipsoid = part('ellps') || `${part('a')} ${part('b')} ${part('rf')}`;
  // Without any operation the ellipsoid alone does not tell two datums apart: the name before the slash does.
  const base = operation === '' ? (entry.name.split(' / ')[0] ?? '').replace(/ \(.*\)$/, '') : '';
  return `${ellipsoid}|${operation}|${entry.gridFile ?? ''}|${base}`;
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

function round1(value: number): string {
  return String(Math.round(value * 10) / 10);
}
