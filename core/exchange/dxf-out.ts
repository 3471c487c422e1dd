/** The project as a DXF drawing (text form of release AC1021), layers by meaning, in the units of the project's system. */
import { DxfWriter, LWPolylineFlags, point3d, Units } from '@tarikjabiri/dxf';
import type { PositionM, ProjectView } from '../contract/model.ts';
import type { SurfaceResult } from '../contract/results.ts';
import { boundingBox } from '../geo/planar.ts';
import { type ExportOptions, type MapPlace, mapPlace } from './map-place.ts';
import { shortValue } from './value-text.ts';

export interface DxfOptions extends ExportOptions {
  /** Denominator of the scale the drawing is plotted at; texts are sized for it. Chosen by the lot where absent. */
  readonly plotScale?: number;
}

/** Layer names with their colour by number, as drawing programs list them. */
const LAYERS = {
  LOT: 7,
  FOOTPRINT: 1,
  'KEEP-OUT': 8,
  PROBE: 5,
  'PROBE-LABEL': 5,
  'PROBE-VALUE': 4,
  CONTOUR: 3,
  'CONTOUR-LABEL': 3,
  NOTE: 8,
} as const;
type LayerName = keyof typeof LAYERS;

const TEXT_PAPER_MM = 2.5;
const NOTE_PAPER_MM = 2;
const UNITS: Readonly<Record<string, Units>> = {
  m: Units.Meters,
  ft: Units.Feet,
  'ft-us': Units.USSurveyFeet,
};
const USUAL_SCALES = [100, 200, 250, 500, 1000, 2000, 2500, 5000, 10_000];
/** Room for the drawing on a small sheet. */
const PAPER_ROOM_MM = 180;

/**
 * Lot and footprint as closed polylines, keep-outs as they are, probes as points with label and value beside them,
 * contours as polylines whose elevation is the level in kBq/m3.
 */
export function writeDxf(view: ProjectView, surface: SurfaceResult | null, options: DxfOptions = {}): string {
  const place = mapPlace(view, options);
  const plotScale = options.plotScale ?? usualScale(view);
  const paperMm = plotScale / 1000 / place.metresPerUnit;
  const drawing = new DxfWriter();
  drawing.setVariable('$LASTSAVEDBY', { 1: 'Gasplat' });
  drawing.setUnits(UNITS[place.unitLabel] ?? Units.Unitless);
  for (const [name, colour] of Object.entries(LAYERS)) drawing.addLayer(name, colour);
  const draw = pen(drawing, place);
  if (view.lot !== null) draw.polyline('LOT', view.lot, true);
  if (view.footprint !== null) draw.polyline('FOOTPRINT', view.footprint.ring, true);
  for (const { shape, points } of view.keepOuts) draw.polyline('KEEP-OUT', points, shape === 'polygon');
  const marks = new Map(view.marks.map((mark) => [mark.probeId, mark]));
  const height = TEXT_PAPER_MM * paperMm;
  for (const probe of view.probes) {
    draw.point('PROBE', probe.positionM);
    draw.text('PROBE-LABEL', probe.positionM, [0.4 * height, 0.3 * height], height, probe.label);
    const value = shortValue(marks.get(probe.id)?.measured ?? null);
    if (value !== null)
      draw.text('PROBE-VALUE', probe.positionM, [0.4 * height, -1.3 * height], height, value);
  }
  for (const { level, points, closed } of surface?.lines ?? []) {
    draw.polyline('CONTOUR', points, closed, level);
    const middle = points[Math.floor(points.length / 2)];
    if (middle !== undefined) draw.text('CONTOUR-LABEL', middle, [0, 0], 0.8 * height, String(level));
  }
  writeNotes(draw, view, surface, place, plotScale, NOTE_PAPER_MM * paperMm);
  return drawing.stringify();
}

interface Pen {
  polyline(layer: LayerName, points: readonly PositionM[], closed: boolean, elevation?: number): void;
  point(layer: LayerName, at: PositionM): void;
  /** `offset` and `height` in the unit of the system. */
  text(
    layer: LayerName,
    at: PositionM,
    offset: readonly [number, number],
    height: number,
    value: string,
  ): void;
}

function pen(drawing: DxfWriter, place: MapPlace): Pen {
  const one = (at: PositionM) => place.toMap([at])[0] ?? [Number.NaN, Number.NaN];
  return {
    polyline: (layerName, points, closed, elevation = 0) => {
      const vertices = place.toMap(points).map(([x, y]) => ({ point: { x, y } }));
      drawing.addLWPolyline(vertices, {
        layerName,
        elevation,
        flags: closed ? LWPolylineFlags.Closed : LWPolylineFlags.None,
      });
    },
    point: (layerName, at) => {
      const [x, y] = one(at);
      drawing.addPoint(x, y, 0, { layerName });
    },
    text: (layerName, at, offset, height, value) => {
      const [x, y] = one(at);
      drawing.addText(point3d(x + offset[0], y + offset[1], 0), height, oneLine(value), { layerName });
    },
  };
}

function writeNotes(
  draw: Pen,
  view: ProjectView,
  surface: SurfaceResult | null,
  place: MapPlace,
  plotScale: number,
  height: number,
): void {
  const corner = cornerBelow(view);
  const lines = [
    view.isDemo ? `${view.name} - invented data` : view.name,
    `${place.systemName}, unit ${place.unitLabel}; texts for 1:${plotScale}`,
    'Values: radon in soil gas, kBq/m3',
    ...(surface === null
      ? []
      : [`Contours are modelled (${surface.method}); their elevation is the level in kBq/m3`]),
    'Have buried services located and marked before any probe is driven.',
    'Soil gas does not by itself tell the radon in a finished house; test the house.',
  ];
  lines.forEach((text, i) => {
    draw.text('NOTE', corner, [0, -(2 + 1.6 * i) * height], height, text);
  });
}

function drawnPoints(view: ProjectView): PositionM[] {
  return [...(view.lot ?? []), ...view.probes.map((probe) => probe.positionM)];
}

function cornerBelow(view: ProjectView): PositionM {
  const points = drawnPoints(view);
  if (points.length === 0) return [0, 0];
  const { minX, minY } = boundingBox(points);
  return [minX, minY];
}

function usualScale(view: ProjectView): number {
  const points = drawnPoints(view);
  if (points.length === 0) return 500;
  const { minX, minY, maxX, maxY } = boundingBox(points);
  const sizeM = Math.max(maxX - minX, maxY - minY);
  return USUAL_SCALES.find((scale) => (sizeM / scale) * 1000 <= PAPER_ROOM_MM) ?? 10_000;
}

/** A text of a drawing is one line; a line break would end its group. */
function oneLine(text: string): string {
  return text.replace(/[\r\n]+/g, ' ');
}
