/** What is told of probes and samples, once for every table that goes out: CSV, GeoPackage, KML, GPX. */
import type { Probe, ProjectView, Ruling, Sample, SampleAssessment } from '../contract/model.ts';

export type Cell = string | number | boolean | null;
export type ColumnType = 'text' | 'number' | 'whole' | 'yes-no' | 'time';

export interface Column<R> {
  /** For databases: unit as a suffix. */
  readonly name: string;
  /** For people: unit in brackets. The importer knows these headers. */
  readonly header: string;
  readonly type: ColumnType;
  readonly cell: (row: R) => Cell;
}

export interface SampleRow {
  readonly sample: Sample;
  readonly probe: Probe;
  readonly assessment: SampleAssessment | null;
}

/** One for each sample, in their order. */
export function sampleRows(view: ProjectView): SampleRow[] {
  const probes = new Map(view.probes.map((probe) => [probe.id, probe]));
  const assessments = new Map(view.assessments.map((assessment) => [assessment.sampleId, assessment]));
  return view.samples.flatMap((sample): SampleRow[] => {
    const probe = probes.get(sample.probeId);
    return probe === undefined ? [] : [{ sample, probe, assessment: assessments.get(sample.id) ?? null }];
  });
}

/** Columns of the sample as it was read and of how it was treated; `radon` is left to each format. */
export function sampleColumns(view: ProjectView, radon: readonly Column<SampleRow>[]): Column<SampleRow>[] {
  return [
    ...placeColumns<SampleRow>(view, (row) => row.probe),
    column('depth_m', 'Depth (m)', 'number', ({ sample, probe }) => sample.depthM ?? probe.depthM),
    ...groundColumns<SampleRow>((row) => row.probe),
    column('kind', 'Kind', 'text', ({ sample }) => sample.kind),
    column('taken_utc', 'Taken (UTC)', 'time', ({ sample }) => sample.takenUtc),
    ...radon,
    column(
      'radon_standard_uncertainty_kbq_per_m3',
      'Standard uncertainty (kBq/m3)',
      'number',
      ({ sample }) => sample.radonUKBqPerM3,
    ),
    column('oxygen_pct', 'Oxygen (%)', 'number', ({ sample }) => sample.oxygenPct),
    column('carbon_dioxide_pct', 'Carbon dioxide (%)', 'number', ({ sample }) => sample.carbonDioxidePct),
    column('suction_pa', 'Suction (Pa)', 'number', ({ sample }) => sample.suctionPa),
    ...drawingColumns(),
    ...(view.samples.some((s) => s.draw !== undefined) ? drawColumns() : []),
    column('fresh_air_seen', 'Fresh air seen', 'yes-no', ({ sample }) => sample.saidFreshAir),
    column('water_seen', 'Water seen', 'yes-no', ({ sample }) => sample.saidWater),
    column('remark', 'Remark', 'text', ({ sample }) => sample.remark),
    column('treatment', 'Treatment', 'text', ({ assessment }) => assessment?.treatment ?? null),
    column(
      'treatment_reason',
      'Reason of treatment',
      'text',
      ({ assessment }) => assessment?.treatmentReason ?? null,
    ),
    column('flags', 'Flags', 'text', ({ assessment }) =>
      (assessment?.flags ?? []).map((flag) => flag.rule).join(' '),
    ),
    column('ruling', 'Ruling', 'text', ({ assessment }) => rulingText(assessment?.ruling ?? null)),
    column('source_file', 'Source file', 'text', ({ sample }) => sample.source?.file ?? null),
    column('source_row', 'Source row', 'whole', ({ sample }) => sample.source?.row ?? null),
  ];
}

/** What was noted of the drawing itself; empty where nobody looked. */
function drawingColumns(): Column<SampleRow>[] {
  const said = (answer: boolean | undefined, yes: string, no: string) =>
    answer === undefined ? null : answer ? yes : no;
  return [
    column('pumped_ml', 'Pumped volume (mL)', 'number', ({ sample }) => sample.pumpedMl ?? null),
    column('system_ml', 'System volume (mL)', 'number', ({ sample }) => sample.systemMl ?? null),
    column('flow_ml_per_min', 'Flow (mL/min)', 'number', ({ sample }) => sample.flowMlPerMin ?? null),
    column(
      'air_porosity',
      'Air-filled porosity (share)',
      'number',
      ({ sample }) => sample.airPorosity ?? null,
    ),
    column('leak_test', 'Leak test', 'text', ({ sample }) => said(sample.leakTestPassed, 'passed', 'failed')),
    column('tracer_pct', 'Tracer (%)', 'number', ({ sample }) => sample.tracerPct ?? null),
    column(
      'tracer_shroud_pct',
      'Tracer under shroud (%)',
      'number',
      ({ sample }) => sample.tracerShroudPct ?? null,
    ),
    column('dryer', 'Dryer', 'text', ({ sample }) => said(sample.saidDryerSpent, 'spent', 'fresh')),
    column('tight_ground', 'Tight ground', 'yes-no', ({ sample }) => sample.saidTight ?? null),
  ];
}

/** From flow and suction. Its headers are none the importer knows: a derived value never comes back as a given one. */
function drawColumns(): Column<SampleRow>[] {
  const groundOf = ({ sample }: SampleRow) => sample.draw?.ground ?? null;
  return [
    column('draw_k_kind', 'k of the draw', 'text', (row) => groundOf(row)?.kind ?? null),
    column('draw_k_m2', 'k of the draw (m2)', 'number', (row) => {
      const ground = groundOf(row);
      if (ground === null) return null;
      return ground.kind === 'value' ? ground.permeabilityM2 : ground.boundM2;
    }),
    column('draw_k_standard_uncertainty_m2', 'u of k of the draw (m2)', 'number', (row) => {
      const ground = groundOf(row);
      return ground?.kind === 'value' ? ground.uM2 : null;
    }),
    column(
      'draw_k_enters_class',
      'k of the draw may enter a class',
      'yes-no',
      ({ sample }) => sample.draw?.enters ?? null,
    ),
  ];
}

/** Columns of a probe and of what its samples come to together. */
export function probeColumns(view: ProjectView, codes?: ReadonlyMap<string, string>): Column<Probe>[] {
  const marks = new Map(view.marks.map((mark) => [mark.probeId, mark]));
  const measured = (probe: Probe) => marks.get(probe.id)?.measured ?? null;
  return [
    ...placeColumns<Probe>(view, (probe) => probe),
    ...(codes === undefined
      ? []
      : [column<Probe>('code', 'Code', 'text', (probe) => codes.get(probe.id) ?? null)]),
    column('depth_m', 'Depth (m)', 'number', (probe) => probe.depthM),
    ...groundColumns<Probe>((probe) => probe),
    column('value_kind', 'Value', 'text', (probe) => measured(probe)?.kind ?? null),
    column('radon_kbq_per_m3', 'Radon (kBq/m3)', 'number', (probe) => {
      const value = measured(probe);
      if (value === null || value.kind === 'none') return null;
      return value.kind === 'value' ? value.estimateKBqPerM3 : value.boundKBqPerM3;
    }),
    column('radon_standard_uncertainty_kbq_per_m3', 'Standard uncertainty (kBq/m3)', 'number', (probe) => {
      const value = measured(probe);
      return value?.kind === 'value'
        ? Math.hypot(value.randomUKBqPerM3, value.commonURel * value.estimateKBqPerM3)
        : null;
    }),
    column('treatment', 'Treatment', 'text', (probe) => marks.get(probe.id)?.treatment ?? null),
    column(
      'treatment_reason',
      'Reason of treatment',
      'text',
      (probe) => marks.get(probe.id)?.treatmentReason ?? null,
    ),
    column('note', 'Note', 'text', (probe) => probe.note),
  ];
}

export function column<R>(name: string, header: string, type: ColumnType, cell: (row: R) => Cell): Column<R> {
  return { name, header, type, cell };
}

/** Name, state, whether added after the first round, and place in the project's own system. */
export function placeColumns<R>(view: ProjectView, probeOf: (row: R) => Probe): Column<R>[] {
  const unit = view.frame.unitLabel;
  const suffix = unit.toLowerCase().replace(/[^a-z0-9]+/g, '_');
  return [
    column('probe', 'Probe', 'text', (row) => probeOf(row).label),
    column('state', 'State', 'text', (row) => probeOf(row).state),
    column('added', 'Added', 'yes-no', (row) => probeOf(row).added),
    column(`easting_${suffix}`, `Easting (${unit})`, 'number', (row) => probeOf(row).native[0]),
    column(`northing_${suffix}`, `Northing (${unit})`, 'number', (row) => probeOf(row).native[1]),
  ];
}

function groundColumns<R>(probeOf: (row: R) => Probe): Column<R>[] {
  return [
    column('soil', 'Soil', 'text', (row) => probeOf(row).soil),
    column('fine_fraction_pct', 'Fine fraction (%)', 'number', (row) => probeOf(row).fineFractionPct),
    column('permeability_m2', 'Permeability (m2)', 'number', (row) => probeOf(row).permeabilityM2),
    column('permeability_class', 'Permeability class', 'text', (row) => probeOf(row).permeabilityClass),
  ];
}

function rulingText(ruling: Ruling | null): string | null {
  return ruling === null ? null : `${ruling.verdict} by ${ruling.actor} at ${ruling.atUtc}: ${ruling.reason}`;
}
