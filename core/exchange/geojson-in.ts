import type { ProjectCrs } from '../contract/model.ts';
import { WGS84_CODE } from '../geo/crs.ts';
import type { PositionNative } from '../geo/frame.ts';
import {
  bad,
  featureName,
  featuresOf,
  type GeometryFeature,
  type GeometryReading,
  isObject,
  labelOf,
  pointsOf,
  shapesOfGeometry,
} from './geometry.ts';

/** No lot is this many degrees across (at least 10 km): such numbers are lengths, whatever their size. */
const WIDEST_LOT_DEG = 0.2;

/**
 * Features of a GeoJSON file (RFC 7946). Coordinates are WGS 84 longitude and latitude unless a `crs` member names
 * another EPSG system, or the numbers are clearly no degrees; these are taken as the project's own.
 * @throws AppError BAD_INPUT naming file and feature
 */
export function readGeoJson(text: string, file: string, projectCrs: ProjectCrs): GeometryReading {
  const root = parse(text, file);
  const features = collect(root, file);
  const named = readCrsMember(root, file);
  if (named !== null) {
    const isOwn = projectCrs.kind === 'epsg' && named === projectCrs.code;
    return { file, features, crs: isOwn ? null : { kind: 'epsg', code: named }, notes: [] };
  }
  if (features.length === 0 || looksLikeDegrees(features, file)) {
    return { file, features, crs: { kind: 'epsg', code: WGS84_CODE }, notes: [] };
  }
  return {
    file,
    features,
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

function collect(root: Record<string, unknown>, file: string): GeometryFeature[] {
  if (root['type'] !== 'FeatureCollection') return readFeature(root, 'feature 1', file);
  if (!Array.isArray(root['features'])) {
    throw bad(`${file} has no list of features.`, { file, field: 'features' });
  }
  return root['features'].flatMap((feature, i) => readFeature(feature, `feature ${i + 1}`, file));
}

function readFeature(node: unknown, place: string, file: string): GeometryFeature[] {
  if (!isObject(node)) return [];
  const isFeature = node['type'] === 'Feature';
  const own = isFeature && isObject(node['properties']) ? node['properties'] : {};
  const id = isFeature ? node['id'] : undefined;
  const properties = labelOf(own) === null && id !== undefined ? { ...own, id } : own;
  const name = featureName(place, labelOf(properties));
  const shapes = shapesOfGeometry(isFeature ? node['geometry'] : node, name, file);
  return featuresOf(shapes, place, typeof own['role'] === 'string' ? own['role'] : '', properties);
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

function looksLikeDegrees(features: readonly GeometryFeature[], file: string): boolean {
  const points = features.flatMap((feature) => pointsOf(feature));
  const [spanX, spanY] = [span(points, 0), span(points, 1)];
  if (Math.max(spanX, spanY) > WIDEST_LOT_DEG) return false;
  const inRange = (limitX: number, limitY: number) =>
    points.every(([x, y]) => Math.abs(x) <= limitX && Math.abs(y) <= limitY);
  if (inRange(180, 90)) return true;
  if (inRange(90, 180)) {
    const beyond = features.find((feature) => pointsOf(feature).some(([, y]) => Math.abs(y) > 90));
    const latitude = beyond === undefined ? undefined : pointsOf(beyond)[0]?.[1];
    throw bad(
      `${beyond?.name} of ${file} has a latitude beyond 90 degrees (${latitude}): GeoJSON wants longitude first. Are they swapped?`,
      { file, field: beyond?.name ?? '' },
    );
  }
  return false;
}

function span(points: readonly PositionNative[], axis: 0 | 1): number {
  let [low, high] = [Infinity, -Infinity];
  for (const point of points) {
    low = Math.min(low, point[axis]);
    high = Math.max(high, point[axis]);
  }
  return high - low;
}
