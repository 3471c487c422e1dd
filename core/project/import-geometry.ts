/** Lot, footprint, keep-outs and planned probes from a geometry file, or an outline by corners or courses from a table. */
import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import type { GeometryImportOptions, GeometryKind, TraverseOutline } from '../contract/outlines.ts';
import { AppError } from '../errors.ts';
import {
  type ImportGeometryContext,
  type ImportGeometryOptions,
  importKeepOuts,
  importOutline,
  importProbes,
} from '../exchange/import-geometry.ts';
import { type CourseRow, courseColumns, readCourseTable, readCourseText } from '../exchange/read-courses.ts';
import type { PositionNative } from '../geo/frame.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { CsvTable } from '../survey/csv-table.ts';
import { readTable } from '../survey/csv-table.ts';
import { decodeText } from '../survey/decode-text.ts';
import { parseNumber } from '../survey/parse-cell.ts';
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
  const { bufferM, depthM, replace, traverse: _traverse, ...pick } = options;
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
      const buffer = bufferM === undefined ? {} : { bufferM };
      const { items, notes } = importKeepOuts(bytes, file, context, { ...reading, ...buffer });
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
      const probes = items.map(({ label, at }) => ({ label, native: at, added: false }));
      acceptPlan(store, probes, depth, replace ?? false);
      return { added: items.length, notes };
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

/** Corners of one outline, or courses round it. */
function importTable(
  store: ProjectStore,
  bytes: Uint8Array,
  file: string,
  what: GeometryKind,
  options: GeometryImportOptions,
): GeometryImport {
  const courses = readCourses(bytes, file, options);
  if (what === 'probes' || (what === 'keep-out' && courses === null)) {
    throw new AppError(
      'BAD_INPUT',
      `${file} is a table. ${what === 'probes' ? 'Planned probes' : 'Keep-outs'} come from GeoJSON, GeoPackage, shapefile, KML, GPX or DXF; a table holds the corners of a lot or footprint, directions and lengths round an outline, or samples.`,
      { file },
    );
  }
  if (courses === null) {
    const crs = options.crs ?? null;
    const corners = readCorners(readTable(bytes, file));
    if (what === 'lot') setLot(store, corners, crs, file);
    else setFootprint(store, file, toProjectNative(store, corners, crs));
    return { added: 1, notes: [] };
  }
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
    const { bufferM = 0 } = options;
    addKeepOuts(store, [{ label: file, shape: 'polygon', points: outline.ring, bufferM }], file);
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

function readCorners(table: CsvTable): PositionNative[] {
  const find = (names: RegExp) => table.columns.findIndex((c) => names.test(c.base.trim()));
  const x = find(/^(x|east(ing)?|e|longitude|lon)$/i);
  const y = find(/^(y|north(ing)?|n|latitude|lat)$/i);
  if (x < 0 || y < 0) {
    const have = table.columns.map((c) => `"${c.name}"`).join(', ');
    throw new AppError(
      'BAD_INPUT',
      `${table.file}: a lot needs columns x and y (Easting, Northing); it has ${have}.`,
      {
        file: table.file,
        row: table.headerRow,
      },
    );
  }
  return table.rows.map(({ row, cells }) => {
    const read = (index: number): number => {
      const raw = cells[index] ?? '';
      const parsed = parseNumber(raw, table.decimal);
      if (parsed.kind === 'number') return parsed.value;
      const field = table.columns[index]?.name ?? '';
      throw new AppError(
        'BAD_INPUT',
        `Row ${row} of ${table.file}: "${raw}" in column "${field}" is not a number.`,
        {
          file: table.file,
          row,
          field,
        },
      );
    };
    return [read(x), read(y)];
  });
}
