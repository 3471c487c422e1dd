/** Lot, footprint, keep-outs and planned probes from a geometry file, or the corners of an outline from a table. */
import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import type { GeometryImportOptions, GeometryKind } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import {
  type ImportGeometryContext,
  type ImportGeometryOptions,
  importKeepOuts,
  importOutline,
  importProbes,
} from '../exchange/import-geometry.ts';
import type { PositionNative } from '../geo/frame.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { CsvTable } from '../survey/csv-table.ts';
import { readTable } from '../survey/csv-table.ts';
import { parseNumber } from '../survey/parse-cell.ts';
import { setFootprint, setLot } from './edit.ts';
import { readWhole } from './files.ts';
import { frameOf, gridTie, lotNative, projectRow, toProjectNative } from './frame-of.ts';
import { addKeepOuts } from './keep-outs.ts';
import { acceptPlan } from './plan-probes.ts';
import { parseSettings } from './settings.ts';

export interface GeometryImport {
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
  if (/\.(csv|tsv|tab|txt)$/i.test(file)) return importCorners(store, readTable(bytes, file), what, options);
  const { bufferM, depthM, replace, ...pick } = options;
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

function siblingOf(path: string, extension: string): Uint8Array | null {
  const stem = path.replace(/\.[^./\\]*$/, '');
  const found = [extension, extension.toUpperCase()].find((e) => existsSync(`${stem}.${e}`));
  return found === undefined ? null : readWhole(`${stem}.${found}`);
}

function importCorners(
  store: ProjectStore,
  table: CsvTable,
  what: GeometryKind,
  options: GeometryImportOptions,
): GeometryImport {
  const { file } = table;
  if (what === 'keep-out' || what === 'probes') {
    throw new AppError(
      'BAD_INPUT',
      `${file} is a table. ${what === 'probes' ? 'Planned probes' : 'Keep-outs'} come from GeoJSON, GeoPackage, shapefile, KML, GPX or DXF; a table holds the corners of a lot or footprint, or samples.`,
      { file },
    );
  }
  const crs = options.crs ?? null;
  const corners = readCorners(table);
  if (what === 'lot') setLot(store, corners, crs, file);
  else setFootprint(store, file, toProjectNative(store, corners, crs));
  return { added: 1, notes: [] };
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
