/** Every file the project goes out as, by its ending. */
import type { ProjectView } from '../contract/model.ts';
import type { ExportFormat, ExportOptions } from '../contract/requests.ts';
import type { SurfaceResult } from '../contract/results.ts';
import { writeProbesCsv, writeSamplesCsv, writeStakeOutCsv } from './csv-out.ts';
import { type DxfOptions, writeDxf } from './dxf-out.ts';
import { writeGeoJson } from './geojson-out.ts';
import { bad } from './geometry.ts';
import { type GeoTiffOptions, writeGeoTiff } from './geotiff-out.ts';
import { writeGeoPackage } from './gpkg-out.ts';
import { type GpxOptions, writeGpx } from './gpx-out.ts';
import { writeKml } from './kml-out.ts';

export type WriteOptions = DxfOptions &
  GeoTiffOptions &
  GpxOptions &
  ExportOptions & {
    readonly writtenUtc?: string;
  };

export interface DataFormat {
  readonly id: ExportFormat;
  /** For a list to choose from. */
  readonly name: string;
  /** Without the dot; the first is the usual one. */
  readonly endings: readonly string[];
  /** 'needed': nothing to write without one. 'used': goes along where there is one. */
  readonly surface: 'needed' | 'used' | 'not-used';
  /** Longitude and latitude: a local grid needs its tie. */
  readonly needsMap: boolean;
  readonly write: (
    view: ProjectView,
    surface: SurfaceResult | null,
    options: WriteOptions,
  ) => Uint8Array | string;
}

export const DATA_FORMATS: readonly DataFormat[] = [
  {
    id: 'csv',
    name: 'CSV table',
    endings: ['csv'],
    surface: 'not-used',
    needsMap: false,
    write: (view, _, options) => {
      if (options.rows === 'probes') return writeProbesCsv(view);
      if (options.rows !== 'stake-out') return writeSamplesCsv(view);
      const { route } = options;
      return writeStakeOutCsv(view, { ...options, ...(route === undefined ? {} : { order: route }) });
    },
  },
  {
    id: 'gpkg',
    name: 'GeoPackage',
    endings: ['gpkg'],
    surface: 'used',
    needsMap: false,
    write: writeGeoPackage,
  },
  {
    id: 'geojson',
    name: 'GeoJSON',
    endings: ['geojson', 'json'],
    surface: 'used',
    needsMap: true,
    write: writeGeoJson,
  },
  {
    id: 'geotiff',
    name: 'GeoTIFF of the surface',
    endings: ['tif', 'tiff'],
    surface: 'needed',
    needsMap: false,
    write: (view, surface, options) => {
      if (surface === null)
        throw bad('A GeoTIFF holds the surface, and this project has none yet.', { field: 'surface' });
      return writeGeoTiff(view, surface, options);
    },
  },
  { id: 'dxf', name: 'DXF drawing', endings: ['dxf'], surface: 'used', needsMap: false, write: writeDxf },
  { id: 'kml', name: 'KML', endings: ['kml'], surface: 'used', needsMap: true, write: writeKml },
  {
    id: 'gpx',
    name: 'GPX waypoints',
    endings: ['gpx'],
    surface: 'not-used',
    needsMap: true,
    write: (view, _, options) => writeGpx(view, options),
  },
];

export function dataFormat(id: ExportFormat): DataFormat {
  const format = DATA_FORMATS.find((known) => known.id === id);
  if (format === undefined) throw bad(`"${id}" is no format that is written.`, { field: 'format' });
  return format;
}

/** @throws AppError BAD_INPUT for an ending that no format has, with those that there are */
export function formatOfFile(file: string): DataFormat {
  const ending = /\.([^./\\]+)$/.exec(file)?.[1]?.toLowerCase() ?? '';
  const format = DATA_FORMATS.find(({ endings }) => endings.includes(ending));
  if (format !== undefined) return format;
  const known = DATA_FORMATS.flatMap(({ endings }) => endings.map((known) => `.${known}`)).join(', ');
  throw bad(`"${file}" has the ending of no format that is written: ${known}.`, { file });
}
