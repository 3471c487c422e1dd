/** Lot, footprint, keep-outs and planned probes from a geometry file, or an outline by corners or courses from a table. */
import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import type { GeometryImportOptions, GeometryKind, TraverseOutline } from '../contract/outlines.ts';
import { AppError } from '../errors.ts';
import { checkGround } from '../exchange/check-geometry.ts';
import {
  type ImportGeometryContext,
  type ImportGeometryOptions,
  importKeepOuts,
  importOutline,
  importProbes,
} from '../exchange/import-geometry.ts';
import { type CourseRow, courseColumns, readCourseTable, readCourseText } from '../exchange/read-courses.ts';
import { WGS84_CODE } from '../geo/crs.ts';
import type { PositionNative } from '../geo/frame.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { CsvTable } from '../survey/csv-table.ts';
import { readTable } from '../survey/csv-table.ts';
import { decodeText } from '../survey/decode-text.ts';
import { numberAt } from '../survey/number-at.ts';
import { parseYesNo } from '../survey/parse-cell.ts';
import { type LengthUnit, toMetres } from '../units.ts';
import { setFootprint, setLot } from './edit.ts';
import { readWhole } from './files.ts';
import { frameOf, gridTie, lotNative, originFor, projectRow, toProjectNative } from './frame-of.ts';
import { addKeepOuts } from './keep-outs.ts';
import { acceptPlan } from './plan-probes.ts';
import { parseSettings } from './settings.ts';
import { closingLines, requireOutline } from './traverse.ts';

export interface GeometryImport {
  /** Of an outline by directions and lengths. */
  readonly traverse?: TraverseOutline;
  /** Outlines, keep-outs or probes that are in the project now and were not before. */
  readonly added: number;
  /** For people: what was assumed, passed over, or looks odd. */
  readonly notes: readonly string[];
}

/**
 * A lot or footprint replaces the one there is; keep-outs and planned probes come on top, planned probes that nobody
 * has driven go first where `options.replace` says so.
 * @throws AppError BAD_INPUT naming file and feature
 */
export function importGeometry(
  store: ProjectStore,
  path: string,
  what: GeometryKind,
  options: GeometryImportOptions = {},
): GeometryImport {
  const bytes = readWhole(path);
  const file = basename(path);
  if (/\.(csv|tsv|tab|txt)$/i.test(file)) return importTable(store, bytes, file, what, options);
  const { bufferM, blocksWalk, points, depthM, replace, traverse: _traverse, ...pick } = options;
  const reading: ImportGeometryOptions = { ...pick, sibling: (extension) => siblingOf(path, extension) };
  const context = geometryContext(store);
  switch (what) {
    case 'lot': {
      const { items, notes } = importOutline(bytes, file, what, context, reading);
      for (const { ring } of items) setLot(store, ring, null, file);
      return { added: items.length, notes };
    }
    case 'footprint': {
      const { items, notes } = importOutline(bytes, file, what, context, reading);
      for (const { label, ring } of items) setFootprint(store, label ?? file, ring);
      return { added: items.length, notes };
    }
    case 'keep-out': {
      const { items, notes } = importKeepOuts(bytes, file, context, {
        ...reading,
        ...(bufferM === undefined ? {} : { bufferM }),
        ...(points === undefined ? {} : { points }),
        ...(blocksWalk === undefined ? {} : { blocksWalk }),
      });
      const added = addKeepOuts(store, items, file);
      const known = items.length - added;
      return {
        added,
        notes: known === 0 ? notes : [...notes, `${known} of ${items.length} keep-outs are known already.`],
      };
    }
    case 'probes': {
      const { items, notes } = importProbes(bytes, file, context, reading);
      const depth = depthM ?? parseSettings(projectRow(store).settings_json).referenceDepthM;
      const probes = items.map(({ label, at, added }) => ({ label, native: at, added }));
      const left = acceptPlan(store, probes, depth, replace ?? false);
      return { added: items.length, notes: [...notes, ...leftNotes(left)] };
    }
  }
}

function geometryContext(store: ProjectStore): ImportGeometryContext {
  return { frame: frameOf(store), lot: lotNative(store), tie: gridTie(store) };
}

/** Bytes of the file of the same name with another ending, or null. */
export function siblingOf(path: string, extension: string): Uint8Array | null {
  const stem = path.replace(/\.[^./\\]*$/, '');
  const found = [extension, extension.toUpperCase()].find((e) => existsSync(`${stem}.${e}`));
  return found === undefined ? null : readWhole(`${stem}.${found}`);
}

/** Corners of one outline, courses round it, or a list of planned probes. */
function importTable(
  store: ProjectStore,
  bytes: Uint8Array,
  file: string,
  what: GeometryKind,
  options: GeometryImportOptions,
): GeometryImport {
  const courses = what === 'probes' ? null : readCourses(bytes, file, options);
  if (what === 'keep-out' && courses === null) {
    throw new AppError(
      'BAD_INPUT',
      `${file} is a table. Keep-outs come from GeoJSON, GeoPackage, shapefile, KML, GPX or DXF; a table holds the corners of a lot or footprint, directions and lengths round an outline, planned probes, or samples.`,
      { file },
    );
  }
  if (courses === null) return importPlaces(store, readPlaces(readTable(bytes, file)), what, options);
  const { traverse } = options;
  if (traverse === undefined) {
    throw new AppError(
      'BAD_INPUT',
      `${file} holds directions and lengths: say where the first one begins, in the project's coordinates (--start X,Y; in the window: enter them under "By bearings and distances").`,
      { file, field: 'start' },
    );
  }
  const outline = requireOutline(frameOf(store, originFor(store, [traverse.start])), courses, traverse, file);
  if (what === 'lot') setLot(store, outline.ring, null, `${file}: ${outline.source}`);
  else if (what === 'footprint') setFootprint(store, file, outline.ring);
  else {
    const { bufferM = 0, blocksWalk } = options;
    const walk = blocksWalk === undefined ? {} : { blocksWalk };
    addKeepOuts(store, [{ label: file, shape: 'polygon', points: outline.ring, bufferM, ...walk }], file);
  }
  return { added: 1, notes: [...closingLines(outline), ...outline.notes], traverse: outline };
}

/** Null for a table of anything else, unless a traverse is said to be in it. */
function readCourses(
  bytes: Uint8Array,
  file: string,
  { traverse }: GeometryImportOptions,
): CourseRow[] | null {
  const reading = traverse ?? PLAIN_COURSES;
  const { text } = decodeText(bytes, file);
  const hasDelimiter = /[,;\t|]/.test(text.split(/\r\n?|\n/).find((line) => line.trim() !== '') ?? '');
  if (hasDelimiter) {
    const table = tableOrNull(bytes, file, traverse !== undefined);
    const headers =
      table?.columns.map(({ name, unit }) => (unit === null ? name : `${name} [${unit}]`)) ?? [];
    if (table !== null && courseColumns(headers) !== null)
      return readCourseTable(headers, table.rows, reading);
  }
  return traverse === undefined ? null : readCourseText(text, reading);
}

const PLAIN_COURSES = { angleUnit: 'deg', lengthUnit: 'm' } as const;

/** Free text of a deed is often no table at all. */
function tableOrNull(bytes: Uint8Array, file: string, mayFail: boolean): CsvTable | null {
  try {
    return readTable(bytes, file);
  } catch (error) {
    if (mayFail && error instanceof AppError) return null;
    throw error;
  }
}

/** What a table says of places, row by row. */
interface PlaceTable {
  readonly file: string;
  readonly places: readonly PositionNative[];
  /** Empty where the table has no column of names. */
  readonly labels: readonly string[];
  /** Whether each was placed by the results of a first round; empty where the table does not say. */
  readonly added: readonly boolean[];
  /** Its columns are called longitude and latitude. */
  readonly inDegrees: boolean;
  /** Null where the columns name none. */
  readonly unit: LengthUnit | null;
}

function importPlaces(
  store: ProjectStore,
  { file, places, labels, added, inDegrees, unit: named }: PlaceTable,
  what: GeometryKind,
  { crs: said, unit = named ?? undefined, depthM, replace }: GeometryImportOptions,
): GeometryImport {
  const { crs: own, metresPerUnit } = frameOf(store);
  const crs = said ?? (inDegrees ? WGS84 : null);
  const isLength = said === undefined && !inDegrees && unit !== undefined;
  const given = !isLength ? places : inProjectUnit(places, unit, metresPerUnit);
  const native = toProjectNative(store, given, crs);
  const noun = what === 'probes' ? 'probe' : what;
  const notes = checkGround(native, { file, noun, projectCrs: own, lot: lotNative(store) });
  if (said === undefined && inDegrees)
    notes.unshift(`${file}: longitude and latitude are read as WGS 84 (EPSG:4326).`);
  if (what === 'lot') setLot(store, given, crs, file);
  else if (what === 'footprint') setFootprint(store, file, native);
  else {
    const probes = native.map((at, i) => ({
      label: labels[i] ?? String(i + 1),
      native: at,
      added: added[i] ?? false,
    }));
    if (labels.length === 0) notes.push(`${file} has no column of names; its rows are numbered.`);
    const depth = depthM ?? parseSettings(projectRow(store).settings_json).referenceDepthM;
    notes.push(...leftNotes(acceptPlan(store, probes, depth, replace ?? false)));
  }
  return { added: what === 'probes' ? native.length : 1, notes };
}

function leftNotes(left: number): string[] {
  if (left === 0) return [];
  return [`${left === 1 ? '1 planned probe' : `${left} planned probes`} that nobody had driven made room.`];
}

const WGS84 = { kind: 'epsg', code: WGS84_CODE } as const;

function inProjectUnit(
  places: readonly PositionNative[],
  unit: LengthUnit,
  metresPerUnit: number,
): PositionNative[] {
  const factor = toMetres(1, unit) / metresPerUnit;
  return factor === 1 ? [...places] : places.map(([x, y]) => [x * factor, y * factor]);
}

const LENGTH_UNITS: readonly LengthUnit[] = ['m', 'ft', 'ft-us', 'cm', 'in'];

/** @throws AppError BAD_INPUT without columns of coordinates, and naming row and column of a cell that is no number */
function readPlaces(table: CsvTable): PlaceTable {
  const find = (names: RegExp) => table.columns.findIndex((c) => names.test(c.base.trim()));
  const x = find(/^(x|east(ing)?|e|longitude|lon)$/i);
  const y = find(/^(y|north(ing)?|n|latitude|lat)$/i);
  const name = find(/^(label|name|probe|point|no\.?|nr\.?|number|id)$/i);
  if (x < 0 || y < 0) {
    const have = table.columns.map((c) => `"${c.name}"`).join(', ');
    throw new AppError(
      'BAD_INPUT',
      `${table.file} needs columns x and y (Easting, Northing); it has ${have}.`,
      { file: table.file, row: table.headerRow },
    );
  }
  const mark = find(/^added( later| probe| after the first round)?$/i);
  const base = (index: number) => table.columns[index]?.base.trim() ?? '';
  const unit = (index: number) => LENGTH_UNITS.find((one) => one === table.columns[index]?.unit) ?? null;
  return {
    file: table.file,
    places: table.rows.map((row): PositionNative => [numberAt(table, row, x), numberAt(table, row, y)]),
    labels: name < 0 ? [] : table.rows.map(({ cells }, i) => (cells[name] ?? '').trim() || String(i + 1)),
    added: mark < 0 ? [] : table.rows.map(({ cells }) => parseYesNo(cells[mark] ?? '') === true),
    inDegrees: /^lon/i.test(base(x)) && /^lat/i.test(base(y)),
    unit: unit(x) === unit(y) ? unit(x) : null,
  };
}
