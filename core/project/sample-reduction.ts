import type { Measured } from '../contract/model.ts';
import type { SampleReduction } from '../contract/results.ts';
import { planCounting } from '../counting/counting-plan.ts';
import { fitPoisson } from '../counting/poisson-fit.ts';
import type { CountedSample } from '../counting/reduce-counts.ts';
import { dataOf } from '../counting/reduce-counts.ts';
import { AppError } from '../errors.ts';
import type { ChamberValue, CountedReduction, CountedTask } from '../jobs/reduce-readings.ts';
import { withPrevious } from '../jobs/reduce-readings.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { AveragedSample } from './interval-values.ts';
import { averagesOf } from './interval-values.ts';
import { planReadings, reductionsOf } from './readings.ts';
import type { ReducedRow } from './reduced-samples.ts';
import { enteredMeasured, labelsOf, reduceRows } from './reduced-samples.ts';

/**
 * The way of one sample from its counts to its value: every interval with what was expected of it, the background and
 * the samples before it, thresholds and correction.
 * @throws AppError NOT_FOUND for a sample that is not there
 */
export function explainReduction(store: ReadableStore, sampleId: string): SampleReduction {
  const row = store.row('sample', sampleId);
  if (row === undefined) throw new AppError('NOT_FOUND', `There is no sample "${sampleId}" in this project.`);
  const labels = labelsOf(store);
  const rows = reduceRows(store).get(sampleId);
  const planned = planReadings(store).tasks.find((t) => t.sampleId === sampleId);
  const task = planned === undefined ? null : { ...planned, previous: planned.previous() };
  const counted = reductionsOf(store).get(sampleId) ?? null;
  const average = averagesOf(store).get(sampleId) ?? null;
  const reduced = counted?.reduced ?? average?.averaged ?? null;
  const measured: Measured = rows?.measured ??
    enteredMeasured(row, 0) ?? { kind: 'none', reason: 'no-reading' };
  return {
    sampleId,
    probe: store.row('probe', row.probe_id)?.label ?? '',
    measured,
    summary: rows?.summary ?? plainSummary(measured),
    chamber:
      reduced === null
        ? null
        : {
            estimateKBqPerM3: reduced.estimateKBqPerM3,
            randomUKBqPerM3: reduced.randomUKBqPerM3,
            uBasis: reduced.uBasis,
            interval95KBqPerM3: reduced.interval95KBqPerM3,
            decisionThresholdKBqPerM3: reduced.decisionThresholdKBqPerM3,
            detectionLimitKBqPerM3: reduced.detectionLimitKBqPerM3,
            best: reduced.best,
          },
    fit: reduced?.fit ?? null,
    thoron: reduced?.thoron ?? null,
    intervals: intervalsOf(store, sampleId, task, counted),
    values: valuesOf(store, average),
    backgrounds: (task?.sample.background ?? []).map((b) => ({
      window: b.windowId,
      counts: b.counts,
      liveS: b.liveS,
      takenUtc: takenOf(store, row.instrument_id, b),
    })),
    carriedFrom: (counted?.carried ?? []).map((c) => ({ ...c, probe: labels.get(c.sampleId) ?? c.sampleId })),
    correction: rows?.correction ?? null,
    entered: rows?.entered ?? null,
  };
}

function valuesOf(store: ReadableStore, average: AveragedSample | null): SampleReduction['values'] {
  const files = fileNames(store);
  return (average?.values ?? []).map((v) => ({
    startS: v.start_s,
    endS: v.start_s + v.length_s,
    liveS: v.live_s ?? v.length_s,
    radonKBqPerM3: v.radon_kbq_per_m3,
    uKBqPerM3: v.u_kbq_per_m3,
    used: average?.averaged != null && v.start_s >= (average.ingrowthS ?? Number.POSITIVE_INFINITY),
    source: placeOf(files, v),
  }));
}

function fileNames(store: ReadableStore): ReadonlyMap<string, string> {
  return new Map(store.attachments().map((a) => [a.sha256, a.name]));
}

function placeOf(
  files: ReadonlyMap<string, string>,
  row: { readonly source_attachment: string | null; readonly source_row: number | null },
): { readonly file: string; readonly row: number } | null {
  const { source_attachment: hash, source_row: line } = row;
  return hash === null || line === null ? null : { file: files.get(hash) ?? hash, row: line };
}

function plainSummary(measured: Measured): ReducedRow['summary'] {
  return {
    basis: measured.kind === 'none' ? 'none' : 'entered',
    instrument: null,
    readingCount: 0,
    commonURel: 0,
    interval95KBqPerM3: null,
    decisionThresholdKBqPerM3: null,
    detectionLimitKBqPerM3: null,
    fitP: null,
    correction: null,
    notes: [],
  };
}

function takenOf(
  store: ReadableStore,
  instrumentId: string | null,
  b: { readonly windowId: string; readonly counts: number; readonly liveS: number },
): string | null {
  if (instrumentId === null) return null;
  const rows = store.rows('background', { instrument_id: instrumentId, window: b.windowId });
  return rows.find((r) => r.counts === b.counts && r.live_s === b.liveS)?.taken_utc ?? null;
}

function intervalsOf(
  store: ReadableStore,
  sampleId: string,
  task: CountedTask | null,
  counted: CountedReduction | null,
): SampleReduction['intervals'] {
  const files = fileNames(store);
  const rows = store
    .rows('reading', { sample_id: sampleId })
    .toSorted((a, b) => a.start_s - b.start_s || (a.id < b.id ? -1 : 1));
  const expected = task === null || counted === null ? null : expectedOf(task, counted);
  return rows.map((r, i) => {
    const mean = expected?.[i] ?? null;
    return {
      window: task?.sample.intervals[i]?.windowId ?? r.window ?? '',
      startS: r.start_s,
      endS: r.start_s + r.length_s,
      liveS: r.live_s ?? r.length_s,
      counts: r.counts,
      expected: mean,
      residual: mean === null ? null : (r.counts - mean) / Math.sqrt(mean),
      source: placeOf(files, r),
    };
  });
}

/** Counts of each interval by the fit, in the task's order; null where there is no fit. */
function expectedOf(task: CountedTask, counted: CountedReduction): Float64Array | null {
  if (counted.reduced === null) return null;
  const values = new Map<string, ChamberValue>(counted.carried.map((c) => [c.sampleId, c]));
  const sample: CountedSample = withPrevious(task, values).sample;
  const plan = planCounting(sample);
  const start = new Float64Array(plan.model.columns);
  plan.backgroundWindowIds.forEach((id, w) => {
    const found = sample.background.find((b) => b.windowId === id);
    if (found !== undefined) start[plan.firstBackgroundColumn + w] = Math.max(found.counts, 1) / found.liveS;
  });
  start[plan.radonColumn] = Math.max(0, counted.reduced.estimateKBqPerM3);
  const data = dataOf(
    plan,
    sample.intervals.map((i) => i.counts),
  );
  return fitPoisson(plan.model, data, start).expected;
}
