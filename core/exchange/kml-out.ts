/** The project as KML (OGC 12-007r2, version 2.3): for a globe or a phone. */

import type { PositionM, ProjectView, RingM } from '../contract/model.ts';
import { bandColour } from '../contract/ramp.ts';
import type { ContourBand, SurfaceResult } from '../contract/results.ts';
import { probeSymbol, SYMBOL_KINDS } from '../contract/symbols.ts';
import { ringArea } from '../geo/planar.ts';
import { xmlElement, xmlText } from '../xml-text.ts';
import { type Cell, type Column, probeColumns } from './columns.ts';
import {
  closeRing,
  degreesText,
  type ExportOptions,
  type LonLat,
  type LonLatPlace,
  linePoints,
  lonLatPlace,
} from './map-place.ts';
import { shortValue } from './value-text.ts';

const CAUTION =
  'Have buried services located and marked before any probe is driven. Soil gas does not by itself tell the radon in a finished house; test the house.';

/**
 * Folders for probes (all that is told of them as extended data), lot, footprint, keep-outs, bands and contours.
 * @throws AppError BAD_INPUT for a local grid without a tie, and where the datum operation is not to be had offline
 */
export function writeKml(
  view: ProjectView,
  surface: SurfaceResult | null,
  options: ExportOptions = {},
): string {
  const place = lonLatPlace(view, 'KML', options);
  const invented = view.isDemo ? ' Invented data.' : '';
  return [
    '<?xml version="1.0" encoding="UTF-8"?>\n',
    '<kml xmlns="http://www.opengis.net/kml/2.2">\n<Document>\n',
    xmlElement('name', view.name),
    xmlElement(
      'description',
      `Radon in soil gas, kBq/m3.${invented} ${CAUTION} Coordinates from ${place.systemName}. ${place.datumOperation}`,
    ),
    styles(surface),
    folder('Lot', view.lot === null ? [] : [placemark('Lot', 'lot', polygon(place, [view.lot]))]),
    folder(
      'Footprint',
      view.footprint === null
        ? []
        : [placemark(view.footprint.label, 'footprint', polygon(place, [view.footprint.ring]))],
    ),
    folder(
      'Keep-outs',
      view.keepOuts.map(({ label, shape, points, bufferM }) =>
        placemark(
          label,
          'keep-out',
          shape === 'polygon' ? polygon(place, [points]) : line(place, points),
          `No probe within ${bufferM} m.`,
        ),
      ),
    ),
    folder('Probes', probes(view, place, options)),
    folder(
      'Contours',
      (surface?.lines ?? []).map((contour) =>
        placemark(`${contour.level} kBq/m3`, 'contour', line(place, linePoints(contour))),
      ),
    ),
    folder(
      'Bands',
      (surface?.bands ?? []).flatMap((band, i) => bandPlacemark(place, band, i)),
    ),
    '</Document>\n</kml>\n',
  ].join('');
}

function probes(view: ProjectView, place: LonLatPlace, { codes }: ExportOptions): string[] {
  const columns = probeColumns(view, codes);
  const marks = new Map(view.marks.map((mark) => [mark.probeId, mark]));
  const places = place.toLonLat(view.probes.map((probe) => probe.positionM));
  return view.probes.map((probe, i) => {
    const mark = marks.get(probe.id);
    const value = shortValue(mark?.measured ?? null);
    const unit = mark?.measured === undefined || mark.measured?.kind === 'none' ? '' : ' kBq/m3';
    const told = value === null ? 'Not sampled.' : `${value}${unit}. ${mark?.treatmentReason ?? ''}`;
    return placemark(
      probe.label,
      mark?.symbol ?? 'planned',
      `<Point><coordinates>${coordinates([places[i] as LonLat])}</coordinates></Point>\n`,
      told.trim(),
      columns.map((column) => data(column, column.cell(probe))).join(''),
    );
  });
}

function bandPlacemark(place: LonLatPlace, { from, to, polygons }: ContourBand, index: number): string[] {
  if (polygons.length === 0) return [];
  const name = to === null ? `${from} kBq/m3 and more` : `${from} to ${to} kBq/m3`;
  const parts = polygons.map((rings) => polygon(place, rings)).join('');
  return [placemark(name, `band-${index}`, `<MultiGeometry>\n${parts}</MultiGeometry>\n`, 'Modelled.')];
}

function styles(surface: SurfaceResult | null): string {
  const count = surface?.bands.length ?? 0;
  const outline = (id: string, colour: string, width: number, fill: string) =>
    `<Style id="${id}"><LineStyle><color>${colour}</color><width>${width}</width></LineStyle><PolyStyle><color>${fill}</color></PolyStyle></Style>\n`;
  return [
    ...SYMBOL_KINDS.map(
      (kind) =>
        `<Style id="${kind}"><IconStyle><color>${kmlColour(probeSymbol(kind).colour)}</color><scale>0.8</scale></IconStyle></Style>\n`,
    ),
    outline('lot', 'ff202020', 2.5, '00ffffff'),
    outline('footprint', 'ff202020', 2, '40ffffff'),
    outline('keep-out', 'ff5a5a5a', 1.5, '40808080'),
    outline('contour', 'ff404040', 1.2, '00ffffff'),
    ...Array.from({ length: count }, (_, i) => {
      const colour = bandColour(i, count);
      return outline(`band-${i}`, kmlColour(colour), 0.5, kmlColour(colour, 'a0'));
    }),
  ].join('');
}

function folder(name: string, placemarks: readonly string[]): string {
  if (placemarks.length === 0) return '';
  return `<Folder>\n${xmlElement('name', name)}${placemarks.join('')}</Folder>\n`;
}

function placemark(name: string, style: string, geometry: string, description = '', extended = ''): string {
  const details = extended === '' ? '' : `<ExtendedData>\n${extended}</ExtendedData>\n`;
  return `<Placemark>\n${xmlElement('name', name)}${xmlElement('description', description)}<styleUrl>#${style}</styleUrl>\n${details}${geometry}</Placemark>\n`;
}

function data<R>({ name, header }: Column<R>, cell: Cell): string {
  if (cell === null) return '';
  const text = typeof cell === 'boolean' ? (cell ? 'yes' : 'no') : String(cell);
  return `<Data name="${xmlText(name)}"><displayName>${xmlText(header)}</displayName><value>${xmlText(text)}</value></Data>\n`;
}

/** Outer ring anticlockwise, holes clockwise. */
function polygon(place: LonLatPlace, rings: readonly RingM[]): string {
  const boundaries = rings.map((ring, i) => {
    const turned = place.toLonLat(ring);
    if (ringArea(turned) > 0 !== (i === 0)) turned.reverse();
    const role = i === 0 ? 'outerBoundaryIs' : 'innerBoundaryIs';
    return `<${role}><LinearRing><coordinates>${coordinates(closeRing(turned))}</coordinates></LinearRing></${role}>`;
  });
  return `<Polygon>${boundaries.join('')}</Polygon>\n`;
}

function line(place: LonLatPlace, points: readonly PositionM[]): string {
  return `<LineString><tessellate>1</tessellate><coordinates>${coordinates(place.toLonLat(points))}</coordinates></LineString>\n`;
}

function coordinates(points: readonly LonLat[]): string {
  return points
    .map(([longitude, latitude]) => `${degreesText(longitude)},${degreesText(latitude)}`)
    .join(' ');
}

/** `#rrggbb` in the order of KML: alpha, blue, green, red. */
function kmlColour(colour: string, alpha = 'ff'): string {
  const [, red = '00', green = '00', blue = '00'] = /^#(..)(..)(..)$/.exec(colour) ?? [];
  return `${alpha}${blue}${green}${red}`;
}
