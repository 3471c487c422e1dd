/**
 * What a job is, on both sides of the thread border. A job runs in worker threads, never on the thread that
 * serves messages; what is large crosses as views on shared memory.
 */
import type { WireError } from '../errors.ts';
import { AppError } from '../errors.ts';

/** Input and output of each job by name. */
export type JobTypes<M> = { readonly [N in keyof M]: { readonly input: unknown; readonly output: unknown } };

export interface JobContext {
  /** True once nobody wants the result any more. Asked between tiles and in every loop longer than about 50 ms. */
  stopped(): boolean;
  /** @param done part of the work behind us, 0 to 1; a value below an earlier one is shown as the earlier one */
  progress(done: number, stage: string): void;
}

/** Runs in one worker. */
export interface SingleJob<I, O> {
  readonly form: 'single';
  run(input: I, context: JobContext): O | Promise<O>;
}

/** Work cut into pieces that do not depend on each other nor on who does them. */
export interface Tiles {
  readonly count: number;
  readonly stage: string;
  /** Writes the results of tile `index` to shared memory, to places no other tile writes to. */
  run(index: number): void;
}

/**
 * Runs in all workers. `prepare` runs in one and returns what all need, large arrays in shared memory; each
 * worker then opens it and claims tiles until none is left; who completes the last tile runs `finish`.
 */
export interface TiledJob<I, S, O> {
  readonly form: 'tiled';
  prepare(input: I, context: JobContext): S | Promise<S>;
  open(shared: S, context: JobContext): Tiles;
  finish(shared: S): O;
}

export type Job<I, O> = SingleJob<I, O> | TiledJob<I, unknown, O>;

export type JobSet<M extends JobTypes<M>> = {
  readonly [N in keyof M]: Job<M[N]['input'], M[N]['output']>;
};

/** @throws AppError CANCELLED once the job is no longer wanted */
export function throwIfStopped(context: JobContext): void {
  if (context.stopped()) throw cancelled();
}

export function cancelled(): AppError {
  return new AppError('CANCELLED', 'The computation was stopped before it was done.');
}

/** Places in a job's control block, an Int32Array on shared memory. */
export const CONTROL = { stop: 0, nextTile: 1, tilesDone: 2, finishing: 3, length: 4 } as const;

export type ToWorker =
  | {
      readonly kind: 'begin';
      readonly jobId: number;
      readonly name: string;
      readonly input: unknown;
      readonly control: Int32Array;
    }
  | {
      readonly kind: 'tiles';
      readonly jobId: number;
      readonly name: string;
      readonly shared: unknown;
      readonly control: Int32Array;
    };

/** All but `progress` end the worker's part in the job. */
export type FromWorker =
  | { readonly kind: 'progress'; readonly jobId: number; readonly done: number; readonly stage: string }
  | { readonly kind: 'prepared'; readonly jobId: number; readonly shared: unknown }
  | { readonly kind: 'output'; readonly jobId: number; readonly output: unknown }
  | { readonly kind: 'left'; readonly jobId: number }
  | { readonly kind: 'failed'; readonly jobId: number; readonly error: WireError };
