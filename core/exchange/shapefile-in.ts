/** Shapefiles: the main file with its table (.dbf), its system (.prj) and its encoding (.cpg), as far as they are there. */
import type { ProjectCrs } from '../contract/model.ts';
import type { PositionNative } from '../geo/frame.ts';
import { pointInPolygon, ringArea } from '../geo/planar.ts';
import { type DbfRecord, readDbf } from './dbf.ts';
import {
  bad,
  featuresOf,
  type GeometryFeature,
  type GeometryReading,
  openRing,
  type Shape,
} from './geometry.ts';
import { findSystemOfWkt } from './wkt.ts';

export interface ShapefileParts {
  /** Name of the layer: the file's without its ending. */
  readonly layer: string;
  readonly shp: Uint8Array;
  readonly dbf: Uint8Array | null;
  readonly prj: string | null;
  readonly cpg: string | null;
}

const FILE_CODE = 9994;
const HEADER_BYTES = 100;
const KINDS: Readonly<Record<number, 'point' | 'line' | 'polygon' | 'points'>> = {
  1: 'point',
  11: 'point',
  21: 'point',
  3: 'line',
  13: 'line',
  23: 'line',
  5: 'polygon',
  15: 'polygon',
  25: 'polygon',
  8: 'points',
  18: 'points',
  28: 'points',
};

/**
 * Features of one shapefile. Coordinates stay as they are; their system is that of the .prj file, or without one the
 * project's own.
 * @throws AppError BAD_INPUT naming file and record, and for a .prj that names a system that is not known here
 */
export function readShapefile(parts: ShapefileParts, file: string): GeometryReading {
  const notes: string[] = [];
  const table = parts.dbf === null ? null : readDbf(parts.dbf, parts.cpg, file);
  if (table === null) notes.push(`There is no .dbf beside ${file}: its features have no names.`);
  const features = readRecords(parts.shp, parts.layer, table, file);
  return { file, features, crs: systemOf(parts.prj, file, notes), notes };
}

function systemOf(prj: string | null, file: string, notes: string[]): ProjectCrs | null {
  if (prj === null || prj.trim() === '') {
    notes.push(`There is no .prj beside ${file}: its coordinates are taken as the project's own.`);
    return null;
  }
  const found = findSystemOfWkt(prj);
  if (found.code !== null) {
    notes.push(...found.notes);
    return { kind: 'epsg', code: found.code };
  }
  throw bad(
    `The .prj of ${file} names a system that is not known here ("${found.name}": ${found.reason}). Save the file in another system, or name the system.`,
    { file, field: 'prj' },
  );
}

function readRecords(
  shp: Uint8Array,
  layer: string,
  table: readonly DbfRecord[] | null,
  file: string,
): GeometryFeature[] {
  const view = new DataView(shp.buffer, shp.byteOffset, shp.byteLength);
  if (shp.length < HEADER_BYTES || view.getInt32(0) !== FILE_CODE) {
    throw bad(`${file} is no shapefile main file (.shp).`, { file });
  }
  const features: GeometryFeature[] = [];
  let at = HEADER_BYTES;
  for (let record = 1; at + 8 <= shp.length; record++) {
    const bytes = 2 * view.getInt32(at + 4);
    const place = `record ${record}`;
    if (bytes < 4 || at + 8 + bytes > shp.length) {
      throw bad(`${file} is cut short in ${place}.`, { file, field: place });
    }
    const row = table?.[record - 1];
    if (row?.deleted !== true) {
      const shapes = readShape(new DataView(shp.buffer, shp.byteOffset + at + 8, bytes), place, file);
      features.push(...featuresOf(shapes, place, layer, row?.values ?? {}));
    }
    at += 8 + bytes;
  }
  return features;
}

function readShape(view: DataView, place: string, file: string): Shape[] {
  const type = view.getInt32(0, true);
  if (type === 0) return [];
  const kind = KINDS[type];
  if (kind === undefined) {
    throw bad(`${place} of ${file} is of shape type ${type}, which is not read here.`, {
      file,
      field: place,
    });
  }
  try {
    const position = (offset: number): PositionNative => [
      view.getFloat64(offset, true),
      view.getFloat64(offset + 8, true),
    ];
    if (kind === 'point') return [{ kind: 'point', coordinates: position(4) }];
    if (kind === 'points') {
      const count = view.getInt32(36, true);
      return Array.from({ length: count }, (_, i) => ({ kind: 'point', coordinates: position(40 + 16 * i) }));
    }
    const partCount = view.getInt32(36, true);
    const pointCount = view.getInt32(40, true);
    const starts = Array.from({ length: partCount }, (_, i) => view.getInt32(44 + 4 * i, true));
    const from = 44 + 4 * partCount;
    const lines = starts.map((start, i) => {
      const end = starts[i + 1] ?? pointCount;
      return Array.from({ length: end - start }, (_, j) => position(from + 16 * (start + j)));
    });
    return kind === 'line'
      ? lines.map((coordinates) => ({ kind: 'line', coordinates }))
      : polygonsOf(lines.map(openRing));
  } catch (cause) {
    throw bad(`${place} of ${file} is damaged.`, { file, field: place }, cause);
  }
}

/** Outer rings run clockwise, holes the other way (the format's description, page 8); a hole belongs to the ring round it. */
function polygonsOf(rings: readonly PositionNative[][]): Shape[] {
  const outers = rings.filter((ring) => ringArea(ring) <= 0);
  if (outers.length === 0) return rings.map((ring) => ({ kind: 'polygon', coordinates: [ring] }));
  const polygons = outers.map((outer) => [outer]);
  for (const hole of rings.filter((ring) => ringArea(ring) > 0)) {
    const [corner] = hole;
    const owners = polygons.filter(
      ([outer]) => corner !== undefined && pointInPolygon(corner, [outer ?? []]),
    );
    const owner = owners.sort((a, b) => Math.abs(ringArea(a[0] ?? [])) - Math.abs(ringArea(b[0] ?? [])))[0];
    if (owner === undefined) polygons.push([hole]);
    else owner.push(hole);
  }
  return polygons.map((coordinates) => ({ kind: 'polygon', coordinates }));
}
