/** What lies on the map, as plain GeoJSON in the display frame. Pure: no map, no DOM. */
import type { Feature, FeatureCollection, Position } from 'geojson';
import type { PolygonM, PositionM, ProjectView, RingM } from '../../core/contract/model.ts';
import { valueToColour } from '../../core/contract/ramp.ts';
import type { ShownSurface } from '../../core/contract/results.ts';
import { formatLevel, formatProbeMark, type ShownRadonUnit } from '../format.ts';
import type { Drawing, ShownField, Sketch } from '../state/app-state.ts';
import { DISPLAY_LIMIT_M, toDisplay } from './display-frame.ts';
import { distanceM } from './geometry.ts';
import { keepOutStrip } from './keep-out-strip.ts';
import { type Aim, SNAP_WORDS } from './snap.ts';

export type LayerData = Record<
  | 'bands'
  | 'isolines'
  | 'outside'
  | 'weakGround'
  | 'keepOuts'
  | 'lot'
  | 'footprint'
  | 'proposals'
  | 'probes'
  | 'drawing',
  FeatureCollection
>;

export interface LayerInput {
  readonly view: ProjectView | null;
  readonly surface: ShownSurface | null;
  readonly shown: ShownField;
  readonly unit: ShownRadonUnit;
}

export function collect(features: Feature[]): FeatureCollection {
  return { type: 'FeatureCollection', features };
}

function closedRing(ring: RingM): Position[] {
  const positions: Position[] = ring.map(toDisplay);
  const first = positions[0];
  return first ? [...positions, first] : positions;
}

export function polygonFeature(rings: PolygonM, properties: Record<string, unknown> = {}): Feature {
  return { type: 'Feature', properties, geometry: { type: 'Polygon', coordinates: rings.map(closedRing) } };
}

export function lineFeature(points: readonly PositionM[], properties: Record<string, unknown> = {}): Feature {
  return {
    type: 'Feature',
    properties,
    geometry: { type: 'LineString', coordinates: points.map(toDisplay) },
  };
}

export function pointFeature(at: PositionM, properties: Record<string, unknown> = {}): Feature {
  return { type: 'Feature', properties, geometry: { type: 'Point', coordinates: toDisplay(at) } };
}

/** The lot and its corners, drawn as the pins a surveyor sets. */
export function lotLayer(view: ProjectView | null): FeatureCollection {
  if (!view?.lot) return collect([]);
  return collect([polygonFeature([view.lot]), ...view.lot.map((corner) => pointFeature(corner))]);
}

/** Everything but the lot: hides the ragged edge of a cell-by-cell field. */
export function outsideLayer(view: ProjectView | null, shown: ShownField): FeatureCollection {
  if (!view?.lot || shown === 'probes' || shown === 'estimate') return collect([]);
  const far = DISPLAY_LIMIT_M;
  const world: RingM = [
    [-far, -far],
    [far, -far],
    [far, far],
    [-far, far],
  ];
  return collect([polygonFeature([world, view.lot])]);
}

/** Corner of a keep-out that is farthest from any probe: its label stands there. */
function labelCorner(points: readonly PositionM[], view: ProjectView): PositionM | null {
  let best: { readonly at: PositionM; readonly clearM: number } | null = null;
  for (const at of points) {
    const clearM = Math.min(...view.probes.map((probe) => distanceM(probe.positionM, at)), Infinity);
    if (best === null || clearM > best.clearM) best = { at, clearM };
  }
  return best?.at ?? null;
}

const LONGEST_LABEL = 28;

/** One line on the map; the list of keep-outs has all of it. */
function shortLabel(label: string): string {
  return label.length <= LONGEST_LABEL ? label : `${label.slice(0, LONGEST_LABEL - 1)}…`;
}

/** Outlines, the strips round them, and a label for each. */
export function keepOutLayer(view: ProjectView | null): FeatureCollection {
  if (!view) return collect([]);
  return collect(
    view.keepOuts.flatMap((keepOut) => {
      const { shape, points, label } = keepOut;
      const part = { part: 'outline' };
      const outline = shape === 'polygon' ? polygonFeature([points], part) : lineFeature(points, part);
      const strip = keepOutStrip(keepOut).map((polygon) => polygonFeature(polygon, { part: 'strip' }));
      const at = labelCorner(points, view);
      return [
        ...strip,
        outline,
        ...(at ? [pointFeature(at, { part: 'label', label: shortLabel(label) })] : []),
      ];
    }),
  );
}

export function footprintLayer(view: ProjectView | null): FeatureCollection {
  const footprint = view?.footprint;
  return collect(footprint ? [polygonFeature([footprint.ring], { label: footprint.label })] : []);
}

/** Filled ground between levels; `band` is the place in the legend, lowest 0. */
export function bandLayer(surface: ShownSurface | null, shown: ShownField): FeatureCollection {
  if (!surface || shown !== 'estimate') return collect([]);
  return collect(
    surface.bands.flatMap((band) =>
      band.polygons.map((polygon) =>
        polygonFeature(polygon, { colour: valueToColour(band.from, surface.levelsKBqPerM3) }),
      ),
    ),
  );
}

export function isolineLayer(
  surface: ShownSurface | null,
  shown: ShownField,
  unit: ShownRadonUnit,
): FeatureCollection {
  if (!surface || shown !== 'estimate') return collect([]);
  return collect(
    surface.lines.map((line) => {
      const first = line.points[0];
      const points = line.closed && first ? [...line.points, first] : line.points;
      return lineFeature(points, {
        label: formatLevel(line.level, unit),
        limit: isLimit(line.level, surface),
      });
    }),
  );
}

function isLimit(level: number, { limits }: ShownSurface): boolean {
  return limits.some((limit) => Math.abs(limit.valueKBqPerM3 - level) < 1e-9);
}

/**
 * Ground on which the surface says little; the standard error speaks for itself. On a chance it is hatched and not
 * veiled: paler there means less likely.
 */
export function weakGroundLayer(surface: ShownSurface | null, shown: ShownField): FeatureCollection {
  if (!surface?.weakGround || (shown !== 'estimate' && shown !== 'probability')) return collect([]);
  const veil = shown === 'estimate';
  return collect(surface.weakGround.polygons.map((polygon) => polygonFeature(polygon, { veil })));
}

export function probeLayer(view: ProjectView | null, unit: ShownRadonUnit): FeatureCollection {
  if (!view) return collect([]);
  const marks = new Map(view.marks.map((mark) => [mark.probeId, mark]));
  return collect(
    view.probes.map((probe) => {
      const mark = marks.get(probe.id);
      return {
        type: 'Feature',
        properties: {
          probeId: probe.id,
          symbol: mark?.symbol ?? 'planned',
          added: probe.added,
          label: probe.label,
          value: mark ? formatProbeMark(mark, unit) : '',
        },
        geometry: { type: 'Point', coordinates: toDisplay(probe.positionM) },
      };
    }),
  );
}

/** The ring or line being drawn, its corners, the line to the pointer and what holds that; and a form's sketch. */
export function drawingLayer(
  drawing: Drawing | null,
  aim: Aim | null,
  sketch: Sketch | null = null,
): FeatureCollection {
  const held = aim?.kind
    ? [pointFeature(aim.atM, { part: 'snap', kind: aim.kind, label: SNAP_WORDS[aim.kind] })]
    : [];
  if (!drawing) return collect([...(sketch ? sketchFeatures(sketch) : []), ...held]);
  const features: Feature[] = [...held];
  const trail = aim ? [...drawing.points, aim.atM] : drawing.points;
  features.push(...drawing.points.map((point) => pointFeature(point, { part: 'corner' })));
  if (drawing.shape === 'polygon' && trail.length >= 3) features.push(polygonFeature([trail]));
  else if (trail.length >= 2) features.push(lineFeature(trail));
  return collect(features);
}

function sketchFeatures({ points, isClosed }: Sketch): Feature[] {
  const corners = points.length > 200 ? [] : points.map((point) => pointFeature(point, { part: 'corner' }));
  if (isClosed && points.length >= 3) return [polygonFeature([points]), ...corners];
  return points.length >= 2 ? [lineFeature(points), ...corners] : corners;
}

/** All but proposals and the drawing, which change while a hand moves. */
export function buildLayers(input: LayerInput): Omit<LayerData, 'proposals' | 'drawing'> {
  return {
    bands: bandLayer(input.surface, input.shown),
    isolines: isolineLayer(input.surface, input.shown, input.unit),
    outside: outsideLayer(input.view, input.shown),
    weakGround: weakGroundLayer(input.surface, input.shown),
    keepOuts: keepOutLayer(input.view),
    lot: lotLayer(input.view),
    footprint: footprintLayer(input.view),
    probes: probeLayer(input.view, input.unit),
  };
}
