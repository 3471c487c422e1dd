/** What any geometry file comes to, whatever its format: named features in the file's coordinates. */
import type { ProjectCrs } from '../contract/model.ts';
import { AppError, type ErrorDetails } from '../errors.ts';
import type { PositionNative } from '../geo/frame.ts';

/** Rings are closed by meaning: the last point does not repeat the first. The outer one comes first. */
export type Shape =
  | { readonly kind: 'point'; readonly coordinates: PositionNative }
  | { readonly kind: 'line'; readonly coordinates: readonly PositionNative[] }
  | { readonly kind: 'polygon'; readonly coordinates: readonly (readonly PositionNative[])[] };

export type PropertyValue = string | number | boolean | null;

export type GeometryFeature = Shape & {
  /** For messages: which one of the file it is, with its own name where it has one. */
  readonly name: string;
  /** Its own name; null where it has none. */
  readonly label: string | null;
  readonly layer: string;
  readonly properties: Readonly<Record<string, PropertyValue>>;
};

export interface GeometryReading {
  readonly file: string;
  readonly features: readonly GeometryFeature[];
  /** System of the coordinates; null where they are taken as the project's own. */
  readonly crs: ProjectCrs | null;
  /** For people: what was assumed and what was passed over. */
  readonly notes: readonly string[];
}

/** Files repeat a closing point digit by digit; this allows for rounding (in degrees a tenth of a millimetre). */
const SAME_PLACE = 1e-9;

/** The ring without its closing point, should it have one. */
export function openRing(points: readonly PositionNative[]): PositionNative[] {
  const ring = [...points];
  while (ring.length > 1 && isSamePlace(ring[0] as PositionNative, ring.at(-1) as PositionNative)) ring.pop();
  return ring;
}

/** What a GPX waypoint's type says of a probe added after the first round; other formats have a field of that name. */
export const ADDED_WORD = 'added';

export function isSamePlace(a: PositionNative, b: PositionNative): boolean {
  return Math.abs(a[0] - b[0]) <= SAME_PLACE && Math.abs(a[1] - b[1]) <= SAME_PLACE;
}

export function pointsOf(shape: Shape): readonly PositionNative[] {
  if (shape.kind === 'point') return [shape.coordinates];
  return shape.kind === 'line' ? shape.coordinates : shape.coordinates.flat();
}

/** Its own name, from the properties that usually hold one. */
export function labelOf(properties: Readonly<Record<string, unknown>>): string | null {
  for (const wanted of ['label', 'name', 'probe', 'title', 'id']) {
    for (const [key, value] of Object.entries(properties)) {
      if (key.toLowerCase() !== wanted) continue;
      if (typeof value === 'number' || (typeof value === 'string' && value.trim() !== ''))
        return String(value).trim();
    }
  }
  return null;
}

/** Properties that one cell can hold; lists and objects are left out. */
function plainProperties(properties: Readonly<Record<string, unknown>>): Record<string, PropertyValue> {
  const out: Record<string, PropertyValue> = {};
  for (const [key, value] of Object.entries(properties)) {
    if (value === null || ['string', 'number', 'boolean'].includes(typeof value))
      out[key] = value as PropertyValue;
  }
  return out;
}

/** `place` with the feature's own name behind it. */
export function featureName(place: string, label: string | null): string {
  return label === null ? place : `${place} "${label}"`;
}

/**
 * The shapes of a GeoJSON geometry, multi-geometries and collections taken apart; none for null.
 * @throws AppError BAD_INPUT naming file, feature and position where a position is not a pair of numbers
 */
export function shapesOfGeometry(geometry: unknown, name: string, file: string): Shape[] {
  if (!isObject(geometry)) return [];
  if (geometry['type'] === 'GeometryCollection') {
    const parts = geometry['geometries'];
    return Array.isArray(parts) ? parts.flatMap((part) => shapesOfGeometry(part, name, file)) : [];
  }
  const list = geometry['coordinates'];
  if (!Array.isArray(list)) return [];
  const line = (points: unknown) => readPositions(points, name, file);
  const polygon = (rings: unknown): Shape[] => {
    if (!Array.isArray(rings) || rings.length === 0) return [];
    return [{ kind: 'polygon', coordinates: rings.map((ring) => openRing(line(ring))) }];
  };
  switch (geometry['type']) {
    case 'Point':
      return list.length === 0 ? [] : [{ kind: 'point', coordinates: readPosition(list, 0, name, file) }];
    case 'MultiPoint':
      return line(list).map((coordinates) => ({ kind: 'point', coordinates }));
    case 'LineString':
      return [{ kind: 'line', coordinates: line(list) }];
    case 'MultiLineString':
      return list.map((points) => ({ kind: 'line', coordinates: line(points) }));
    case 'Polygon':
      return polygon(list);
    case 'MultiPolygon':
      return list.flatMap(polygon);
    default:
      return [];
  }
}

function readPositions(points: unknown, name: string, file: string): PositionNative[] {
  if (!Array.isArray(points))
    throw bad(`${name} of ${file} has no list of positions.`, { file, field: name });
  return points.map((position, i) => readPosition(position, i, name, file));
}

function readPosition(position: unknown, index: number, name: string, file: string): PositionNative {
  const [x, y] = Array.isArray(position) ? (position as unknown[]) : [];
  if (typeof x === 'number' && typeof y === 'number' && Number.isFinite(x) && Number.isFinite(y))
    return [x, y];
  throw bad(
    `Position ${index + 1} of ${name} in ${file} is not a pair of numbers: ${JSON.stringify(position)}.`,
    { file, field: name, position: index + 1 },
  );
}

/** Features of the shapes of one thing; several are told apart as parts. */
export function featuresOf(
  shapes: readonly Shape[],
  place: string,
  layer: string,
  properties: Readonly<Record<string, unknown>>,
): GeometryFeature[] {
  const label = labelOf(properties);
  const name = featureName(place, label);
  const plain = plainProperties(properties);
  return shapes.map((shape, i) => ({
    ...shape,
    name: shapes.length > 1 ? `${name}, part ${i + 1}` : name,
    label,
    layer,
    properties: plain,
  }));
}

export function bad(message: string, details: ErrorDetails, cause?: unknown): AppError {
  return new AppError('BAD_INPUT', message, details, cause);
}

export function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
