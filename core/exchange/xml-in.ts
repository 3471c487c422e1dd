/** KML and GPX: longitude and latitude on WGS 84 by their standards. */
import { type Folder, gpx, kmlWithFolders, type Root } from '@tmcw/togeojson';
import { DOMParser } from '@xmldom/xmldom';
import { WGS84_CODE } from '../geo/crs.ts';
import {
  bad,
  featureName,
  featuresOf,
  type GeometryFeature,
  type GeometryReading,
  isObject,
  labelOf,
  shapesOfGeometry,
} from './geometry.ts';

/** What the converter adds for drawing, not told by the file's author. */
const DRAWING = /^(style|stroke|fill|icon|marker|label-|visibility|@|_)/i;

/** @throws AppError BAD_INPUT where the text is no XML, or XML of another kind */
export function readXml(text: string, file: string): GeometryReading {
  const document = parse(text, file);
  const root = document.documentElement?.localName ?? '';
  if (root === 'kml') {
    return reading(file, folders(kmlWithFolders(document), '', file, { count: 0 }));
  }
  if (root === 'gpx') {
    const layers: Record<string, string> = {
      Point: 'waypoints',
      LineString: 'tracks',
      MultiLineString: 'tracks',
    };
    const features = gpx(document).features.flatMap((feature, i) => {
      const isRoute = feature.properties?.['_gpxType'] === 'rte';
      const layer = isRoute ? 'routes' : (layers[feature.geometry.type] ?? '');
      return one(feature, layer, file, i + 1);
    });
    return reading(file, features);
  }
  throw bad(`${file} is XML of another kind (<${root}>): KML or GPX can be read.`, { file });
}

function reading(file: string, features: GeometryFeature[]): GeometryReading {
  return { file, features, crs: { kind: 'epsg', code: WGS84_CODE }, notes: [] };
}

function parse(text: string, file: string) {
  // No format read here needs a document type, and an entity of one can grow without end.
  if (/<!ENTITY/i.test(text))
    throw bad(`${file} defines entities of its own: such files are not read.`, { file });
  try {
    return new DOMParser({
      onError: (level, message) => {
        if (level !== 'warning') throw new Error(message);
      },
    }).parseFromString(text, 'text/xml');
  } catch (cause) {
    throw bad(
      `${file} is damaged XML: ${cause instanceof Error ? cause.message : String(cause)}`,
      { file },
      cause,
    );
  }
}

function folders(
  node: Root | Folder,
  layer: string,
  file: string,
  counter: { count: number },
): GeometryFeature[] {
  return node.children.flatMap((child) => {
    if (child.type === 'Feature') return one(child, layer, file, ++counter.count);
    return folders(child, String(child.meta['name'] ?? layer), file, counter);
  });
}

function one(
  feature: { readonly geometry: unknown; readonly properties: unknown },
  layer: string,
  file: string,
  index: number,
): GeometryFeature[] {
  const all = isObject(feature.properties) ? feature.properties : {};
  const own = Object.fromEntries(Object.entries(all).filter(([key]) => !DRAWING.test(key)));
  const place = `feature ${index}`;
  const shapes = shapesOfGeometry(feature.geometry, featureName(place, labelOf(own)), file);
  return featuresOf(shapes, place, layer, own);
}
