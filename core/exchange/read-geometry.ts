/** One door for every geometry file: what it is shows in its bytes, not in its name. */
import { strFromU8, unzipSync } from 'fflate';
import type { ProjectCrs } from '../contract/model.ts';
import { metresPerUnit } from '../geo/crs.ts';
import { findCrs } from '../geo/crs-table.ts';
import { decodeText } from '../survey/decode-text.ts';
import { type LengthUnit, toMetres } from '../units.ts';
import { readDxf } from './dxf-in.ts';
import { readGeoJson } from './geojson-in.ts';
import { bad, type GeometryFeature, type GeometryReading, pointsOf } from './geometry.ts';
import { isSameSystem, readGeoPackage } from './gpkg-in.ts';
import { readShapefile } from './shapefile-in.ts';
import { readXml } from './xml-in.ts';

export interface ReadGeometryOptions {
  /** Bytes of the file of the same name with another ending ('dbf', 'prj', 'cpg', 'shp'), or null; for shapefiles. */
  readonly sibling?: (extension: string) => Uint8Array | null;
  /** Only this layer. */
  readonly layer?: string;
  /** What a person says the system is; holds against anything the file says. */
  readonly crs?: ProjectCrs;
  /** Unit of a drawing's numbers where it differs from the project's. */
  readonly unit?: LengthUnit;
}

/** A lot's plan is never this large; a country's cadastre is. */
const MOST_BYTES = 200e6;
const MOST_POSITIONS = 500_000;

/** Beginnings of files that hold no geometry, and what to do about them. */
const NO_GEOMETRY: readonly { readonly start: readonly number[]; readonly what: string }[] = [
  { start: [0x25, 0x50, 0x44, 0x46], what: 'a PDF: export the plan as DXF, GeoJSON or a GeoPackage' },
  { start: [0x89, 0x50, 0x4e, 0x47], what: 'a PNG image: place it as a site plan' },
  { start: [0xff, 0xd8, 0xff], what: 'a JPEG image: place it as a site plan' },
  { start: [0x49, 0x49, 0x2a, 0x00], what: 'a TIFF image: place it as a site plan' },
  { start: [0x4d, 0x4d, 0x00, 0x2a], what: 'a TIFF image: place it as a site plan' },
  { start: [0x41, 0x43, 0x31, 0x30], what: 'a binary drawing (DWG): save it as DXF' },
  { start: [0xd0, 0xcf, 0x11, 0xe0], what: 'an old binary office file: save its table as CSV' },
  { start: [0x1f, 0x8b], what: 'a gzip archive: unpack it first' },
];

/**
 * Features of a GeoJSON, GeoPackage, shapefile (alone with its siblings, or zipped), KML, KMZ, GPX or DXF file.
 * @param projectCrs - what coordinates of no stated system are taken to be in
 * @throws AppError BAD_INPUT naming file, layer and feature: another kind of file, damaged, empty, too large, in a
 *   system that is not known
 */
export function readGeometry(
  bytes: Uint8Array,
  file: string,
  projectCrs: ProjectCrs,
  options: ReadGeometryOptions = {},
): GeometryReading {
  if (bytes.length === 0) throw bad(`${file} is empty.`, { file });
  if (bytes.length > MOST_BYTES) {
    throw bad(
      `${file} has ${Math.round(bytes.length / 1e6)} MB; a file for one lot has a few. Cut out the lot's surroundings first.`,
      { file },
    );
  }
  const reading = finish(readByContent(bytes, file, projectCrs, options), projectCrs, options);
  const positions = reading.features.reduce((sum, feature) => sum + pointsOf(feature).length, 0);
  if (positions > MOST_POSITIONS) {
    throw bad(
      `${file} holds ${positions} positions in ${reading.features.length} features: cut out the lot's surroundings first, or name one layer.`,
      { file },
    );
  }
  if (reading.features.length === 0) {
    const why = reading.notes.length === 0 ? '' : ` ${reading.notes.join(' ')}`;
    throw bad(`${file} holds no point, line or polygon.${why}`, { file });
  }
  return reading;
}

function readByContent(
  bytes: Uint8Array,
  file: string,
  projectCrs: ProjectCrs,
  options: ReadGeometryOptions,
): GeometryReading & { readonly statedUnit?: string | null } {
  const starts = (start: readonly number[]) => start.every((byte, i) => bytes[i] === byte);
  const head = strFromU8(bytes.subarray(0, 64), true);
  if (head.startsWith('SQLite format 3\0')) return readGeoPackage(bytes, file, projectCrs, options);
  if (starts([0x50, 0x4b, 0x03, 0x04])) return readZip(bytes, file);
  if (starts([0x00, 0x00, 0x27, 0x0a])) return readSingleShapefile(bytes, file, options);
  if (head.startsWith('AutoCAD Binary DXF'))
    throw bad(`${file} is a binary DXF: save it as text (ASCII) DXF.`, { file });
  const known = NO_GEOMETRY.find(({ start }) => starts(start));
  if (known !== undefined) throw bad(`${file} is ${known.what}.`, { file });
  if (/\.dbf$/i.test(file)) return readBesideTable(file, options);
  const { text } = decodeText(bytes, file);
  const begin = text.trimStart().slice(0, 400);
  if (begin.startsWith('{') || begin.startsWith('[')) return readGeoJson(text, file, projectCrs);
  if (begin.startsWith('<')) return readXml(text, file);
  if (/^(999\n[^\n]*\n\s*)*0\nSECTION\b/.test(begin.replace(/[ \t]+/g, ''))) return readDxf(text, file);
  if (/^(PROJCS|GEOGCS|PROJCRS|GEOGCRS)\[/.test(begin)) {
    throw bad(`${file} names a coordinate system and holds no geometry: open the .shp beside it.`, { file });
  }
  throw bad(
    `${file} is no geometry file that is known here: GeoJSON, GeoPackage, shapefile, KML, GPX or DXF. A table of points is imported as CSV.`,
    { file },
  );
}

function readSingleShapefile(shp: Uint8Array, file: string, options: ReadGeometryOptions): GeometryReading {
  if (/\.shx$/i.test(file))
    throw bad(`${file} is the index of a shapefile: open the .shp beside it.`, { file });
  const sibling = options.sibling ?? (() => null);
  const text = (extension: string) => {
    const bytes = sibling(extension);
    return bytes === null ? null : strFromU8(bytes);
  };
  const prj = options.crs === undefined ? text('prj') : null;
  const layer = file.replace(/\.[^.]*$/, '');
  return readShapefile({ layer, shp, dbf: sibling('dbf'), prj, cpg: text('cpg') }, file);
}

function readBesideTable(file: string, options: ReadGeometryOptions): GeometryReading {
  const shp = options.sibling?.('shp') ?? null;
  if (shp === null)
    throw bad(`${file} is the table of a shapefile: the .shp that it belongs to is missing.`, { file });
  return readSingleShapefile(shp, file.replace(/dbf$/i, 'shp'), options);
}

function readZip(bytes: Uint8Array, file: string): GeometryReading {
  let size = 0;
  let entries: Record<string, Uint8Array>;
  try {
    entries = unzipSync(bytes, {
      filter: ({ name, originalSize }) => {
        if (!/\.(shp|dbf|prj|cpg|kml)$/i.test(name) || name.includes('__MACOSX')) return false;
        size += originalSize;
        if (size > MOST_BYTES) throw new RangeError(`unpacked it has more than ${MOST_BYTES / 1e6} MB`);
        return true;
      },
    });
  } catch (cause) {
    throw bad(
      `${file} cannot be unpacked: ${cause instanceof Error ? cause.message : String(cause)}.`,
      { file },
      cause,
    );
  }
  const names = Object.keys(entries);
  const main = names.filter((name) => /\.shp$/i.test(name));
  const [kml] = names.filter((name) => /\.kml$/i.test(name)).sort();
  if (main.length === 0 && kml !== undefined) return readXml(strFromU8(entries[kml] as Uint8Array), file);
  if (main.length === 0)
    throw bad(`${file} is an archive without a shapefile (.shp) or a KML in it.`, { file });
  const find = (stem: string, extension: string) => {
    const name = names.find((candidate) => candidate.toLowerCase() === `${stem}.${extension}`.toLowerCase());
    return name === undefined ? null : (entries[name] as Uint8Array);
  };
  const read = main.map((name) => {
    const stem = name.slice(0, -4);
    const text = (extension: string) => {
      const part = find(stem, extension);
      return part === null ? null : strFromU8(part);
    };
    const layer = stem.split('/').at(-1) ?? stem;
    const parts = {
      layer,
      shp: entries[name] as Uint8Array,
      dbf: find(stem, 'dbf'),
      prj: text('prj'),
      cpg: text('cpg'),
    };
    return readShapefile(parts, main.length === 1 ? file : `${file}/${layer}.shp`);
  });
  const [first] = read;
  const systems = new Set(read.map(({ crs }) => JSON.stringify(crs)));
  if (systems.size > 1) {
    throw bad(`The ${read.length} shapefiles in ${file} lie in different systems: import them one by one.`, {
      file,
    });
  }
  return {
    file,
    features: read.flatMap(({ features }) => features),
    crs: first?.crs ?? null,
    notes: [...new Set(read.flatMap(({ notes }) => notes))],
  };
}

/** What a person said of layer, system and unit, put to work; units that contradict each other are told. */
function finish(
  reading: GeometryReading & { readonly statedUnit?: string | null },
  projectCrs: ProjectCrs,
  { layer, crs, unit }: ReadGeometryOptions,
): GeometryReading {
  const { file, statedUnit = null } = reading;
  const notes = [...reading.notes];
  let features = reading.features;
  if (layer !== undefined) {
    features = features.filter((feature) => feature.layer.toLowerCase() === layer.toLowerCase());
    if (features.length === 0) {
      const layers =
        [...new Set(reading.features.map((feature) => `"${feature.layer}"`))].join(', ') || 'none';
      throw bad(`${file} holds nothing in a layer "${layer}"; its layers: ${layers}.`, {
        file,
        field: layer,
      });
    }
  }
  const given = crs ?? reading.crs;
  const system = given === null || isSameSystem(given, projectCrs) ? null : given;
  const unitM = unitSize(system ?? projectCrs);
  if (unit !== undefined && unitM !== null) {
    const factor = toMetres(1, unit) / unitM;
    features = features.map((feature) => scaleFeature(feature, factor));
    notes.push(`The numbers of ${file} are read in ${unit}.`);
  } else if (statedUnit !== null && unitM !== null && !isStatedUnit(statedUnit, unitM)) {
    notes.push(
      `${file} says that it is drawn in ${statedUnit}; its numbers are taken as they stand, in the unit of the project. If they are in ${statedUnit}, say so on import.`,
    );
  }
  return { file, features, crs: system, notes };
}

function unitSize(crs: ProjectCrs): number | null {
  if (crs.kind === 'local') return toMetres(1, crs.unit);
  return findCrs(crs.code).kind === 'geographic' ? null : metresPerUnit(crs.code);
}

const STATED_UNITS_M: Readonly<Record<string, number>> = {
  inches: 0.0254,
  feet: 0.3048,
  millimetres: 0.001,
  centimetres: 0.01,
  metres: 1,
  'US survey feet': 1200 / 3937,
};

/** Drawings do not tell the two feet apart. */
function isStatedUnit(stated: string, unitM: number): boolean {
  return Math.abs((STATED_UNITS_M[stated] ?? 0) / unitM - 1) < 1e-5;
}

function scaleFeature(feature: GeometryFeature, factor: number): GeometryFeature {
  const scale = ([x, y]: readonly [number, number]) => [x * factor, y * factor] as const;
  if (feature.kind === 'point') return { ...feature, coordinates: scale(feature.coordinates) };
  if (feature.kind === 'line') return { ...feature, coordinates: feature.coordinates.map(scale) };
  return { ...feature, coordinates: feature.coordinates.map((ring) => ring.map(scale)) };
}
