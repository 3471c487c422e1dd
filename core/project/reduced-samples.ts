/** A sample's value from its counts, or as entered, corrected for other air where that was chosen. */
import type { Flag, Measured, Sample, SampleAssessment, SampleReductionSummary } from '../contract/model.ts';
import type { SampleReduction } from '../contract/results.ts';
import type { CountedReduction } from '../jobs/reduce-readings.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { InstrumentRow, SampleRow } from '../store/rows.ts';
import { lowerBoundOf } from '../survey/lower-bound.ts';
import { ASSUMED_RELATIVE_U } from '../survey/thresholds.ts';
import { asValueOrBound, correct, intervalOf, quality } from './correct-air.ts';
import type { AveragedSample } from './interval-values.ts';
import { averagesOf } from './interval-values.ts';
import { planReadings, reductionsOf } from './readings.ts';

/** Under this chance of a worse one a fit is bad: common practice. */
const BAD_FIT_P = 0.01;

type Value = Extract<Measured, { kind: 'value' }>;

export interface ReducedRow {
  /** null where no value came of it. */
  readonly measured: Value | Extract<Measured, { kind: 'atMost' }> | null;
  readonly commonURel: number;
  readonly summary: SampleReductionSummary;
  readonly correction: SampleReduction['correction'];
  readonly entered: SampleReduction['entered'];
  readonly flags: readonly Flag[];
}

/** Every sample that carries counts or interval values, an instrument, a common error or a correction; the others are as entered. */
export function reduceRows(store: ReadableStore): ReadonlyMap<string, ReducedRow> {
  const plan = planReadings(store);
  const results = reductionsOf(store);
  const averages = averagesOf(store);
  const instruments = new Map(store.rows('instrument').map((i) => [i.id, i]));
  const labels = labelsOf(store);
  const counted = new Map<string, number>();
  for (const r of store.rows('reading')) counted.set(r.sample_id, (counted.get(r.sample_id) ?? 0) + 1);
  const out = new Map<string, ReducedRow>();
  for (const row of store.rows('sample')) {
    const readingCount = counted.get(row.id) ?? 0;
    const isPlain =
      readingCount === 0 &&
      !averages.has(row.id) &&
      row.instrument_id === null &&
      row.common_u_rel === null &&
      row.air_correction === null;
    if (isPlain) continue;
    out.set(
      row.id,
      reduceRow({
        row,
        readingCount,
        instrument: instruments.get(row.instrument_id ?? '') ?? null,
        counted: results.get(row.id) ?? null,
        average: averages.get(row.id) ?? null,
        problem: plan.problems.get(row.id) ?? null,
        notes: plan.notes.get(row.id) ?? [],
        labels,
      }),
    );
  }
  return out;
}

/** Samples by the label of their probe, with the kind where it is not a first grab. */
export function labelsOf(store: ReadableStore): ReadonlyMap<string, string> {
  const probes = new Map(store.rows('probe').map((p) => [p.id, p.label]));
  return new Map(
    store.rows('sample').map((s) => {
      const label = probes.get(s.probe_id) ?? s.probe_id;
      return [s.id, s.kind === 'grab' ? label : `${label} (${s.kind})`];
    }),
  );
}

interface RowParts {
  readonly row: SampleRow;
  readonly readingCount: number;
  readonly instrument: InstrumentRow | null;
  readonly counted: CountedReduction | null;
  readonly average: AveragedSample | null;
  readonly problem: string | null;
  readonly notes: readonly string[];
  readonly labels: ReadonlyMap<string, string>;
}

function reduceRow(parts: RowParts): ReducedRow {
  const { row, instrument, counted, average } = parts;
  const fromCounts = counted?.reduced ?? null;
  const reduced = fromCounts ?? average?.averaged ?? null;
  const problem = parts.problem ?? counted?.problem ?? null;
  const flags = withoutValue(parts, problem);
  const entered = row.radon_kbq_per_m3 === null ? null : enteredOf(row, row.radon_kbq_per_m3);
  const commonURel = reduced?.commonURel ?? row.common_u_rel ?? instrument?.common_u_rel ?? 0;
  const raw = reduced === null ? enteredMeasured(row, commonURel) : asValueOrBound(reduced.measured);
  const { measured, correction } = correct(raw, row, instrument, flags);
  const pPearson = reduced?.fit?.pPearson ?? null;
  if (pPearson !== null && pPearson < BAD_FIT_P) flags.push(badFit(reduced?.notes[0] ?? '', pPearson));
  if (reduced !== null && entered !== null && raw?.kind === 'value')
    flags.push(
      ...differing(raw, entered, fromCounts === null ? 'The values of the instrument' : 'The counts'),
    );
  const scale = correction === null ? 1 : 1 / (1 - correction.airShare);
  const scaled = (limit: number | null | undefined) => (limit == null ? null : limit * scale);
  return {
    measured,
    commonURel,
    correction,
    entered: reduced === null ? null : entered,
    flags,
    summary: {
      basis:
        fromCounts !== null
          ? 'readings'
          : reduced !== null
            ? 'values'
            : raw !== null || row.radon_above_kbq_per_m3 !== null
              ? 'entered'
              : 'none',
      instrument: instrument?.label ?? null,
      readingCount: parts.readingCount === 0 ? (average?.values.length ?? 0) : parts.readingCount,
      commonURel,
      interval95KBqPerM3:
        reduced === null ? null : intervalOf(reduced.interval95KBqPerM3, raw, measured, correction),
      decisionThresholdKBqPerM3: scaled(reduced?.decisionThresholdKBqPerM3),
      detectionLimitKBqPerM3: scaled(reduced?.detectionLimitKBqPerM3),
      fitP: pPearson,
      correction: correction === null ? null : row.air_correction,
      notes: notesOf(parts, problem, correction),
    },
  };
}

/** Counts or values of an instrument that give nothing. */
function withoutValue({ readingCount, counted, average }: RowParts, problem: string | null): Flag[] {
  const say = (rule: string, message: string) =>
    quality(rule, 'suspect', message, [], 'Stated by this program');
  const valueProblem = average?.problem ?? null;
  const hasFailed = readingCount > 0 && (counted?.reduced ?? null) === null;
  return [
    ...(valueProblem === null
      ? []
      : [say('values-not-averaged', `The values of its instrument give no mean: ${valueProblem}`)]),
    ...(hasFailed
      ? [say('counts-not-reduced', `Its counts give no value: ${problem ?? 'unknown reason'}`)]
      : []),
  ];
}

function notesOf(
  { counted, average, notes, labels }: RowParts,
  problem: string | null,
  correction: ReducedRow['correction'],
): string[] {
  const fromCounts = counted?.reduced ?? null;
  const unknown = (counted?.unknownBefore ?? []).map((id) => labels.get(id) ?? id);
  return [
    ...(problem === null ? [] : [problem]),
    ...((fromCounts ?? average?.averaged)?.notes ?? []),
    ...notes,
    ...(average === null ? [] : valueNotes(average, fromCounts !== null)),
    ...(unknown.length === 0
      ? []
      : [`Nothing could be taken off for the sample before it (${unknown.join(', ')}): it has no value.`]),
    ...(correction === null ? [] : [correction.text]),
  ];
}

function valueNotes(average: AveragedSample, areCountsUsed: boolean): string[] {
  if (areCountsUsed) return [`${average.values.length} values of the instrument beside them are not used.`];
  return [...(average.problem === null ? [] : [average.problem]), ...average.notes];
}

function enteredOf(row: SampleRow, radonKBqPerM3: number): NonNullable<SampleReduction['entered']> {
  return { radonKBqPerM3, uKBqPerM3: row.radon_u_kbq_per_m3 };
}

/** As it came with the sample; null where nothing did. */
export function enteredMeasured(row: SampleRow, commonURel: number): ReducedRow['measured'] {
  if (row.radon_kbq_per_m3 !== null)
    return {
      kind: 'value',
      estimateKBqPerM3: row.radon_kbq_per_m3,
      randomUKBqPerM3: row.radon_u_kbq_per_m3 ?? ASSUMED_RELATIVE_U * Math.abs(row.radon_kbq_per_m3),
      commonURel,
    };
  if (row.radon_below_kbq_per_m3 !== null)
    return { kind: 'atMost', boundKBqPerM3: row.radon_below_kbq_per_m3 };
  return null;
}

function badFit(message: string, p: number): Flag {
  return quality(
    'counts-do-not-fit',
    'suspect',
    message,
    [{ what: 'chance of a worse chi-square', value: Number(p.toPrecision(2)), limit: BAD_FIT_P, unit: '' }],
    'Pearson chi-square of the fit to ingrowth and decay; the limit is common practice',
  );
}

/** A value that was entered beside counts, or values of an instrument, that say something else. */
function differing(value: Value, entered: NonNullable<SampleReduction['entered']>, from: string): Flag[] {
  const u = entered.uKBqPerM3 ?? ASSUMED_RELATIVE_U * entered.radonKBqPerM3;
  const k = Math.abs(value.estimateKBqPerM3 - entered.radonKBqPerM3) / Math.hypot(value.randomUKBqPerM3, u);
  if (k <= 2) return [];
  return [
    quality(
      'entered-value-differs',
      'note',
      `${from} give ${value.estimateKBqPerM3.toPrecision(4)} kBq/m3, the value entered is ${entered.radonKBqPerM3.toPrecision(4)}: ${from.toLowerCase()} are used.`,
      [{ what: 'difference in standard uncertainties', value: Number(k.toPrecision(3)), limit: 2, unit: '' }],
      'Common practice (k = 2)',
    ),
  ];
}

/** The contract's sample with the value in force in place of the one entered. */
export function withReduction(
  sample: Sample,
  row: SampleRow,
  reduced: ReducedRow | undefined,
  instrument: InstrumentRow | undefined,
): Sample {
  const lineMl = row.line_ml ?? instrument?.line_ml ?? null;
  // An evacuated chamber or a syringe starts without air of its own.
  const isFlushed = row.fill_way === 'flow-through' || row.fill_way === 'closed-loop';
  const chamberMl = isFlushed ? (instrument?.chamber_ml ?? 0) : 0;
  const isTracerUsed = reduced?.summary.correction === 'tracer';
  const notes = {
    ...(row.pumped_ml === null ? {} : { pumpedMl: row.pumped_ml }),
    // Pumped through a chamber that nobody named, the whole volume is not known.
    ...(lineMl === null || (instrument === undefined && isFlushed) ? {} : { systemMl: lineMl + chamberMl }),
    ...(row.tracer_pct === null || isTracerUsed ? {} : { tracerPct: row.tracer_pct }),
    ...(row.tracer_shroud_pct === null || isTracerUsed ? {} : { tracerShroudPct: row.tracer_shroud_pct }),
    ...(row.air_porosity === null ? {} : { airPorosity: row.air_porosity }),
    ...(row.flow_ml_per_min === null ? {} : { flowMlPerMin: row.flow_ml_per_min }),
    ...(row.said_tight === null ? {} : { saidTight: row.said_tight === 1 }),
    ...(row.said_dryer_spent === null ? {} : { saidDryerSpent: row.said_dryer_spent === 1 }),
    ...(row.leak_test_passed === null ? {} : { leakTestPassed: row.leak_test_passed === 1 }),
  };
  if (reduced === undefined) return { ...sample, ...notes };
  const { measured, summary } = reduced;
  const isReduced = summary.basis === 'readings' || summary.basis === 'values';
  const isAsEntered = !isReduced && summary.correction === null;
  const { radonAboveKBqPerM3, ...plain } = sample;
  return {
    ...plain,
    ...notes,
    reduction: summary,
    ...(isAsEntered
      ? { ...(radonAboveKBqPerM3 === undefined ? {} : { radonAboveKBqPerM3 }) }
      : {
          radonKBqPerM3: measured?.kind === 'value' ? measured.estimateKBqPerM3 : null,
          radonUKBqPerM3: measured?.kind === 'value' ? measured.randomUKBqPerM3 : null,
          radonBelowKBqPerM3: measured?.kind === 'atMost' ? measured.boundKBqPerM3 : null,
        }),
  };
}

/** Findings of the reduction beside the others, and the calibration's error in every value and bound. */
export function assessReduced(
  assessment: SampleAssessment,
  sample: Sample,
  reduced: ReducedRow | undefined,
): SampleAssessment {
  if (reduced === undefined) return assessment;
  const { commonURel, flags } = reduced;
  const withCommon = (measured: Measured): Measured => {
    if (measured.kind === 'value') return { ...measured, commonURel };
    if (measured.kind !== 'atLeast' || sample.radonKBqPerM3 === null) return measured;
    const value: Value = {
      kind: 'value',
      estimateKBqPerM3: sample.radonKBqPerM3,
      randomUKBqPerM3: sample.radonUKBqPerM3 ?? ASSUMED_RELATIVE_U * sample.radonKBqPerM3,
      commonURel,
    };
    return { kind: 'atLeast', boundKBqPerM3: lowerBoundOf(value) };
  };
  return {
    ...assessment,
    flags: [...assessment.flags, ...flags],
    measured: withCommon(assessment.measured),
    unruledMeasured: withCommon(assessment.unruledMeasured),
  };
}
