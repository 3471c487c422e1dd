import { planCounting } from '../counting/counting-plan.ts';
import type { Emptying, Fill } from '../counting/history.ts';
import type { CountedSample } from '../counting/reduce-counts.ts';
import { reducePlanned } from '../counting/reduce-counts.ts';
import type { ReducedSample } from '../counting/reduced-sample.ts';
import { AppError } from '../errors.ts';
import type { JobContext, SingleJob } from './job.ts';
import { throwIfStopped } from './job.ts';

/** What was in the chamber as gas of the ground, kBq/m3, with its random standard uncertainty. */
export interface ChamberValue {
  readonly radonKBqPerM3: number;
  readonly uKBqPerM3: number;
}

/** An earlier sample on the clock of the one it is taken off from. */
export interface CarriedFrom {
  readonly sampleId: string;
  readonly fill: Fill;
  readonly emptying: Emptying;
  /** Of its gas, once the sample it is taken off from is in. */
  readonly gasLeft: number;
  /** Of the share that the first emptying left. */
  readonly gasLeftU: number;
}

export interface CountedTask {
  readonly sampleId: string;
  /** Hash of all the result comes from. */
  readonly key: string;
  readonly sample: Omit<CountedSample, 'previous'>;
  /** Nearest first. */
  readonly previous: readonly CarriedFrom[];
}

export interface ReduceReadingsInput {
  /** Earlier samples before those they are taken off from. */
  readonly tasks: readonly CountedTask[];
  /** Values of samples that are not among the tasks. */
  readonly known: ReadonlyMap<string, ChamberValue>;
}

export interface CountedReduction {
  readonly sampleId: string;
  readonly key: string;
  /** null where the counts could not be reduced: `problem` says why. */
  readonly reduced: ReducedSample | null;
  readonly problem: string | null;
  readonly carried: readonly (ChamberValue & {
    readonly sampleId: string;
    readonly gasLeft: number;
    readonly counts: number;
  })[];
  /** Earlier samples without a value, so that nothing could be taken off for them. */
  readonly unknownBefore: readonly string[];
}

/** Counts of many samples, each with what is left of the samples before it. */
export const reduceReadings: SingleJob<ReduceReadingsInput, readonly CountedReduction[]> = {
  form: 'single',
  run: (input, context) => reduceInOrder(input, context),
};

/** @throws AppError CANCELLED */
export function reduceInOrder(input: ReduceReadingsInput, context?: JobContext): CountedReduction[] {
  const values = new Map(input.known);
  return input.tasks.map((task, i) => {
    if (context !== undefined) {
      throwIfStopped(context);
      context.progress(i / input.tasks.length, 'reducing counts');
    }
    const result = reduceTask(task, values);
    const value = chamberValue(result);
    if (value !== null) values.set(task.sampleId, value);
    return result;
  });
}

/** What a sample leaves to the next: before any correction for other air, and not under zero. */
export function chamberValue({ reduced }: CountedReduction): ChamberValue | null {
  if (reduced === null) return null;
  return {
    radonKBqPerM3: Math.max(0, reduced.estimateKBqPerM3),
    uKBqPerM3: reduced.randomUKBqPerM3,
  };
}

/** The sample as the fit takes it, with the earlier ones whose value is known. */
export function withPrevious(
  task: CountedTask,
  values: ReadonlyMap<string, ChamberValue>,
): { sample: CountedSample; used: CarriedFrom[] } {
  const used = task.previous.filter((p) => values.has(p.sampleId));
  const previous = used.flatMap(({ sampleId, fill, emptying, gasLeftU }) => {
    const value = values.get(sampleId);
    return value === undefined ? [] : [{ fill, emptying, gasLeftU, ...value }];
  });
  return { sample: { ...task.sample, previous }, used };
}

function reduceTask(task: CountedTask, values: ReadonlyMap<string, ChamberValue>): CountedReduction {
  const unknownBefore = task.previous.filter((p) => !values.has(p.sampleId)).map((p) => p.sampleId);
  const head = { sampleId: task.sampleId, key: task.key, unknownBefore };
  const { sample, used } = withPrevious(task, values);
  try {
    const plan = planCounting(sample);
    const reduced = reducePlanned(
      plan,
      sample.intervals.map((i) => i.counts),
    );
    const carried = used.map((p, i) => ({
      sampleId: p.sampleId,
      radonKBqPerM3: sample.previous[i]?.radonKBqPerM3 ?? 0,
      uKBqPerM3: sample.previous[i]?.uKBqPerM3 ?? 0,
      gasLeft: p.gasLeft,
      counts: countsCarried(sample, i),
    }));
    return { ...head, reduced, problem: null, carried };
  } catch (error) {
    // One sample that cannot be reduced must not take the others with it: its problem is told as a finding.
    if (!(error instanceof AppError)) throw error;
    return { ...head, reduced: null, problem: error.message, carried: [] };
  }
}

/** Counts in all intervals that one earlier sample alone brought. */
function countsCarried(sample: CountedSample, index: number): number {
  const { offset } = planCounting({ ...sample, previous: sample.previous.slice(index, index + 1) }).model;
  return offset.reduce((sum, n) => sum + n, 0);
}
