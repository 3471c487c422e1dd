/** The surface as a GeoTIFF (OGC 19-008r4, TIFF 6): one band each for estimate, error and probability. */

import { zlibSync } from 'fflate';
import type { PositionM, ProjectView } from '../contract/model.ts';
import type { GridSpec, SurfaceResult } from '../contract/results.ts';
import { findCrs } from '../geo/crs-table.ts';
import { withoutAccents } from '../text.ts';
import { type ExportOptions, type MapPlace, mapPlace } from './map-place.ts';

export interface GeoTiffOptions extends ExportOptions {
  /** Bits of a number; 64 keeps every digit. */
  readonly bits?: 32 | 64;
}

interface Band {
  readonly name: string;
  readonly unit: string;
  readonly values: Float64Array;
}

type Entry =
  | { readonly tag: number; readonly type: 'ascii'; readonly value: string }
  | { readonly tag: number; readonly type: 'short' | 'long' | 'double'; readonly value: readonly number[] };

/** TIFF field types and the bytes of one value. */
const FIELD_TYPES = { ascii: [2, 1], short: [3, 2], long: [4, 4], double: [12, 8] } as const;
const ADOBE_DEFLATE = 8;
const FLOATING_POINT = 3;
/** NaN is what has no value: outside the lot, and the error of a method that has none. */
const NO_DATA = 'nan';

const MODEL_PROJECTED = 1;
const MODEL_GEOGRAPHIC = 2;
const USER_DEFINED = 32767;
const PIXEL_IS_AREA = 1;
/** EPSG codes of length units. */
const UNIT_CODES: Readonly<Record<string, number>> = { m: 9001, ft: 9002, 'ft-us': 9003 };

/**
 * North-up raster in the project's own system (cells are squares of it); on a tied local grid, turned as the grid is.
 * Bands: estimate, standard error, and where computed the probability above the limit; NaN where there is no value.
 * Compressed without loss.
 */
export function writeGeoTiff(
  view: ProjectView,
  surface: SurfaceResult,
  options: GeoTiffOptions = {},
): Uint8Array {
  return writeRaster(view, surface.grid, bandsOf(surface), summarise(view, surface), options);
}

/** As `writeGeoTiff`, of the change between two surveys: the difference and its standard error. */
export function writeDifferenceTiff(
  view: ProjectView,
  difference: {
    readonly grid: GridSpec;
    readonly differenceKBqPerM3: Float64Array;
    readonly standardErrorKBqPerM3: Float64Array;
  },
  options: GeoTiffOptions = {},
): Uint8Array {
  const bands: Band[] = [
    { name: 'Radon in soil gas, later minus earlier', unit: 'kBq/m3', values: difference.differenceKBqPerM3 },
    {
      name: 'Radon in soil gas, standard error of the difference',
      unit: 'kBq/m3',
      values: difference.standardErrorKBqPerM3,
    },
  ];
  const summary = `${view.name}: change of modelled radon in soil gas.${view.isDemo ? ' Invented data.' : ''}`;
  return writeRaster(view, difference.grid, bands, summary, options);
}

function writeRaster(
  view: ProjectView,
  grid: GridSpec,
  bands: readonly Band[],
  summary: string,
  options: GeoTiffOptions,
): Uint8Array {
  const place = mapPlace(view, options);
  const bits = options.bits ?? 64;
  const strips = bands.map(({ values }) => zlibSync(rasterBytes(values, grid, bits)));
  const repeat = (value: number) => bands.map(() => value);
  const entries: Entry[] = [
    { tag: 256, type: 'long', value: [grid.columns] },
    { tag: 257, type: 'long', value: [grid.rows] },
    { tag: 258, type: 'short', value: repeat(bits) },
    { tag: 259, type: 'short', value: [ADOBE_DEFLATE] },
    { tag: 262, type: 'short', value: [1] },
    { tag: 270, type: 'ascii', value: summary },
    { tag: 277, type: 'short', value: [bands.length] },
    { tag: 278, type: 'long', value: [grid.rows] },
    { tag: 279, type: 'long', value: strips.map((strip) => strip.length) },
    // one plane after another, so that a reader of one band reads one band
    { tag: 284, type: 'short', value: [2] },
    ...(bands.length > 1 ? [{ tag: 338, type: 'short', value: bands.slice(1).map(() => 0) } as const] : []),
    { tag: 339, type: 'short', value: repeat(FLOATING_POINT) },
    ...placeEntries(grid, place),
    ...keyEntries(place),
    { tag: 42112, type: 'ascii', value: bandMetadata(bands) },
    { tag: 42113, type: 'ascii', value: NO_DATA },
  ];
  return writeTiff(entries, strips);
}

function bandsOf(surface: SurfaceResult): Band[] {
  const { exceedance } = surface;
  return [
    { name: 'Radon in soil gas, estimate', unit: 'kBq/m3', values: surface.estimateKBqPerM3 },
    { name: 'Radon in soil gas, standard error', unit: 'kBq/m3', values: surface.standardErrorKBqPerM3 },
    ...(exceedance === null
      ? []
      : [
          {
            name: `Probability of more than ${exceedance.limitKBqPerM3} kBq/m3`,
            unit: '1',
            values: exceedance.probability,
          },
        ]),
  ];
}

/** Rows from the north, little-endian. */
function rasterBytes(values: Float64Array, { columns, rows }: GridSpec, bits: 32 | 64): Uint8Array {
  const bytes = bits / 8;
  const out = new DataView(new ArrayBuffer(columns * rows * bytes));
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const value = values[(rows - 1 - row) * columns + column] ?? Number.NaN;
      const at = (row * columns + column) * bytes;
      if (bits === 64) out.setFloat64(at, value, true);
      else out.setFloat32(at, value, true);
    }
  }
  return new Uint8Array(out.buffer);
}

/** Where the raster lies: scale and tie point where north is up, else the whole transformation. */
function placeEntries(grid: GridSpec, place: MapPlace): Entry[] {
  const { x0M, y0M, cellM, columns, rows } = grid;
  const west = x0M - cellM / 2;
  const north = y0M + (rows - 0.5) * cellM;
  const corners: PositionM[] = [
    [west, north],
    [west + columns * cellM, north],
    [west, north - rows * cellM],
  ];
  const [origin = [0, 0], east = [0, 0], south = [0, 0]] = place.toMap(corners);
  const perColumn = [(east[0] - origin[0]) / columns, (east[1] - origin[1]) / columns] as const;
  const perRow = [(south[0] - origin[0]) / rows, (south[1] - origin[1]) / rows] as const;
  const cell = cellM / place.metresPerUnit;
  const isTurned = Math.abs(perColumn[1]) > 1e-9 * cell || Math.abs(perRow[0]) > 1e-9 * cell;
  if (!isTurned) {
    return [
      { tag: 33550, type: 'double', value: [cell, cell, 0] },
      { tag: 33922, type: 'double', value: [0, 0, 0, origin[0], origin[1], 0] },
    ];
  }
  const rowX = [perColumn[0], perRow[0], 0, origin[0]];
  const rowY = [perColumn[1], perRow[1], 0, origin[1]];
  return [{ tag: 34264, type: 'double', value: [...rowX, ...rowY, 0, 0, 0, 0, 0, 0, 0, 1] }];
}

/** The GeoTIFF keys: by EPSG code, or for a grid that is tied to nothing a name and a unit. */
function keyEntries(place: MapPlace): Entry[] {
  const keys: [key: number, value: number | string][] = [];
  const unit = UNIT_CODES[place.unitLabel];
  if (place.code === null) {
    keys.push([1024, USER_DEFINED], [1025, PIXEL_IS_AREA], [1026, place.systemName]);
    if (unit !== undefined) keys.push([3076, unit]);
  } else if (findCrs(place.code).kind === 'geographic') {
    keys.push([1024, MODEL_GEOGRAPHIC], [1025, PIXEL_IS_AREA], [2048, place.code]);
  } else {
    keys.push([1024, MODEL_PROJECTED], [1025, PIXEL_IS_AREA], [1026, place.systemName], [3072, place.code]);
    if (unit !== undefined) keys.push([3076, unit]);
  }
  let text = '';
  const directory = [1, 1, 0, keys.length];
  for (const [key, value] of keys) {
    if (typeof value === 'number') {
      directory.push(key, 0, 1, value);
      continue;
    }
    const piece = `${toAscii(value)}|`;
    directory.push(key, 34737, piece.length, text.length);
    text += piece;
  }
  return [
    { tag: 34735, type: 'short', value: directory },
    ...(text === '' ? [] : [{ tag: 34737, type: 'ascii', value: text } as const]),
  ];
}

function summarise(view: ProjectView, surface: SurfaceResult): string {
  const invented = view.isDemo ? ' Invented data.' : '';
  return `${view.name}: modelled radon in soil gas (${surface.method}, ${surface.usedSampleIds.length} samples).${invented}`;
}

/** Names of the bands in the wording of the GDAL_METADATA tag, which other readers pass over. */
function bandMetadata(bands: readonly Band[]): string {
  const items = bands.flatMap(({ name, unit }, i) => [
    `<Item name="DESCRIPTION" sample="${i}" role="description">${name}</Item>`,
    `<Item name="UNITTYPE" sample="${i}" role="unittype">${unit}</Item>`,
  ]);
  return `<GDALMetadata>${items.join('')}</GDALMetadata>`;
}

function writeTiff(fixed: readonly Entry[], strips: readonly Uint8Array[]): Uint8Array {
  const entries = [...fixed, { tag: 273, type: 'long', value: strips.map(() => 0) } as const].sort(
    (a, b) => a.tag - b.tag,
  );
  const encoded = entries.map((entry) => encode(entry));
  const directoryAt = 8;
  let at = directoryAt + 2 + 12 * entries.length + 4;
  const outside = encoded.map((bytes) => {
    if (bytes.length <= 4) return 0;
    const here = at;
    at += bytes.length + (bytes.length % 2);
    return here;
  });
  const stripAt = strips.map((strip) => {
    const here = at;
    at += strip.length + (strip.length % 2);
    return here;
  });
  const out = new Uint8Array(at);
  const view = new DataView(out.buffer);
  out.set([0x49, 0x49, 42, 0]);
  view.setUint32(4, directoryAt, true);
  view.setUint16(directoryAt, entries.length, true);
  entries.forEach((entry, i) => {
    const bytes =
      entry.tag === 273 ? encode({ tag: 273, type: 'long', value: stripAt }) : (encoded[i] as Uint8Array);
    const [code, size] = FIELD_TYPES[entry.type];
    const place = directoryAt + 2 + 12 * i;
    view.setUint16(place, entry.tag, true);
    view.setUint16(place + 2, code, true);
    view.setUint32(place + 4, bytes.length / size, true);
    if (bytes.length <= 4) out.set(bytes, place + 8);
    else {
      view.setUint32(place + 8, outside[i] ?? 0, true);
      out.set(bytes, outside[i] ?? 0);
    }
  });
  strips.forEach((strip, i) => {
    out.set(strip, stripAt[i] ?? 0);
  });
  return out;
}

function encode(entry: Entry): Uint8Array {
  if (entry.type === 'ascii') return new TextEncoder().encode(`${toAscii(entry.value)}\0`);
  const [, size] = FIELD_TYPES[entry.type];
  const view = new DataView(new ArrayBuffer(entry.value.length * size));
  entry.value.forEach((value, i) => {
    if (entry.type === 'short') view.setUint16(i * size, value, true);
    else if (entry.type === 'long') view.setUint32(i * size, value, true);
    else view.setFloat64(i * size, value, true);
  });
  return new Uint8Array(view.buffer);
}

/** The format's text is 7-bit: accents go, other signs become a question mark. */
function toAscii(text: string): string {
  return withoutAccents(text).replace(/[^ -~]/g, '?');
}
