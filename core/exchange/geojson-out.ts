/** The project as GeoJSON (RFC 7946): WGS 84 longitude and latitude, outer rings anticlockwise. */
import type { PositionM, ProjectView, RingM, Sample, SampleAssessment } from '../contract/model.ts';
import type { SurfaceResult } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import { describeDatumShift, transformPoints, WGS84_CODE } from '../geo/crs.ts';
import { toNative } from '../geo/frame.ts';
import { ringArea } from '../geo/planar.ts';

type LonLat = [longitude: number, latitude: number];

interface Feature {
  readonly type: 'Feature';
  readonly id: string;
  readonly properties: Readonly<Record<string, unknown>>;
  readonly geometry: {
    readonly type: 'Point' | 'LineString' | 'Polygon';
    readonly coordinates: LonLat | LonLat[] | LonLat[][];
  };
}

/** 1e-9 degrees is a tenth of a millimetre. */
const DECIMALS = 9;

/**
 * Lot, footprint, keep-outs, probes with their samples and, with a surface, its contour lines. `role` tells them apart.
 * The operation that brought the coordinates to WGS 84 and its accuracy stand in the member `project`.
 * @throws AppError BAD_INPUT for a local grid, and where the datum operation is not to be had offline
 */
export function writeGeoJson(view: ProjectView, surface: SurfaceResult | null): string {
  const { crs } = view.frame;
  if (crs.kind === 'local') {
    throw new AppError(
      'BAD_INPUT',
      'GeoJSON holds longitude and latitude, and a local grid has none: tie the grid to a mapped system with control points, or export CSV, which keeps the coordinates of the grid.',
      { field: 'crs' },
    );
  }
  const toLonLat = (points: readonly PositionM[]): LonLat[] => {
    const native = points.flatMap((point) => toNative(view.frame, point));
    const moved = transformPoints(crs.code, WGS84_CODE, Float64Array.from(native));
    return points.map((_, i) => [roundDegrees(moved[2 * i]), roundDegrees(moved[2 * i + 1])]);
  };
  const ring = (points: RingM): LonLat[] => {
    const turned = toLonLat(points);
    if (ringArea(turned) < 0) turned.reverse();
    return closed(turned);
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
  for (const { id, label, shape, points, bufferM } of view.keepOuts) {
    add(
      id,
      { role: 'keep-out', label, bufferM },
      shape === 'polygon'
        ? { type: 'Polygon', coordinates: [ring(points)] }
        : { type: 'LineString', coordinates: toLonLat(points) },
    );
  }
  const probePlaces = toLonLat(view.probes.map((probe) => probe.positionM));
  view.probes.forEach((probe, i) => {
    const coordinates = probePlaces[i] as LonLat;
    add(probe.id, probeProperties(view, i), { type: 'Point', coordinates });
  });
  for (const [i, line] of (surface?.lines ?? []).entries()) {
    const points = toLonLat(line.points);
    add(
      `contour-${i + 1}`,
      { role: 'contour', radonKBqPerM3: line.level, closed: line.closed, method: surface?.method },
      { type: 'LineString', coordinates: line.closed ? closed(points) : points },
    );
  }
  const shift = describeDatumShift(crs.code, WGS84_CODE);
  const project = {
    name: view.name,
    invented: view.isDemo,
    crs: `EPSG:${crs.code}`,
    crsName: view.frame.crsName,
    datumOperation: shift.statement,
    datumAccuracyM: shift.accuracyM,
    revision: view.revision,
  };
  return `${JSON.stringify({ type: 'FeatureCollection', project, features }, null, 1)}\n`;
}

function probeProperties(view: ProjectView, index: number): Record<string, unknown> {
  const probe = view.probes[index] as ProjectView['probes'][number];
  const mark = view.marks.find((candidate) => candidate.probeId === probe.id);
  const assessments = new Map(view.assessments.map((assessment) => [assessment.sampleId, assessment]));
  const measured = mark?.measured ?? null;
  const samples = view.samples
    .filter((sample) => sample.probeId === probe.id)
    .map((sample) => sampleProperties(sample, assessments.get(sample.id) ?? null));
  return {
    role: 'probe',
    label: probe.label,
    state: probe.state,
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

function closed(points: readonly LonLat[]): LonLat[] {
  const first = points[0];
  return first === undefined ? [] : [...points, first];
}

function roundDegrees(value: number | undefined): number {
  return Number((value ?? Number.NaN).toFixed(DECIMALS));
}
