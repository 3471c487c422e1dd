/** The verdict at one hole, from what is typed there and what the project holds. */
import type { ProjectView, Sample } from '../contract/model.ts';
import type {
  CarryOverWait,
  HoleFacts,
  HoleJudgement,
  HolePrediction,
  HoleQuestion,
  TypedInterval,
} from '../contract/quality.ts';
import type { PlannedInterval } from '../counting/counting-plan.ts';
import { countsOf } from '../counting/detector.ts';
import { predictFinal } from '../counting/live-verdict.ts';
import { RADON_CHAIN } from '../counting/nuclides.ts';
import type { CountedSample } from '../counting/reduce-counts.ts';
import { waitUntilCarryOver } from '../counting/waiting-time.ts';
import { AppError } from '../errors.ts';
import { chamberValue, withPrevious } from '../jobs/reduce-readings.ts';
import { median } from '../median.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { ReadingRow, SampleRow } from '../store/rows.ts';
import { judgeHole } from '../survey/hole-verdict.ts';
import { leakOf } from '../survey/quality-samples.ts';
import { classLimits } from './classify-lot.ts';
import { detectorOf } from './instruments.ts';
import { planReadings, reductionsOf } from './readings.ts';
import { supposeSample } from './suppose.ts';
import { buildView } from './view.ts';

const TYPED_ID = 'at-the-hole';
/** Where no interval says how long a sample stays and is counted: 15 min, in which Po-218 has grown in. */
const USUAL_STAY_S = 900;
const USUAL_FIRST_S = 60;

/**
 * @param nowUtc time of the draw where none is given
 * @throws AppError NOT_FOUND for a probe, sample or instrument that is not there; BAD_INPUT for a sample of another probe
 */
export function judgeAtHole(store: ReadableStore, question: HoleQuestion, nowUtc: string): HoleJudgement {
  const probe = store.row('probe', question.probeId);
  if (probe === undefined)
    throw new AppError('NOT_FOUND', `There is no probe "${question.probeId}" in this project.`);
  const rows = suppositionOf(store, question, nowUtc);
  const supposed = supposeSample(store, rows);
  const view = buildView(supposed);
  const sample = view.samples.find((s) => s.id === rows.sample.id);
  const assessment = view.assessments.find((a) => a.sampleId === rows.sample.id);
  if (sample === undefined || assessment === undefined)
    throw new AppError('INTERNAL', `The sample at ${probe.label} was lost on the way`);
  const verdict = judgeHole(sample, assessment);
  const predicted = predict(supposed, view, rows.sample, question.toCome);
  const wait = waitAfter(supposed, view, sample, rows.sample, predicted.prediction, question);
  return {
    probe: probe.label,
    ...verdict,
    dilution: assessment.dilution,
    water: assessment.water,
    flags: assessment.flags,
    ...leakResult(sample, view.settings.thresholds.tracerLeakPct),
    ...predicted,
    ...wait,
  };
}

function suppositionOf(
  store: ReadableStore,
  question: HoleQuestion,
  nowUtc: string,
): { sample: SampleRow; readings: ReadingRow[] } {
  const { probeId, sampleId, counts, facts } = question;
  const stored = sampleId === null ? null : store.row('sample', sampleId);
  if (stored === undefined)
    throw new AppError('NOT_FOUND', `There is no sample "${sampleId}" in this project.`);
  if (stored !== null && stored.probe_id !== probeId)
    throw new AppError('BAD_INPUT', 'This sample was drawn at another probe.', { field: 'sampleId' });
  if (counts !== null && store.row('instrument', counts.instrumentId) === undefined)
    throw new AppError('NOT_FOUND', `There is no instrument "${counts.instrumentId}" in this project.`);
  const base = stored ?? {
    ...EMPTY_SAMPLE,
    id: TYPED_ID,
    probe_id: probeId,
    kind: question.kind,
    taken_utc: nowUtc,
  };
  const sample: SampleRow = {
    ...base,
    ...typedCells(facts),
    ...(counts === null ? {} : { instrument_id: counts.instrumentId }),
    ...(counts?.fillS === undefined ? {} : { fill_s: counts.fillS }),
  };
  const readings = (counts?.intervals ?? []).map(
    (interval, i): ReadingRow => ({
      id: `${TYPED_ID}-${i}`,
      sample_id: sample.id,
      start_s: interval.startS,
      length_s: interval.lengthS,
      counts: interval.counts,
      window: interval.window ?? null,
      live_s: null,
      source_attachment: null,
      source_row: null,
    }),
  );
  return { sample, readings };
}

const EMPTY_SAMPLE: Omit<SampleRow, 'id' | 'probe_id' | 'kind' | 'taken_utc'> = {
  depth_m: null,
  radon_kbq_per_m3: null,
  radon_u_kbq_per_m3: null,
  radon_below_kbq_per_m3: null,
  radon_above_kbq_per_m3: null,
  common_u_rel: null,
  oxygen_pct: null,
  carbon_dioxide_pct: null,
  suction_pa: null,
  pumped_ml: null,
  said_fresh_air: 0,
  said_water: 0,
  remark: null,
  source_attachment: null,
  source_row: null,
  entered_json: null,
  instrument_id: null,
  fill_start_utc: null,
  fill_end_utc: null,
  fill_s: null,
  fill_way: null,
  transit_s: null,
  flush_s: null,
  carry_over: null,
  previous_sample_id: null,
  air_correction: null,
  line_ml: null,
  soil_gas_ml: null,
  residual_share: null,
  tracer_pct: null,
  tracer_shroud_pct: null,
  air_porosity: null,
  flow_ml_per_min: null,
  said_tight: null,
  said_dryer_spent: null,
  leak_test_passed: null,
  ingrowth_s: null,
};

/** Only what was typed: the rest stays as it is. */
function typedCells(facts: HoleFacts): Partial<SampleRow> {
  const flag = (said: boolean | undefined) => (said === undefined ? undefined : said ? 1 : 0);
  const cells = {
    taken_utc: facts.takenUtc,
    depth_m: facts.depthM,
    radon_kbq_per_m3: facts.radonKBqPerM3,
    radon_u_kbq_per_m3: facts.radonUKBqPerM3,
    oxygen_pct: facts.oxygenPct,
    carbon_dioxide_pct: facts.carbonDioxidePct,
    suction_pa: facts.suctionPa,
    flow_ml_per_min: facts.flowMlPerMin,
    pumped_ml: facts.pumpedMl,
    line_ml: facts.systemMl,
    tracer_pct: facts.tracerPct,
    tracer_shroud_pct: facts.tracerShroudPct,
    leak_test_passed: flag(facts.leakTestPassed),
    said_fresh_air: flag(facts.saidFreshAir),
    said_water: flag(facts.saidWater),
    said_tight: flag(facts.saidTight),
  };
  return Object.fromEntries(Object.entries(cells).filter(([, cell]) => cell !== undefined));
}

function leakResult(sample: Sample, tracerLeakPct: number): Pick<HoleJudgement, 'leakPassed' | 'leakWords'> {
  const leakPassed = leakOf(sample, tracerLeakPct);
  const { tracerPct, tracerShroudPct, leakTestPassed } = sample;
  const words = [
    ...(tracerPct === undefined || tracerShroudPct === undefined
      ? []
      : [
          `${((100 * tracerPct) / tracerShroudPct).toFixed(1)} % of the sample came from under the shroud (accepted up to ${tracerLeakPct} %).`,
        ]),
    ...(leakTestPassed === undefined
      ? []
      : [leakTestPassed ? 'The line held its vacuum.' : 'The line did not hold its vacuum.']),
  ];
  return {
    leakPassed,
    leakWords:
      words.length === 0 ? 'No leak check was noted: make one before you leave this hole.' : words.join(' '),
  };
}

function predict(
  store: ReadableStore,
  view: ProjectView,
  row: SampleRow,
  toCome: readonly TypedInterval[],
): Pick<HoleJudgement, 'prediction' | 'predictionProblem'> {
  const plan = planReadings(store);
  const task = plan.tasks.find((t) => t.sampleId === row.id);
  if (task === undefined) return { prediction: null, predictionProblem: plan.problems.get(row.id) ?? null };
  const values = new Map(plan.known);
  for (const [id, result] of reductionsOf(store)) {
    const value = chamberValue(result);
    if (value !== null) values.set(id, value);
  }
  try {
    const { sample } = withPrevious({ ...task, previous: task.previous() }, values);
    const later = plannedIntervals(sample, toCome);
    const verdict = predictFinal(sample, later);
    const chances = classLimits(view).map(({ name, valueKBqPerM3 }) => ({
      name,
      limitKBqPerM3: valueKBqPerM3,
      chance: predictFinal(sample, later, valueKBqPerM3).chanceAbove ?? 0,
    }));
    const prediction: HolePrediction = {
      predictedKBqPerM3: verdict.predictedKBqPerM3,
      uNowKBqPerM3: verdict.uNowKBqPerM3,
      uFinalKBqPerM3: verdict.uFinalKBqPerM3,
      finalRangeKBqPerM3: verdict.finalRangeKBqPerM3,
      chances,
      intervalsCounted: sample.intervals.length,
      intervalsToCome: later.length,
      notes: [...verdict.notes, ...(plan.notes.get(row.id) ?? [])],
    };
    return { prediction, predictionProblem: null };
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    return { prediction: null, predictionProblem: error.message };
  }
}

/** Intervals still to be counted, in every window counted so far where none is named. */
function plannedIntervals(sample: CountedSample, toCome: readonly TypedInterval[]): PlannedInterval[] {
  const windows = [...new Set(sample.intervals.map((i) => i.windowId))];
  return toCome.flatMap(({ startS, lengthS, window }) =>
    (window === undefined ? windows : [window]).map((windowId) => ({
      windowId,
      startS,
      endS: startS + lengthS,
    })),
  );
}

/** How long to wait, once this gas is flushed out, before the next fill. */
function waitAfter(
  store: ReadableStore,
  view: ProjectView,
  sample: Sample,
  row: SampleRow,
  prediction: HolePrediction | null,
  question: HoleQuestion,
): Pick<HoleJudgement, 'wait' | 'waitProblem'> {
  const problem = (waitProblem: string) => ({ wait: null, waitProblem });
  const radon = prediction?.predictedKBqPerM3 ?? sample.radonKBqPerM3;
  if (radon === null || !(radon > 0))
    return problem('Without a value it cannot be said what this gas leaves behind.');
  const instrument = row.instrument_id === null ? undefined : store.row('instrument', row.instrument_id);
  if (instrument === undefined)
    return problem('Name the instrument: what is left depends on what it counts and keeps.');
  const others = view.assessments.flatMap((a) =>
    a.sampleId !== sample.id && a.treatment === 'use' && a.measured.kind === 'value'
      ? [a.measured.estimateKBqPerM3]
      : [],
  );
  const nextKBqPerM3 = question.nextKBqPerM3 ?? (others.length === 0 ? null : median(others));
  if (nextKBqPerM3 === null || !(nextKBqPerM3 > 0))
    return problem('Say what the next hole is expected to hold.');
  const task = planReadings(store).tasks.find((t) => t.sampleId === row.id);
  const spans = [
    ...(task?.sample.intervals ?? []),
    ...question.toCome.map((i) => ({ startS: i.startS, endS: i.startS + i.lengthS })),
  ];
  const firstS = spans.length === 0 ? USUAL_FIRST_S : Math.min(...spans.map((s) => s.startS));
  const endS = spans.length === 0 ? firstS + USUAL_STAY_S : Math.max(...spans.map((s) => s.endS));
  const used = new Set((task?.sample.intervals ?? []).map((i) => i.windowId));
  const seesRadon = detectorOf(instrument).windows.filter(
    (w) =>
      countsOf(
        w,
        RADON_CHAIN,
        RADON_CHAIN.map(() => 1),
      ) > 0,
  );
  const windows = used.size === 0 ? seesRadon : seesRadon.filter((w) => used.has(w.id));
  const sharePct = view.settings.thresholds.carryOverPct;
  if (windows.length === 0 || !(sharePct > 0)) return problem('No window of the instrument counts radon.');
  const waits = windows.map((window) =>
    waitUntilCarryOver(
      {
        window,
        radonKBqPerM3: radon,
        stayedS: endS,
        gasLeft: instrument.gas_left ?? 0,
        progenyLeft: instrument.progeny_left ?? 1,
        expectedKBqPerM3: nextKBqPerM3,
        countAfterS: firstS,
        countForS: endS - firstS,
      },
      sharePct / 100,
    ),
  );
  const isFlush = waits.some((w) => w.kind === 'flush');
  const minutes = isFlush
    ? null
    : Math.ceil(Math.max(...waits.map((w) => (w.kind === 'wait' ? w.seconds : 0))) / 60);
  const gasSharePct = 100 * (waits[0]?.gasShare ?? 0);
  const wait: CarryOverWait = {
    kind: isFlush ? 'flush' : 'wait',
    minutes,
    sharePct,
    gasSharePct,
    nextKBqPerM3,
    words: waitWords(minutes, sharePct, gasSharePct, nextKBqPerM3, instrument.gas_left === null),
  };
  return { wait, waitProblem: null };
}

function waitWords(
  minutes: number | null,
  sharePct: number,
  gasSharePct: number,
  nextKBqPerM3: number,
  isGasUnknown: boolean,
): string {
  const next = `${Number(nextKBqPerM3.toPrecision(3))} kBq/m3`;
  const gas = isGasUnknown
    ? ' The register does not state the share of gas left, so only progeny are reckoned: take a blank.'
    : '';
  if (minutes === null)
    return `Waiting does not help: what is left stays over ${sharePct} % of ${next} for 12 hours, ${gasSharePct.toFixed(1)} % by gas alone. Flush longer, or change tube and dryer, and take a blank.${gas}`;
  if (minutes === 0) return `No wait is needed: what is left is under ${sharePct} % of ${next}.${gas}`;
  return `Flush, then wait ${minutes} min before the next fill: what is left is then under ${sharePct} % of ${next}.${gas}`;
}
