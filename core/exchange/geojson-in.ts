import type { ProjectCrs } from '../contract/model.ts';
import { AppError, type ErrorDetails } from '../errors.ts';
import { WGS84_CODE } from '../geo/crs.ts';
import type { PositionNative } from '../geo/frame.ts';

/** A lot outline as a file gives it. */
export interface LotOutline {
  /** The last point does not repeat the first. In the coordinates of `crs`. */
  readonly ring: PositionNative[];
  /** System of the ring; null where it is the project's own. */
  readonly crs: ProjectCrs | null;
  /** For people: what was assumed. */
  readonly notes: readonly string[];
}

/** No lot is this many degrees across (at least 10 km): such numbers are lengths, whatever their size. */
const WIDEST_LOT_DEG = 0.2;

interface NamedPolygon {
  readonly name: string;
  readonly role: unknown;
  readonly rings: readonly unknown[];
}

/**
 * The lot of a GeoJSON file (RFC 7946): its only polygon, or the one whose properties have `"role": "lot"`.
 * Coordinates are WGS 84 longitude and latitude unless a `crs` member names another EPSG system, or the numbers are
 * clearly no degrees; these are taken as the project's own.
 * @throws AppError BAD_INPUT naming file and feature
 */
export function readLotGeoJson(text: string, file: string, projectCrs: ProjectCrs): LotOutline {
  const root = parse(text, file);
  const polygons = collectPolygons(root, file);
  const marked = polygons.filter((polygon) => polygon.role === 'lot');
  const candidates = marked.length > 0 ? marked : polygons;
  const [lot] = candidates;
  if (lot === undefined) throw bad(`${file} holds no polygon: a lot is one Polygon feature.`, { file });
  if (candidates.length > 1) {
    const names = candidates.map((polygon) => polygon.name).join(', ');
    throw bad(
      `${file} holds ${candidates.length} polygons (${names}): leave one, or give the lot the property "role": "lot".`,
      { file },
    );
  }
  const ring = readRing(lot, file);
  const named = readCrsMember(root, file);
  if (named !== null) {
    const isOwn = projectCrs.kind === 'epsg' && named === projectCrs.code;
    return { ring, crs: isOwn ? null : { kind: 'epsg', code: named }, notes: [] };
  }
  if (looksLikeDegrees(ring, lot.name, file))
    return { ring, crs: { kind: 'epsg', code: WGS84_CODE }, notes: [] };
  return {
    ring,
    crs: null,
    notes: [
      `The coordinates of ${file} are no longitude and latitude; they are taken as the project's own, though GeoJSON asks for WGS 84.`,
    ],
  };
}

function parse(text: string, file: string): Record<string, unknown> {
  let root: unknown;
  try {
    root = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (cause) {
    throw bad(
      `${file} is no JSON: ${cause instanceof Error ? cause.message : String(cause)}`,
      { file },
      cause,
    );
  }
  if (!isObject(root) || typeof root['type'] !== 'string') {
    throw bad(`${file} is no GeoJSON: it has no "type".`, { file });
  }
  return root;
}

function collectPolygons(root: Record<string, unknown>, file: string): NamedPolygon[] {
  if (root['type'] === 'FeatureCollection') {
    if (!Array.isArray(root['features']))
      throw bad(`${file} has no list of features.`, { file, field: 'features' });
    return root['features'].flatMap((feature, i) => polygonsOf(feature, `feature ${i + 1}`));
  }
  return polygonsOf(root, 'feature 1');
}

function polygonsOf(node: unknown, place: string): NamedPolygon[] {
  if (!isObject(node)) return [];
  const isFeature = node['type'] === 'Feature';
  const geometry = isFeature ? node['geometry'] : node;
  const properties = isFeature && isObject(node['properties']) ? node['properties'] : {};
  const label = properties['label'] ?? properties['name'] ?? (isFeature ? node['id'] : undefined);
  const name = label === undefined || label === null ? place : `${place} "${String(label)}"`;
  if (!isObject(geometry) || !Array.isArray(geometry['coordinates'])) return [];
  const polygon = (rings: unknown, part: string): NamedPolygon[] =>
    Array.isArray(rings) ? [{ name: name + part, role: properties['role'], rings }] : [];
  if (geometry['type'] === 'Polygon') return polygon(geometry['coordinates'], '');
  if (geometry['type'] !== 'MultiPolygon') return [];
  const parts = geometry['coordinates'];
  return parts.flatMap((rings, i) => polygon(rings, parts.length > 1 ? `, part ${i + 1}` : ''));
}

function readRing(lot: NamedPolygon, file: string): PositionNative[] {
  const where = { file, field: lot.name };
  if (lot.rings.length > 1) {
    throw bad(
      `${lot.name} of ${file} has a hole; a lot is one outline. Enter the hole as a keep-out.`,
      where,
    );
  }
  const [outer] = lot.rings;
  if (!Array.isArray(outer)) throw bad(`${lot.name} of ${file} has no outline.`, where);
  const ring = outer.map((position, i): PositionNative => {
    const [x, y] = Array.isArray(position) ? (position as unknown[]) : [];
    if (typeof x !== 'number' || typeof y !== 'number') {
      throw bad(
        `Position ${i + 1} of ${lot.name} in ${file} is not a pair of numbers: ${JSON.stringify(position)}.`,
        {
          ...where,
          position: i + 1,
        },
      );
    }
    return [x, y];
  });
  const [first, last] = [ring[0], ring.at(-1)];
  if (ring.length > 1 && first?.[0] === last?.[0] && first?.[1] === last?.[1]) ring.pop();
  return ring;
}

function readCrsMember(root: Record<string, unknown>, file: string): number | null {
  const crs = root['crs'];
  if (crs === undefined || crs === null) return null;
  const properties = isObject(crs) && isObject(crs['properties']) ? crs['properties'] : {};
  const name = String(properties['name'] ?? properties['code'] ?? '');
  if (/CRS84\b/i.test(name)) return WGS84_CODE;
  const code = /\bEPSG:{1,2}(?:[\d.]*:)?(\d{4,6})$/i.exec(name)?.[1];
  if (code !== undefined) return Number(code);
  throw bad(`${file} names a coordinate system that is not known here: ${JSON.stringify(crs)}.`, {
    file,
    field: 'crs',
  });
}

function looksLikeDegrees(ring: readonly PositionNative[], name: string, file: string): boolean {
  const xs = ring.map(([x]) => x);
  const ys = ring.map(([, y]) => y);
  const span = (values: readonly number[]) => Math.max(...values) - Math.min(...values);
  if (Math.max(span(xs), span(ys)) > WIDEST_LOT_DEG) return false;
  const inRange = (values: readonly number[], limit: number) =>
    values.every((value) => Math.abs(value) <= limit);
  if (inRange(xs, 180) && inRange(ys, 90)) return true;
  if (inRange(xs, 90) && inRange(ys, 180)) {
    throw bad(
      `${name} of ${file} has a latitude beyond 90 degrees (${ys[0]}): GeoJSON wants longitude first. Are they swapped?`,
      { file, field: name },
    );
  }
  return false;
}

function bad(message: string, details: ErrorDetails, cause?: unknown): AppError {
  return new AppError('BAD_INPUT', message, details, cause);
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
