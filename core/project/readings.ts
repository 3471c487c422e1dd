/** From the rows of a project to reduced samples: what each is reduced from, and the results kept for it. */
import { createHash } from 'node:crypto';
import { deserialize, serialize } from 'node:v8';
import type { BackgroundCount, Detector } from '../counting/detector.ts';
import { windowById } from '../counting/detector.ts';
import type { Emptying, Fill } from '../counting/history.ts';
import type { CountedInterval } from '../counting/reduce-counts.ts';
import type { ReducedSample } from '../counting/reduced-sample.ts';
import type {
  CarriedFrom,
  ChamberValue,
  CountedReduction,
  CountedTask,
  ReduceReadingsInput,
} from '../jobs/reduce-readings.ts';
import { chamberValue, reduceInOrder } from '../jobs/reduce-readings.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ReadableStore } from '../store/open-project.ts';
import { ProjectStore } from '../store/project-store.ts';
import type { BackgroundRow, InstrumentRow, ReadingRow, SampleRow } from '../store/rows.ts';
import { ASSUMED_RELATIVE_U } from '../survey/thresholds.ts';
import type { RequestContext } from './engine.ts';
import { fillOf } from './fill-of.ts';
import { detectorOf, findWindow } from './instruments.ts';
import { averagesOf } from './interval-values.ts';

/** Raised whenever the same counts would give other numbers. */
const ALGORITHM_VERSION = 1;
/** Earlier samples than the one before are taken off as long as progeny of theirs matter: 13 half-lives of Pb-214. */
const PROGENY_GONE_S = 6 * 3600;
/** After so long a chamber has been opened and aired (own assumption). */
const CARRY_OVER_REACH_S = 24 * 3600;
/** So many samples on, the doubt about the gas a sample left no longer matters. */
const GAS_STAYS_FOR = 2;
/** Up to so many samples are reduced at once, about 1 ms each; more go to a worker. */
const FEW = 40;
const KIND = 'readings';
const KEPT_AT = 'readings';

export interface PlannedTask extends Omit<CountedTask, 'previous'> {
  /** Worked out only for what has to be reduced. */
  readonly previous: () => CarriedFrom[];
}

export interface ReadingsPlan {
  /** In an order in which every sample stands after those it is taken off from. */
  readonly tasks: readonly PlannedTask[];
  readonly known: ReadonlyMap<string, ChamberValue>;
  /** What stood in the way of a task, by sample: an instrument that is missing, a window that it does not have. */
  readonly problems: ReadonlyMap<string, string>;
  /** Said beside the result, by sample. */
  readonly notes: ReadonlyMap<string, readonly string[]>;
}

interface Held {
  readonly row: SampleRow;
  readonly instrument: InstrumentRow;
  readonly detector: Detector;
  readonly endMs: number | null;
  readonly fill: Fill;
  readonly readings: readonly ReadingRow[];
}

/** Which sample was in the same instrument before another. */
interface Links {
  readonly byTime: ReadonlyMap<Held, Held | null>;
  readonly byId: ReadonlyMap<string, Held>;
}

/** Plans by store and revision: readings change only through the record. */
const plans = new WeakMap<ReadableStore, { readonly revision: number; readonly plan: ReadingsPlan }>();

export function planReadings(store: ReadableStore): ReadingsPlan {
  const kept = plans.get(store);
  if (kept?.revision === store.revision) return kept.plan;
  const plan = makePlan(store);
  plans.set(store, { revision: store.revision, plan });
  return plan;
}

function makePlan(store: ReadableStore): ReadingsPlan {
  const readings = groupBy(store.rows('reading'), (r) => r.sample_id);
  const instruments = new Map(store.rows('instrument').map((i) => [i.id, i]));
  const backgrounds = groupBy(store.rows('background'), (b) => b.instrument_id);
  const detectors = new Map([...instruments.values()].map((i) => [i.id, detectorOf(i)]));
  const averages = averagesOf(store);
  const problems = new Map<string, string>();
  const notes = new Map<string, string[]>();
  const known = new Map<string, ChamberValue>();
  const held: Held[] = [];
  for (const row of store.rows('sample')) {
    const own = readings.get(row.id) ?? [];
    const instrument = instruments.get(row.instrument_id ?? '');
    const detector = detectors.get(row.instrument_id ?? '');
    if (instrument === undefined || detector === undefined) {
      if (own.length > 0)
        problems.set(row.id, 'Its counts belong to no instrument of the register: name the instrument.');
      continue;
    }
    const entered = averagedValue(averages.get(row.id)?.averaged ?? null) ?? enteredValue(row);
    if (own.length === 0 && entered !== null) known.set(row.id, entered);
    const { note, ...filled } = fillOf(row, instrument);
    if (note !== null && own.length > 0) notes.set(row.id, [note]);
    held.push({ row, instrument, detector, ...filled, readings: own });
  }
  const byTime = held.toSorted((a, b) => (a.endMs ?? 0) - (b.endMs ?? 0) || (a.row.id < b.row.id ? -1 : 1));
  const chains = groupBy(
    byTime.filter((h) => h.endMs !== null),
    (h) => h.instrument.id,
  );
  const links: Links = {
    byTime: new Map([...chains.values()].flatMap((c) => c.map((h, i) => [h, c[i - 1] ?? null] as const))),
    byId: new Map(held.map((h) => [h.row.id, h])),
  };
  const keys = new Map<string, string>();
  const tasks: PlannedTask[] = [];
  for (const h of byTime) {
    const say = (note: string) => notes.set(h.row.id, [...(notes.get(h.row.id) ?? []), note]);
    const sample = h.readings.length === 0 ? null : sampleOf(h, backgrounds.get(h.instrument.id) ?? [], say);
    if (typeof sample === 'string') problems.set(h.row.id, sample);
    const before = sample === null ? [] : listBefore(h, links, say);
    const { gas_left, gas_left_u, progeny_left } = h.instrument;
    const key = hashOf([
      ALGORITHM_VERSION,
      h.row.id,
      sample ?? [h.fill, known.get(h.row.id) ?? null],
      h.row.flush_s,
      [gas_left, gas_left_u, progeny_left],
      before.map((b) => [(h.endMs ?? 0) - (b.endMs ?? 0), keys.get(b.row.id) ?? null]),
    ]);
    keys.set(h.row.id, key);
    if (sample === null || typeof sample === 'string') continue;
    const previous = () => before.map((b, i) => carriedFrom(h, b, [...before.slice(0, i).toReversed(), h]));
    tasks.push({ sampleId: h.row.id, key, sample, previous });
  }
  return { tasks, known, problems, notes };
}

function groupBy<T>(items: readonly T[], keyOf: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const group = groups.get(keyOf(item));
    if (group === undefined) groups.set(keyOf(item), [item]);
    else group.push(item);
  }
  return groups;
}

function hashOf(input: unknown): string {
  return createHash('sha256').update(JSON.stringify(input)).digest('hex');
}

/** The mean of an instrument's own values, as far as it matters to the next sample. */
function averagedValue(averaged: ReducedSample | null): ChamberValue | null {
  if (averaged === null) return null;
  return {
    radonKBqPerM3: Math.max(0, averaged.estimateKBqPerM3),
    uKBqPerM3: averaged.randomUKBqPerM3,
  };
}

/** A value that came with the sample, as far as it matters to the next one. */
function enteredValue(row: SampleRow): ChamberValue | null {
  if (row.radon_kbq_per_m3 === null) return null;
  const radonKBqPerM3 = Math.max(0, row.radon_kbq_per_m3);
  return { radonKBqPerM3, uKBqPerM3: row.radon_u_kbq_per_m3 ?? ASSUMED_RELATIVE_U * radonKBqPerM3 };
}

function sampleOf(
  h: Held,
  backgrounds: readonly BackgroundRow[],
  say: (note: string) => void,
): CountedTask['sample'] | string {
  const intervals: CountedInterval[] = [];
  const byStart = h.readings.toSorted((a, b) => a.start_s - b.start_s || (a.id < b.id ? -1 : 1));
  for (const r of byStart) {
    const windowId = findWindow(h.instrument, r.window);
    if (windowId === null)
      return `Counts of window '${r.window ?? 'not named'}' cannot be reduced: ${h.instrument.label} has ${h.detector.windows.map((w) => w.id).join(', ')}.`;
    const live = r.live_s === null ? {} : { liveS: r.live_s };
    intervals.push({ windowId, startS: r.start_s, endS: r.start_s + r.length_s, ...live, counts: r.counts });
  }
  const used = [...new Set(intervals.map((i) => i.windowId))];
  const background = used.flatMap((id) => nearestBackground(backgrounds, id, h.endMs) ?? []);
  if (h.instrument.common_u_rel === null)
    say(
      `The calibration's uncertainty is not stated: ${100 * h.detector.calibrationURel} % assumed, common to all samples of ${h.instrument.label}.`,
    );
  // A window that sees thoron and not radon parts the two; without one thoron is taken for nought.
  const hasThoronWindow = used.some((id) => {
    const seen = windowById(h.detector, id).countsPerAlpha;
    return (seen['Po-216'] ?? 0) > 0 && (seen['Rn-222'] ?? 0) === 0 && (seen['Po-218'] ?? 0) === 0;
  });
  return {
    detector: h.detector,
    fill: h.fill,
    intervals,
    background,
    thoron: hasThoronWindow && used.length > 1 ? 'fit' : 'none',
  };
}

/** The background nearest in time; without times the one entered last. */
function nearestBackground(
  rows: readonly BackgroundRow[],
  windowId: string,
  atMs: number | null,
): BackgroundCount | null {
  const own = rows.filter((b) => b.window === windowId);
  const away = (b: BackgroundRow) =>
    b.taken_utc === null || atMs === null
      ? Number.POSITIVE_INFINITY
      : Math.abs(Date.parse(b.taken_utc) - atMs);
  const nearest = own.reduce<BackgroundRow | null>(
    (best, b) => (best === null || away(b) <= away(best) ? b : best),
    null,
  );
  return nearest === null ? null : { windowId, counts: nearest.counts, liveS: nearest.live_s };
}

/** Samples whose remains can still be in the chamber, nearest first. */
function listBefore(h: Held, links: Links, say: (note: string) => void): Held[] {
  if (h.endMs === null) {
    if (h.row.carry_over !== 'none')
      say('Without a time of filling nothing of earlier samples can be taken off.');
    return [];
  }
  const found: Held[] = [];
  for (let next = h; ; ) {
    const earlier = oneBefore(next, links);
    if (earlier === 'not earlier' || earlier === 'same time') {
      if (next === h) say(WRONG_BEFORE[earlier]);
      break;
    }
    if (earlier === null) break;
    const awayS = (h.endMs - (earlier.endMs ?? 0)) / 1000;
    if (awayS > (next === h ? CARRY_OVER_REACH_S : PROGENY_GONE_S)) break;
    found.push(earlier);
    next = earlier;
  }
  return found;
}

const WRONG_BEFORE = {
  'not earlier':
    'The sample named as the one before it has no earlier fill on this instrument: nothing is taken off for it.',
  'same time': 'Another sample was filled into the same instrument at the same time: check the times.',
} as const;

/** Named, or by time; null for the first one and for a chamber known to be clean. */
function oneBefore(h: Held, links: Links): Held | null | keyof typeof WRONG_BEFORE {
  const { carry_over: choice, previous_sample_id: named } = h.row;
  if (choice === 'none') return null;
  const earlier = choice === 'named' ? links.byId.get(named ?? '') : links.byTime.get(h);
  if (choice !== 'named') return earlier == null ? null : earlier.endMs === h.endMs ? 'same time' : earlier;
  const isEarlier =
    earlier != null &&
    earlier.instrument === h.instrument &&
    (earlier.endMs ?? Number.POSITIVE_INFINITY) < (h.endMs ?? 0);
  return isEarlier ? earlier : 'not earlier';
}

/** @param since the samples that came into the chamber after `earlier`, the first of them first, `h` the last */
function carriedFrom(h: Held, earlier: Held, since: readonly Held[]): CarriedFrom {
  const onOwnClock = (other: Held) => ((other.endMs ?? 0) - (h.endMs ?? 0)) / 1000;
  const shiftS = onOwnClock(earlier);
  const fill = { ...earlier.fill, startS: earlier.fill.startS + shiftS, endS: shiftS };
  const gasLeft = h.instrument.gas_left ?? 0;
  const stages = since.map((next, i): Emptying => {
    const inChamber = since[i - 1] ?? earlier;
    const filledS = onOwnClock(inChamber);
    const lastCountS = filledS + Math.max(0, ...inChamber.readings.map((r) => r.start_s + r.length_s));
    const endS = Math.max(filledS, onOwnClock(next) + next.fill.startS);
    const flushedAtS = next.row.flush_s === null ? lastCountS : endS - next.row.flush_s;
    return {
      startS: Math.min(endS, Math.max(filledS, flushedAtS)),
      endS,
      gasLeft,
      progenyLeft: h.instrument.progeny_left ?? 1,
    };
  });
  return {
    sampleId: earlier.row.id,
    fill,
    emptying: stages.reduceRight((then, stage) => ({ ...stage, then })),
    gasLeft: gasLeft ** since.length,
    gasLeftU: since.length > GAS_STAYS_FOR ? 0 : (h.instrument.gas_left_u ?? 0),
  };
}

/** Results by key, as long as the store is open; filled from the project file once. */
const memory = new WeakMap<ReadableStore, Map<string, CountedReduction>>();

function keptResults(store: ReadableStore): Map<string, CountedReduction> {
  const held = memory.get(store);
  if (held !== undefined) return held;
  const bytes = store.derivedGet(KEPT_AT);
  const kept =
    bytes === undefined ? [] : (deserialize(bytes) as readonly (readonly [string, CountedReduction])[]);
  const results = new Map(kept);
  memory.set(store, results);
  return results;
}

/** Tasks without a kept result, with the values that they need of others. */
function openTasks(plan: ReadingsPlan, kept: ReadonlyMap<string, CountedReduction>): ReduceReadingsInput {
  const known = new Map(plan.known);
  const tasks: CountedTask[] = [];
  for (const task of plan.tasks) {
    const result = kept.get(task.key);
    if (result === undefined) {
      tasks.push({ ...task, previous: task.previous() });
      continue;
    }
    const value = chamberValue(result);
    if (value !== null) known.set(task.sampleId, value);
  }
  return { tasks, known };
}

/**
 * Reduces in a worker what has no kept result yet, and keeps it in the project, so that `reductionsOf` then finds all
 * of it.
 * @throws AppError CANCELLED
 */
export async function ensureReductions(
  store: ReadableStore,
  jobs: JobRunner,
  context: RequestContext,
): Promise<void> {
  const plan = planReadings(store);
  const kept = keptResults(store);
  const open = openTasks(plan, kept);
  if (open.tasks.length === 0) return;
  const results =
    open.tasks.length <= FEW ? reduceInOrder(open) : await jobs.run('reduce-readings', open, context);
  for (const result of results) kept.set(result.key, result);
  if (store instanceof ProjectStore) store.derivedPut(KEPT_AT, KIND, serialize(worthKeeping(plan, kept)));
}

/** What is in use, and as much again of what was lately: an undo finds its results. */
function worthKeeping(
  plan: ReadingsPlan,
  kept: ReadonlyMap<string, CountedReduction>,
): [string, CountedReduction][] {
  const used = new Set(plan.tasks.map((t) => t.key));
  const spare = [...kept].filter(([key]) => !used.has(key)).slice(-used.size);
  return [...spare, ...[...kept].filter(([key]) => used.has(key))];
}

/** Result of every sample that carries counts, by its id; what no job has reduced before is reduced here and now. */
export function reductionsOf(store: ReadableStore): ReadonlyMap<string, CountedReduction> {
  const plan = planReadings(store);
  if (plan.tasks.length === 0) return new Map();
  const kept = keptResults(store);
  for (const result of reduceInOrder(openTasks(plan, kept))) kept.set(result.key, result);
  return new Map(
    plan.tasks.flatMap((task) => {
      const result = kept.get(task.key);
      return result === undefined ? [] : [[task.sampleId, result] as const];
    }),
  );
}
