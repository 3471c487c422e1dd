import type {
  Probe,
  ProbeMark,
  ProjectView,
  Sample,
  SampleAssessment,
  Treatment,
} from '../../core/contract/model.ts';
import type { SymbolKind } from '../../core/contract/symbols.ts';
import { sampleSymbol } from '../map/sample-symbol.ts';

export interface SampleRow {
  readonly sample: Sample;
  readonly probe: Probe | null;
  readonly assessment: SampleAssessment;
  /** What all samples of the probe come to; null for a sample without a probe. */
  readonly mark: ProbeMark | null;
  /** The probe's own where this is its only sample, so that map and table agree. */
  readonly symbol: SymbolKind;
  readonly finding: string;
}

export const TREATMENT_NAMES: Record<Treatment, string> = {
  use: 'used',
  'lower-bound': 'lower bound',
  'leave-out': 'left out',
  'no-value': 'no value',
};

/** The weightiest finding in a word or two. */
export function findingOf(assessment: SampleAssessment): string {
  if (assessment.water !== 'none') return assessment.water.replaceAll('-', ' ');
  if (assessment.dilution === 'diluted') return 'diluted';
  const weighty = assessment.flags.filter((flag) => flag.weight !== 'note');
  if (assessment.dilution === 'suspect') return 'suspect: dilution';
  const first = weighty[0];
  if (first) return `suspect: ${first.kind}`;
  return assessment.flags.length > 0 ? 'note' : 'none';
}

export function sampleRows(view: ProjectView): SampleRow[] {
  const probes = new Map(view.probes.map((probe) => [probe.id, probe]));
  const assessments = new Map(view.assessments.map((assessment) => [assessment.sampleId, assessment]));
  const marks = new Map(view.marks.map((mark) => [mark.probeId, mark]));
  const counts = new Map<string, number>();
  for (const { probeId } of view.samples) counts.set(probeId, (counts.get(probeId) ?? 0) + 1);
  return view.samples.flatMap((sample) => {
    const assessment = assessments.get(sample.id);
    if (!assessment) return [];
    const mark = marks.get(sample.probeId) ?? null;
    const isOnlyOne = counts.get(sample.probeId) === 1;
    return [
      {
        sample,
        probe: probes.get(sample.probeId) ?? null,
        assessment,
        mark,
        symbol: (isOnlyOne ? mark?.symbol : undefined) ?? sampleSymbol(assessment),
        finding: findingOf(assessment),
      },
    ];
  });
}

/** Label a person reads: probe, and the kind of sample where it is not the plain grab. */
export function rowLabel(row: SampleRow): string {
  const label = row.probe?.label ?? 'no probe';
  return row.sample.kind === 'grab' ? label : `${label}, ${row.sample.kind}`;
}

export type RowFilter = 'all' | 'findings' | 'ruled' | 'not-used';

export const FILTER_NAMES: Record<RowFilter, string> = {
  all: 'All',
  findings: 'With a finding',
  ruled: 'Ruled on',
  'not-used': 'Not used as a value',
};

export function filterRows(rows: readonly SampleRow[], filter: RowFilter): readonly SampleRow[] {
  switch (filter) {
    case 'all':
      return rows;
    case 'findings':
      return rows.filter((row) => row.assessment.flags.some((flag) => flag.weight !== 'note'));
    case 'ruled':
      return rows.filter((row) => row.assessment.ruling !== null);
    case 'not-used':
      return rows.filter((row) => row.assessment.treatment !== 'use');
  }
}

export type SortKey = 'label' | 'depth' | 'radon' | 'finding' | 'treatment';

export interface RowOrder {
  readonly key: SortKey;
  readonly descending: boolean;
}

const BY_NUMBER_IN_TEXT = new Intl.Collator('en', { numeric: true });

/** Bounds are placed at their bound; what has no value comes last either way. */
function sortValue(row: SampleRow, key: SortKey): number | string | null {
  switch (key) {
    case 'label':
      return rowLabel(row);
    case 'depth':
      return row.sample.depthM;
    case 'radon': {
      const { measured } = row.assessment;
      if (measured.kind === 'none') return null;
      return measured.kind === 'value' ? measured.estimateKBqPerM3 : measured.boundKBqPerM3;
    }
    case 'finding':
      return row.finding;
    case 'treatment':
      return TREATMENT_NAMES[row.assessment.treatment];
  }
}

export function orderRows(rows: readonly SampleRow[], order: RowOrder | null): readonly SampleRow[] {
  if (!order) return rows;
  const sign = order.descending ? -1 : 1;
  return rows
    .map((row) => ({ row, value: sortValue(row, order.key) }))
    .sort((a, b) => {
      if (a.value === null || b.value === null) return Number(a.value === null) - Number(b.value === null);
      return typeof a.value === 'number' && typeof b.value === 'number'
        ? sign * (a.value - b.value)
        : sign * BY_NUMBER_IN_TEXT.compare(String(a.value), String(b.value));
    })
    .map(({ row }) => row);
}
