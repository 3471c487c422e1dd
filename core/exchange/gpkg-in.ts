/** Features of a GeoPackage (OGC 12-128r17). The file is read from memory and never written. */
import Database from 'better-sqlite3';
import type { ProjectCrs } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { WGS84_CODE } from '../geo/crs.ts';
import { systemByCode } from '../geo/crs-table.ts';
import { convertNative, type PositionNative } from '../geo/frame.ts';
import { bad, featuresOf, type GeometryFeature, type GeometryReading, type Shape } from './geometry.ts';
import { readGeoPackageGeometry } from './wkb.ts';
import { findSystemOfWkt } from './wkt.ts';

/** Bytes 18 and 19 of an SQLite file: 1 for a rollback journal, 2 for a write-ahead log (SQLite file format, 1.3). */
const MODE_BYTES = [18, 20] as const;
const ROLLBACK_MODE = 1;
const GEOPACKAGE_IDS = new Set([0x47504b47, 0x47503130, 0x47503131]);

interface LayerRow {
  readonly table: string;
  readonly column: string;
  readonly srsId: number;
}

interface LayerReading {
  readonly features: GeometryFeature[];
  readonly crs: ProjectCrs | null;
}

/**
 * All feature layers, or the one of `layer`; `crs` holds against what the file says. Where layers lie in several systems all are brought into the first one's.
 * @throws AppError BAD_INPUT naming file, layer and feature
 */
export function readGeoPackage(
  bytes: Uint8Array,
  file: string,
  projectCrs: ProjectCrs,
  { layer, crs }: { readonly layer?: string; readonly crs?: ProjectCrs } = {},
): GeometryReading {
  let db: Database.Database;
  try {
    const copy = Buffer.from(bytes);
    // A file left in write-ahead mode cannot be opened from memory; what it holds is the same.
    copy.fill(ROLLBACK_MODE, ...MODE_BYTES);
    db = new Database(copy);
  } catch (cause) {
    throw bad(`${file} is a damaged SQLite file.`, { file }, cause);
  }
  try {
    db.pragma('trusted_schema = OFF');
    return readLayers(db, file, projectCrs, layer, crs ?? null);
  } catch (error) {
    if (error instanceof AppError) throw error;
    throw bad(
      `${file} is a damaged GeoPackage: ${error instanceof Error ? error.message : String(error)}.`,
      { file },
      error,
    );
  } finally {
    db.close();
  }
}

function readLayers(
  db: Database.Database,
  file: string,
  projectCrs: ProjectCrs,
  layer: string | undefined,
  said: ProjectCrs | null,
): GeometryReading {
  const isPackage =
    db.prepare("SELECT 1 FROM sqlite_master WHERE name = 'gpkg_geometry_columns'").get() !== undefined;
  if (!isPackage) {
    const id = Number(db.pragma('application_id', { simple: true }));
    const what = GEOPACKAGE_IDS.has(id)
      ? 'a GeoPackage without feature layers'
      : 'an SQLite file, but no GeoPackage';
    throw bad(`${file} is ${what}.`, { file });
  }
  const layers = db
    .prepare<[], LayerRow>(
      'SELECT table_name AS "table", column_name AS "column", srs_id AS "srsId" FROM gpkg_geometry_columns',
    )
    .all();
  const wanted =
    layer === undefined ? layers : layers.filter(({ table }) => table.toLowerCase() === layer.toLowerCase());
  if (wanted.length === 0) {
    const list = layers.map(({ table }) => `"${table}"`).join(', ') || 'none';
    throw bad(`${file} has no layer "${layer ?? ''}"; its layers: ${list}.`, { file, field: layer ?? '' });
  }
  const notes: string[] = [];
  const read = wanted.map((row): LayerReading => {
    const features = readFeatures(db, row, file);
    if (features.length === 0) notes.push(`Layer "${row.table}" of ${file} is empty.`);
    return { features, crs: features.length === 0 ? null : (said ?? systemOf(db, row, file, notes)) };
  });
  const filled = read.filter(({ features }) => features.length > 0);
  const [first] = filled;
  if (first === undefined) return { file, features: [], crs: null, notes };
  const target = first.crs ?? projectCrs;
  const features = filled.flatMap(({ features: list, crs }) =>
    isSameSystem(crs ?? projectCrs, target)
      ? list
      : list.map((feature) => moveFeature(feature, crs ?? projectCrs, target)),
  );
  return { file, features, crs: isSameSystem(target, projectCrs) ? null : target, notes };
}

function readFeatures(db: Database.Database, { table, column }: LayerRow, file: string): GeometryFeature[] {
  const rows = db.prepare<[], Record<string, unknown>>(`SELECT * FROM ${quoteName(table)}`).all();
  return rows.flatMap((row, i) => {
    const { [column]: blob, ...properties } = row;
    if (blob === null || blob === undefined) return [];
    const place = `feature ${i + 1} of layer "${table}"`;
    let shapes: Shape[];
    try {
      if (!(blob instanceof Uint8Array)) throw new Error('it is no binary value');
      shapes = readGeoPackageGeometry(blob).shapes;
    } catch (cause) {
      const reason = cause instanceof Error ? cause.message : String(cause);
      throw bad(
        `The geometry of ${place} in ${file} cannot be read: ${reason}.`,
        { file, field: place },
        cause,
      );
    }
    return featuresOf(shapes, place, table, properties);
  });
}

/** Null where the file states none: then the coordinates are taken as the project's own. */
function systemOf(
  db: Database.Database,
  { table, srsId }: LayerRow,
  file: string,
  notes: string[],
): ProjectCrs | null {
  if (srsId === -1) {
    notes.push(
      `Layer "${table}" of ${file} states no system: its coordinates are taken as the project's own.`,
    );
    return null;
  }
  if (srsId === 0) {
    notes.push(`Layer "${table}" of ${file} is in degrees of no stated datum: taken as WGS 84.`);
    return { kind: 'epsg', code: WGS84_CODE };
  }
  const row = db
    .prepare<[number], { organization: string; id: number; definition: string; name: string }>(
      'SELECT organization, organization_coordsys_id AS id, definition, srs_name AS name FROM gpkg_spatial_ref_sys WHERE srs_id = ?',
    )
    .get(srsId);
  if (row?.organization.toUpperCase() === 'EPSG' && systemByCode(row.id) !== null)
    return { kind: 'epsg', code: row.id };
  const found = row === undefined ? null : findSystemOfWkt(row.definition);
  if (found !== null && found.code !== null) {
    notes.push(...found.notes);
    return { kind: 'epsg', code: found.code };
  }
  throw bad(
    `Layer "${table}" of ${file} is in a system that is not known here (${row?.name ?? `srs_id ${srsId}`}). Save it in another system, or name the system.`,
    { file, field: table },
  );
}

function moveFeature(feature: GeometryFeature, from: ProjectCrs, to: ProjectCrs): GeometryFeature {
  const move = (points: readonly PositionNative[]) => convertNative(from, to, points);
  if (feature.kind === 'point') {
    const [at] = move([feature.coordinates]);
    return { ...feature, coordinates: at ?? feature.coordinates };
  }
  if (feature.kind === 'line') return { ...feature, coordinates: move(feature.coordinates) };
  return { ...feature, coordinates: feature.coordinates.map(move) };
}

export function isSameSystem(a: ProjectCrs, b: ProjectCrs): boolean {
  if (a.kind === 'epsg') return b.kind === 'epsg' && a.code === b.code;
  return b.kind === 'local' && a.unit === b.unit;
}

function quoteName(name: string): string {
  return `"${name.replaceAll('"', '""')}"`;
}
