/** The project as a GeoPackage (OGC 12-128r17, version 1.3): one SQLite file with a layer for each kind of thing. */
import Database from 'better-sqlite3';
import type { Footprint, KeepOut, PositionM, Probe, ProjectView, RingM } from '../contract/model.ts';
import type { ContourBand, ContourLine, SurfaceResult } from '../contract/results.ts';
import { findCrs, systemTitle } from '../geo/crs-table.ts';
import {
  type Cell,
  type Column,
  type ColumnType,
  column,
  probeColumns,
  type SampleRow,
  sampleColumns,
  sampleRows,
} from './columns.ts';
import { pointsOf, type Shape } from './geometry.ts';
import { type ExportOptions, linePoints, type MapPlace, mapPlace } from './map-place.ts';
import { writeGeoPackageGeometry } from './wkb.ts';
import { writeWkt } from './wkt.ts';

const APPLICATION_ID = 0x47504b47;
const USER_VERSION = 10300;
/** Given by the standard to plane coordinates of no stated system. */
const UNDEFINED_CARTESIAN = -1;

const SQL_TYPES: Record<ColumnType, string> = {
  text: 'TEXT',
  number: 'DOUBLE',
  whole: 'INTEGER',
  'yes-no': 'BOOLEAN',
  time: 'DATETIME',
};

type Outline = Shape | { readonly kind: 'polygons'; readonly coordinates: readonly Shape[] };

interface Layer<R> {
  readonly table: string;
  readonly description: string;
  readonly geometry: 'POINT' | 'LINESTRING' | 'POLYGON' | 'MULTIPOLYGON' | 'GEOMETRY';
  readonly columns: readonly Column<R>[];
  readonly rows: readonly R[];
  readonly outline: (row: R) => Outline;
}

/**
 * Layers `probes`, `samples`, `contours`, `bands`, `lot`, `footprint`, `keep_outs` (those that hold something) and the
 * table `project` with what a reader must know: system, datum, how the surface was made. Coordinates are the
 * project's own, or those of the system a local grid is tied to; an untied grid has the undefined plane system -1.
 * @param options.writtenUtc - time stamp of the file; now where absent
 */
export function writeGeoPackage(
  view: ProjectView,
  surface: SurfaceResult | null,
  options: ExportOptions & { readonly writtenUtc?: string } = {},
): Uint8Array {
  const place = mapPlace(view, options);
  const db = new Database(':memory:');
  try {
    db.pragma(`application_id = ${APPLICATION_ID}`);
    db.pragma(`user_version = ${USER_VERSION}`);
    db.exec(FRAME_TABLES);
    const writtenUtc = new Date(options.writtenUtc ?? Date.now()).toISOString();
    const srsId = place.code ?? UNDEFINED_CARTESIAN;
    db.transaction(() => {
      writeSystems(db, place);
      for (const layer of layersOf(view, surface, place, options)) writeLayer(db, layer, srsId, writtenUtc);
      writeProject(db, view, surface, place, writtenUtc);
    })();
    return new Uint8Array(db.serialize());
  } finally {
    db.close();
  }
}

const FRAME_TABLES = `
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT
);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
);
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents (table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
);
CREATE TABLE gpkg_extensions (
  table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, definition TEXT NOT NULL, scope TEXT NOT NULL,
  CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name)
);`;

function writeSystems(db: Database.Database, { code }: MapPlace): void {
  const insert = db.prepare('INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)');
  insert.run('Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', 'plane coordinates of no stated system');
  insert.run(
    'Undefined geographic SRS',
    0,
    'NONE',
    0,
    'undefined',
    'longitude and latitude of no stated system',
  );
  insert.run('WGS 84 geodetic', 4326, 'EPSG', 4326, writeWkt(4326), 'longitude and latitude on WGS 84');
  if (code !== null && code !== 4326) {
    const entry = findCrs(code);
    insert.run(systemTitle(entry), code, 'EPSG', code, writeWkt(code) ?? 'undefined', entry.area);
  }
}

function layersOf(
  view: ProjectView,
  surface: SurfaceResult | null,
  place: MapPlace,
  { codes }: ExportOptions,
): Layer<never>[] {
  const point = (positionM: PositionM): Shape => ({
    kind: 'point',
    coordinates: place.toMap([positionM])[0] ?? [Number.NaN, Number.NaN],
  });
  const polygon = (rings: readonly (readonly PositionM[])[]): Shape => ({
    kind: 'polygon',
    coordinates: rings.map((ring) => place.toMap(ring)),
  });
  const line = (points: readonly PositionM[]): Shape => ({ kind: 'line', coordinates: place.toMap(points) });
  const layers: Layer<never>[] = [];
  const add = <R>(layer: Layer<R>) => {
    if (layer.rows.length > 0) layers.push(layer as unknown as Layer<never>);
  };
  add<Probe>({
    table: 'probes',
    description: 'Probes and what their samples come to together',
    geometry: 'POINT',
    columns: probeColumns(view, codes),
    rows: view.probes,
    outline: (probe) => point(probe.positionM),
  });
  add<SampleRow>({
    table: 'samples',
    description: 'Every sample as read, with how it was treated and why',
    geometry: 'POINT',
    columns: sampleColumns(view, RADON_COLUMNS),
    rows: sampleRows(view),
    outline: ({ probe }) => point(probe.positionM),
  });
  add<ContourLine>({
    table: 'contours',
    description: 'Lines of equal radon, from the modelled surface',
    geometry: 'LINESTRING',
    columns: [
      column('radon_kbq_per_m3', '', 'number', ({ level }) => level),
      column('closed', '', 'yes-no', ({ closed }) => closed),
    ],
    rows: surface?.lines ?? [],
    outline: (contour) => line(linePoints(contour)),
  });
  add<ContourBand>({
    table: 'bands',
    description:
      'Ground between two levels, from the modelled surface; open to the top where the upper one is empty',
    geometry: 'MULTIPOLYGON',
    columns: [
      column('from_kbq_per_m3', '', 'number', ({ from }) => from),
      column('to_kbq_per_m3', '', 'number', ({ to }) => to),
    ],
    rows: surface?.bands.filter(({ polygons }) => polygons.length > 0) ?? [],
    outline: ({ polygons }) => ({ kind: 'polygons', coordinates: polygons.map(polygon) }),
  });
  add<RingM>({
    table: 'lot',
    description: 'Outline of the lot',
    geometry: 'POLYGON',
    columns: [column('area_m2', '', 'number', () => view.lotAreaM2)],
    rows: view.lot === null ? [] : [view.lot],
    outline: (ring) => polygon([ring]),
  });
  add<Footprint>({
    table: 'footprint',
    description: 'Outline of the planned building',
    geometry: 'POLYGON',
    columns: [column('label', '', 'text', ({ label }) => label)],
    rows: view.footprint === null ? [] : [view.footprint],
    outline: ({ ring }) => polygon([ring]),
  });
  add<KeepOut>({
    table: 'keep_outs',
    description: 'Ground in which no probe is driven, without its buffer',
    geometry: 'GEOMETRY',
    columns: [
      column('label', '', 'text', ({ label }) => label),
      column('buffer_m', '', 'number', ({ bufferM }) => bufferM),
      column('blocks_walk', '', 'yes-no', ({ blocksWalk }) => blocksWalk ?? null),
    ],
    rows: view.keepOuts,
    outline: ({ shape, points }) => (shape === 'polygon' ? polygon([points]) : line(points)),
  });
  return layers;
}

const RADON_COLUMNS: readonly Column<SampleRow>[] = [
  column('radon_kbq_per_m3', '', 'number', ({ sample }) => sample.radonKBqPerM3),
  column('radon_below_kbq_per_m3', '', 'number', ({ sample }) => sample.radonBelowKBqPerM3),
  column('radon_above_kbq_per_m3', '', 'number', ({ sample }) => sample.radonAboveKBqPerM3 ?? null),
];

function writeLayer(db: Database.Database, layer: Layer<never>, srsId: number, writtenUtc: string): void {
  const { table, columns, rows } = layer;
  const defined = columns.map(({ name, type }) => `"${name}" ${SQL_TYPES[type]}`);
  db.exec(
    `CREATE TABLE "${table}" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom ${layer.geometry}, ${defined.join(', ')})`,
  );
  const insert = db.prepare(
    `INSERT INTO "${table}" (geom, ${columns.map(({ name }) => `"${name}"`).join(', ')}) VALUES (?${', ?'.repeat(columns.length)})`,
  );
  const boxes: Box[] = [];
  for (const row of rows) {
    const outline = layer.outline(row);
    const points = (outline.kind === 'polygons' ? outline.coordinates : [outline]).flatMap(pointsOf);
    const { lastInsertRowid } = insert.run(
      writeGeoPackageGeometry(srsId, outline),
      ...columns.map(({ type, cell }) => sqlValue(type, cell(row))),
    );
    boxes.push({ fid: lastInsertRowid, ...boxOf(points) });
  }
  const all = boxOf(boxes.flatMap((box) => [[box.minX, box.minY] as const, [box.maxX, box.maxY] as const]));
  db.prepare('INSERT INTO gpkg_contents VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)').run(
    table,
    'features',
    table,
    layer.description,
    writtenUtc,
    all.minX,
    all.minY,
    all.maxX,
    all.maxY,
    srsId,
  );
  db.prepare('INSERT INTO gpkg_geometry_columns VALUES (?, ?, ?, ?, 0, 0)').run(
    table,
    'geom',
    layer.geometry,
    srsId,
  );
  writeSpatialIndex(db, table, boxes);
}

interface Box {
  readonly fid: number | bigint;
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
}

function boxOf(points: readonly (readonly [number, number])[]): Omit<Box, 'fid'> {
  const box = { minX: Infinity, minY: Infinity, maxX: -Infinity, maxY: -Infinity };
  for (const [x, y] of points) {
    box.minX = Math.min(box.minX, x);
    box.minY = Math.min(box.minY, y);
    box.maxX = Math.max(box.maxX, x);
    box.maxY = Math.max(box.maxY, y);
  }
  return box;
}

/**
 * The R-tree of a layer and the triggers that keep it (OGC 12-128r17, annex F.3). The triggers call ST_ functions that
 * the standard asks of whoever edits the file; reading needs none of them.
 */
function writeSpatialIndex(db: Database.Database, table: string, boxes: readonly Box[]): void {
  const tree = `"rtree_${table}_geom"`;
  db.exec(`CREATE VIRTUAL TABLE ${tree} USING rtree(id, minx, maxx, miny, maxy)`);
  const insert = db.prepare(`INSERT INTO ${tree} VALUES (?, ?, ?, ?, ?)`);
  for (const { fid, minX, maxX, minY, maxY } of boxes) insert.run(fid, minX, maxX, minY, maxY);
  const here = 'NEW.geom NOT NULL AND NOT ST_IsEmpty(NEW.geom)';
  const gone = 'NEW.geom ISNULL OR ST_IsEmpty(NEW.geom)';
  const put = `INSERT OR REPLACE INTO ${tree} VALUES (NEW.fid, ST_MinX(NEW.geom), ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom));`;
  const drop = `DELETE FROM ${tree} WHERE id = OLD.fid;`;
  const triggers: readonly (readonly [name: string, event: string, when: string, action: string])[] = [
    ['insert', 'INSERT', here, put],
    ['update1', 'UPDATE OF geom', `OLD.fid = NEW.fid AND (${here})`, put],
    ['update2', 'UPDATE OF geom', `OLD.fid = NEW.fid AND (${gone})`, drop],
    ['update3', 'UPDATE', `OLD.fid != NEW.fid AND (${here})`, `${drop} ${put}`],
    [
      'update4',
      'UPDATE',
      `OLD.fid != NEW.fid AND (${gone})`,
      `DELETE FROM ${tree} WHERE id IN (OLD.fid, NEW.fid);`,
    ],
    ['delete', 'DELETE', 'OLD.geom NOT NULL', drop],
  ];
  for (const [name, event, when, action] of triggers)
    db.exec(
      `CREATE TRIGGER "rtree_${table}_geom_${name}" AFTER ${event} ON "${table}" WHEN ${when} BEGIN ${action} END`,
    );
  db.prepare(
    "INSERT INTO gpkg_extensions VALUES (?, 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec130/#extension_rtree', 'write-only')",
  ).run(table);
}

/** Facts of the whole, as one row each: a reader has them beside the layers. */
function writeProject(
  db: Database.Database,
  view: ProjectView,
  surface: SurfaceResult | null,
  place: MapPlace,
  writtenUtc: string,
): void {
  const model = surface?.variogram?.model;
  const facts: Readonly<Record<string, string | number | null>> = {
    name: view.name,
    invented_data: view.isDemo ? 'yes' : 'no',
    revision: view.revision,
    coordinate_system: place.systemName,
    coordinate_unit: place.unitLabel,
    grid_scale_factor: view.frame.gridScaleFactor,
    surface_method: surface?.method ?? null,
    surface_samples_used: surface?.usedSampleIds.length ?? null,
    surface_model: model === undefined ? null : JSON.stringify(model),
    surface_values_as: surface?.variogram?.transform === 'log' ? 'natural logarithms' : null,
    caution:
      'Have buried services located before any probe is driven. Soil gas does not by itself tell the radon in a finished house; test the house.',
  };
  db.exec(
    'CREATE TABLE project (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, fact TEXT NOT NULL, value TEXT)',
  );
  const insert = db.prepare('INSERT INTO project (fact, value) VALUES (?, ?)');
  for (const [fact, value] of Object.entries(facts)) insert.run(fact, value === null ? null : String(value));
  db.prepare(
    "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change) VALUES ('project', 'attributes', 'project', ?, ?)",
  ).run('What a reader of the layers must know', writtenUtc);
}

function sqlValue(type: ColumnType, cell: Cell): string | number | null {
  if (typeof cell === 'boolean') return cell ? 1 : 0;
  if (type === 'time' && typeof cell === 'string') return new Date(cell).toISOString();
  return cell;
}
