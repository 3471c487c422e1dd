/** Tables for spreadsheets and other programs: RFC 4180, units in the headers, numbers as exact as they are kept. */
import type { Probe, ProjectView, Ruling, Sample, SampleAssessment } from '../contract/model.ts';

type Cell = string | number | boolean | null;

interface Column<R> {
  readonly header: string;
  readonly cell: (row: R) => Cell;
}

interface SampleRow {
  readonly sample: Sample;
  readonly probe: Probe;
  readonly assessment: SampleAssessment | null;
}

/**
 * One row a sample, with its probe's place and description and how it was treated. Coordinates are the project's own,
 * values SI. The file can be imported again and gives the same values.
 */
export function writeSamplesCsv(view: ProjectView): string {
  const probes = new Map(view.probes.map((probe) => [probe.id, probe]));
  const assessments = new Map(view.assessments.map((assessment) => [assessment.sampleId, assessment]));
  const rows = view.samples.flatMap((sample): SampleRow[] => {
    const probe = probes.get(sample.probeId);
    return probe === undefined ? [] : [{ sample, probe, assessment: assessments.get(sample.id) ?? null }];
  });
  const columns: Column<SampleRow>[] = [
    ...placeColumns<SampleRow>(view, (row) => row.probe),
    { header: 'Depth (m)', cell: ({ sample, probe }) => sample.depthM ?? probe.depthM },
    ...groundColumns<SampleRow>((row) => row.probe),
    { header: 'Kind', cell: ({ sample }) => sample.kind },
    { header: 'Taken (UTC)', cell: ({ sample }) => sample.takenUtc },
    { header: 'Radon (kBq/m3)', cell: ({ sample }) => radonCell(sample) },
    { header: 'Standard uncertainty (kBq/m3)', cell: ({ sample }) => sample.radonUKBqPerM3 },
    { header: 'Oxygen (%)', cell: ({ sample }) => sample.oxygenPct },
    { header: 'Carbon dioxide (%)', cell: ({ sample }) => sample.carbonDioxidePct },
    { header: 'Suction (Pa)', cell: ({ sample }) => sample.suctionPa },
    { header: 'Fresh air seen', cell: ({ sample }) => sample.saidFreshAir },
    { header: 'Water seen', cell: ({ sample }) => sample.saidWater },
    { header: 'Remark', cell: ({ sample }) => sample.remark },
    { header: 'Treatment', cell: ({ assessment }) => assessment?.treatment ?? null },
    { header: 'Reason of treatment', cell: ({ assessment }) => assessment?.treatmentReason ?? null },
    {
      header: 'Flags',
      cell: ({ assessment }) => (assessment?.flags ?? []).map((flag) => flag.rule).join(' '),
    },
    { header: 'Ruling', cell: ({ assessment }) => rulingText(assessment?.ruling ?? null) },
    { header: 'Source file', cell: ({ sample }) => sample.source?.file ?? null },
    { header: 'Source row', cell: ({ sample }) => sample.source?.row ?? null },
  ];
  return writeTable(columns, rows);
}

/** One row a probe, also those without a sample, with what its samples come to together. */
export function writeProbesCsv(view: ProjectView): string {
  const marks = new Map(view.marks.map((mark) => [mark.probeId, mark]));
  const measured = (probe: Probe) => marks.get(probe.id)?.measured ?? null;
  const columns: Column<Probe>[] = [
    ...placeColumns<Probe>(view, (probe) => probe),
    { header: 'Depth (m)', cell: (probe) => probe.depthM },
    ...groundColumns<Probe>((probe) => probe),
    { header: 'Value', cell: (probe) => measured(probe)?.kind ?? null },
    {
      header: 'Radon (kBq/m3)',
      cell: (probe) => {
        const value = measured(probe);
        if (value === null || value.kind === 'none') return null;
        return value.kind === 'value' ? value.estimateKBqPerM3 : value.boundKBqPerM3;
      },
    },
    {
      header: 'Standard uncertainty (kBq/m3)',
      cell: (probe) => {
        const value = measured(probe);
        return value?.kind === 'value'
          ? Math.hypot(value.randomUKBqPerM3, value.commonURel * value.estimateKBqPerM3)
          : null;
      },
    },
    { header: 'Treatment', cell: (probe) => marks.get(probe.id)?.treatment ?? null },
    { header: 'Reason of treatment', cell: (probe) => marks.get(probe.id)?.treatmentReason ?? null },
    { header: 'Note', cell: (probe) => probe.note },
  ];
  return writeTable(columns, view.probes);
}

function placeColumns<R>(view: ProjectView, probeOf: (row: R) => Probe): Column<R>[] {
  const unit = view.frame.unitLabel;
  return [
    { header: 'Probe', cell: (row) => probeOf(row).label },
    { header: 'State', cell: (row) => probeOf(row).state },
    { header: `Easting (${unit})`, cell: (row) => probeOf(row).native[0] },
    { header: `Northing (${unit})`, cell: (row) => probeOf(row).native[1] },
  ];
}

function groundColumns<R>(probeOf: (row: R) => Probe): Column<R>[] {
  return [
    { header: 'Soil', cell: (row) => probeOf(row).soil },
    { header: 'Fine fraction (%)', cell: (row) => probeOf(row).fineFractionPct },
    { header: 'Permeability (m2)', cell: (row) => probeOf(row).permeabilityM2 },
    { header: 'Permeability class', cell: (row) => probeOf(row).permeabilityClass },
  ];
}

function radonCell(sample: Sample): Cell {
  if (sample.radonKBqPerM3 !== null) return sample.radonKBqPerM3;
  return sample.radonBelowKBqPerM3 === null ? null : `<${sample.radonBelowKBqPerM3}`;
}

function rulingText(ruling: Ruling | null): string | null {
  return ruling === null ? null : `${ruling.verdict} by ${ruling.actor} at ${ruling.atUtc}: ${ruling.reason}`;
}

function writeTable<R>(columns: readonly Column<R>[], rows: readonly R[]): string {
  const head = csvLine(columns.map((column) => column.header));
  const lines = rows.map((row) => csvLine(columns.map((column) => cellText(column.cell(row)))));
  return [head, ...lines].join('');
}

/** One record of RFC 4180 with its line end. */
export function csvLine(cells: readonly string[]): string {
  return `${cells.map(quote).join(',')}\r\n`;
}

/** Numbers in the shortest form that reads back as the same number. */
function cellText(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  return String(cell);
}

function quote(text: string): string {
  return /[",\r\n]|^\s|\s$/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
