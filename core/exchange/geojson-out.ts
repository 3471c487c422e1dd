/** The project as GeoJSON (RFC 7946): WGS 84 longitude and latitude, outer rings anticlockwise. */
import type { Probe, ProjectView, RingM, Sample, SampleAssessment } from '../contract/model.ts';
import type { SurfaceResult } from '../contract/results.ts';
import { ringArea } from '../geo/planar.ts';
import { closeRing, type ExportOptions, type LonLat, linePoints, lonLatPlace } from './map-place.ts';

interface Feature {
  readonly type: 'Feature';
  readonly id: string;
  readonly properties: Readonly<Record<string, unknown>>;
  readonly geometry: {
    readonly type: 'Point' | 'LineString' | 'Polygon';
    readonly coordinates: LonLat | LonLat[] | LonLat[][];
  };
}

/**
 * Lot, footprint, keep-outs, probes with their samples and, with a surface, its contour lines. `role` tells them apart.
 * The operation that brought the coordinates to WGS 84 and its accuracy stand in the member `project`.
 * @throws AppError BAD_INPUT for a local grid without a tie, and where the datum operation is not to be had offline
 */
export function writeGeoJson(
  view: ProjectView,
  surface: SurfaceResult | null,
  options: ExportOptions = {},
): string {
  const place = lonLatPlace(view, 'GeoJSON', options);
  const { toLonLat } = place;
  const ring = (points: RingM): LonLat[] => {
    const turned = toLonLat(points);
    if (ringArea(turned) < 0) turned.reverse();
    return closeRing(turned);
  };
  const features: Feature[] = [];
  const add = (id: string, properties: Feature['properties'], geometry: Feature['geometry']) =>
    features.push({ type: 'Feature', id, properties, geometry });
  if (view.lot !== null) {
    add('lot', { role: 'lot', areaM2: view.lotAreaM2 }, { type: 'Polygon', coordinates: [ring(view.lot)] });
  }
  if (view.footprint !== null) {
    const { id, label } = view.footprint;
    add(id, { role: 'footprint', label }, { type: 'Polygon', coordinates: [ring(view.footprint.ring)] });
  }
  for (const { id, label, shape, points, bufferM, blocksWalk } of view.keepOuts) {
    add(
      id,
      { role: 'keep-out', label, bufferM, ...(blocksWalk === undefined ? {} : { blocksWalk }) },
      shape === 'polygon'
        ? { type: 'Polygon', coordinates: [ring(points)] }
        : { type: 'LineString', coordinates: toLonLat(points) },
    );
  }
  const probePlaces = toLonLat(view.probes.map((probe) => probe.positionM));
  const propertiesOf = probeProperties(view, options.codes);
  view.probes.forEach((probe, i) => {
    const coordinates = probePlaces[i] as LonLat;
    add(probe.id, propertiesOf(probe), { type: 'Point', coordinates });
  });
  for (const [i, line] of (surface?.lines ?? []).entries()) {
    add(
      `contour-${i + 1}`,
      { role: 'contour', radonKBqPerM3: line.level, closed: line.closed, method: surface?.method },
      { type: 'LineString', coordinates: toLonLat(linePoints(line)) },
    );
  }
  const project = {
    name: view.name,
    invented: view.isDemo,
    crs: `EPSG:${place.code}`,
    crsName: place.systemName,
    datumOperation: place.datumOperation,
    datumAccuracyM: place.datumAccuracyM,
    revision: view.revision,
  };
  return `${JSON.stringify({ type: 'FeatureCollection', project, features }, null, 1)}\n`;
}

function probeProperties(
  view: ProjectView,
  codes?: ReadonlyMap<string, string>,
): (probe: Probe) => Record<string, unknown> {
  const marks = new Map(view.marks.map((mark) => [mark.probeId, mark]));
  const assessments = new Map(view.assessments.map((assessment) => [assessment.sampleId, assessment]));
  const samplesOf = new Map<string, Sample[]>();
  for (const sample of view.samples) {
    const known = samplesOf.get(sample.probeId);
    if (known === undefined) samplesOf.set(sample.probeId, [sample]);
    else known.push(sample);
  }
  return (probe) => {
    const mark = marks.get(probe.id);
    const measured = mark?.measured ?? null;
    const samples = (samplesOf.get(probe.id) ?? []).map((sample) =>
      sampleProperties(sample, assessments.get(sample.id) ?? null),
    );
    return {
      role: 'probe',
      label: probe.label,
      ...(codes === undefined ? {} : { code: codes.get(probe.id) ?? null }),
      state: probe.state,
      added: probe.added,
      x: probe.native[0],
      y: probe.native[1],
      depthM: probe.depthM,
      soil: probe.soil,
      fineFractionPct: probe.fineFractionPct,
      permeabilityM2: probe.permeabilityM2,
      permeabilityClass: probe.permeabilityClass,
      note: probe.note,
      valueKind: measured?.kind ?? null,
      radonKBqPerM3: measured?.kind === 'value' ? measured.estimateKBqPerM3 : null,
      atLeastKBqPerM3: measured?.kind === 'atLeast' ? measured.boundKBqPerM3 : null,
      atMostKBqPerM3: measured?.kind === 'atMost' ? measured.boundKBqPerM3 : null,
      treatment: mark?.treatment ?? null,
      treatmentReason: mark?.treatmentReason ?? null,
      samples,
    };
  };
}

function sampleProperties(sample: Sample, assessment: SampleAssessment | null): Record<string, unknown> {
  const { id: _id, probeId: _probeId, ...read } = sample;
  return {
    ...read,
    treatment: assessment?.treatment ?? null,
    treatmentReason: assessment?.treatmentReason ?? null,
    flags: (assessment?.flags ?? []).map(({ rule, weight, message }) => ({ rule, weight, message })),
    ruling: assessment?.ruling ?? null,
  };
}
