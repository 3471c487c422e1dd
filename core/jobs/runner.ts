/** Runs jobs in worker threads. The calling thread only passes messages, so it stays free for its own. */
import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { AppError, fromWire } from '../errors.ts';
import type { FromWorker, JobTypes, ToWorker } from './job.ts';
import { CONTROL, cancelled } from './job.ts';
import type { JobMap } from './registry.ts';

export interface RunOptions {
  /** Called with a share of the work that never falls, 0 to 1, and what is being done. */
  readonly onProgress?: (done: number, stage: string) => void;
  readonly signal?: AbortSignal;
}

export interface JobRunner<M extends JobTypes<M> = JobMap> {
  /** Most workers at work at once. Results do not depend on it. */
  readonly threads: number;
  /**
   * @throws AppError what the job threw; CANCELLED after `signal` or `close`; INTERNAL where its worker died
   */
  run<N extends keyof M & string>(
    name: N,
    input: M[N]['input'],
    options?: RunOptions,
  ): Promise<M[N]['output']>;
  /** Stops everything; jobs not done are rejected as cancelled. */
  close(): Promise<void>;
}

export interface JobRunnerOptions {
  /** As many as there are cores where absent, at most 8. */
  readonly threads?: number;
  /** Entry of the worker threads: a module that calls `serveJobs`. */
  readonly workerUrl?: URL;
  /** How long a stopped job may take to notice before its workers are ended; 250 where absent. */
  readonly graceMs?: number;
}

interface Task {
  readonly id: number;
  readonly name: string;
  readonly control: Int32Array;
  /** What the next worker to join is sent. */
  next: ToWorker;
  /** How many more workers may join. */
  seats: number;
  readonly seated: Set<Slot>;
  done: number;
  /** Set once the job can only fail; it does when its last worker has left. */
  failure: AppError | null;
  settled: boolean;
  graceTimer: NodeJS.Timeout | null;
  readonly onProgress: RunOptions['onProgress'] | undefined;
  readonly resolve: (output: unknown) => void;
  readonly reject: (error: AppError) => void;
  readonly forget: () => void;
}

interface Slot {
  readonly worker: Worker;
  task: Task | null;
  lastWords: string | null;
}

/** The worker's file: beside this one from source, beside or above the bundle this is part of when built. */
export function findWorkerUrl(): URL {
  const here = import.meta.url;
  const name = here.endsWith('.ts') ? 'worker.ts' : 'worker.js';
  const candidates = [new URL(name, here), new URL(`../${name}`, here)];
  return candidates.find((url) => existsSync(url)) ?? (candidates[0] as URL);
}

/** Workers start when first needed, are used again, and keep the process alive only while they work. */
export function createJobRunner<M extends JobTypes<M> = JobMap>(
  options: JobRunnerOptions = {},
): JobRunner<M> {
  const threads = options.threads ?? Math.max(1, Math.min(8, availableParallelism()));
  const workerUrl = options.workerUrl ?? findWorkerUrl();
  const graceMs = options.graceMs ?? 250;
  const slots = new Set<Slot>();
  const queue: Task[] = [];
  let lastId = 0;
  let closed = false;

  function startWorker(): Slot {
    // The library that reads TIFF looks into the data of its thread, and would fall over where there is none.
    const worker = new Worker(workerUrl, { name: 'gasplat job', execArgv: [], workerData: {} });
    worker.unref();
    const slot: Slot = { worker, task: null, lastWords: null };
    slots.add(slot);
    worker.on('message', (message: FromWorker) => receive(slot, message));
    worker.on('error', (error: unknown) => {
      slot.lastWords = error instanceof Error ? error.message : String(error);
    });
    worker.on('messageerror', (error: Error) => {
      slot.lastWords = error.message;
      void worker.terminate();
    });
    worker.on('exit', (code) => bury(slot, code));
    return slot;
  }

  function bury(slot: Slot, code: number): void {
    slots.delete(slot);
    const { task } = slot;
    slot.task = null;
    if (task !== null) {
      task.seated.delete(slot);
      const why = slot.lastWords ?? `exit code ${code}`;
      fail(
        task,
        new AppError('INTERNAL', `A computing thread died during "${task.name}": ${why}`, { job: task.name }),
      );
    }
    assign();
  }

  function assign(): void {
    for (;;) {
      const task = queue.find((t) => t.seats > 0);
      if (task === undefined || closed) return;
      const idle = [...slots].find((s) => s.task === null);
      if (idle === undefined && slots.size >= threads) return;
      seat(idle ?? startWorker(), task);
    }
  }

  function seat(slot: Slot, task: Task): void {
    task.seats--;
    try {
      slot.worker.postMessage(task.next);
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      fail(task, new AppError('INTERNAL', `The input of "${task.name}" cannot cross to a thread: ${reason}`));
      return;
    }
    slot.task = task;
    task.seated.add(slot);
    slot.worker.ref();
  }

  function receive(slot: Slot, message: FromWorker): void {
    const { task } = slot;
    if (task === null || task.id !== message.jobId) return;
    if (message.kind === 'progress') {
      showProgress(task, message.done, message.stage);
      return;
    }
    slot.task = null;
    // While closing, the process lives on until its workers have ended, whatever they still say.
    if (!closed) slot.worker.unref();
    task.seated.delete(slot);
    if (message.kind === 'output') complete(task, message.output);
    else if (message.kind === 'failed') fail(task, fromWire(message.error));
    else if (message.kind === 'prepared' && task.failure === null) {
      task.next = {
        kind: 'tiles',
        jobId: task.id,
        name: task.name,
        shared: message.shared,
        control: task.control,
      };
      task.seats = threads;
    } else {
      // No tile is left to claim: who comes now would only open the job and leave.
      task.seats = 0;
      rejectIfEmpty(task);
    }
    assign();
  }

  function showProgress(task: Task, done: number, stage: string): void {
    if (task.settled || task.failure !== null) return;
    task.done = Math.max(task.done, Math.min(1, done));
    task.onProgress?.(task.done, stage);
  }

  function complete(task: Task, output: unknown): void {
    if (task.failure !== null) {
      rejectIfEmpty(task);
      return;
    }
    settle(task);
    // Others may still be opening the job; let them off.
    Atomics.store(task.control, CONTROL.stop, 1);
    task.resolve(output);
  }

  function fail(task: Task, error: AppError): void {
    if (task.settled) return;
    if (task.failure === null) {
      task.failure = error;
      task.seats = 0;
      Atomics.store(task.control, CONTROL.stop, 1);
      task.graceTimer = setTimeout(() => {
        for (const slot of task.seated) void slot.worker.terminate();
      }, graceMs);
    }
    rejectIfEmpty(task);
  }

  function rejectIfEmpty(task: Task): void {
    if (task.settled || task.failure === null || task.seated.size > 0) return;
    settle(task);
    task.reject(task.failure);
  }

  function settle(task: Task): void {
    task.settled = true;
    task.seats = 0;
    if (task.graceTimer !== null) clearTimeout(task.graceTimer);
    task.forget();
    queue.splice(queue.indexOf(task), 1);
  }

  function run(name: string, input: unknown, { onProgress, signal }: RunOptions = {}): Promise<unknown> {
    return new Promise((resolve, reject) => {
      if (closed || signal?.aborted === true) {
        reject(cancelled());
        return;
      }
      const id = ++lastId;
      const control = new Int32Array(new SharedArrayBuffer(CONTROL.length * Int32Array.BYTES_PER_ELEMENT));
      const abort = () => fail(task, cancelled());
      const task: Task = {
        id,
        name,
        control,
        next: { kind: 'begin', jobId: id, name, input, control },
        seats: 1,
        seated: new Set(),
        done: 0,
        failure: null,
        settled: false,
        graceTimer: null,
        onProgress,
        resolve,
        reject,
        forget: () => signal?.removeEventListener('abort', abort),
      };
      signal?.addEventListener('abort', abort, { once: true });
      queue.push(task);
      assign();
    });
  }

  return {
    threads,
    run: run as JobRunner<M>['run'],
    async close() {
      closed = true;
      const workers = [...slots].map((slot) => slot.worker);
      for (const task of [...queue]) fail(task, cancelled());
      await Promise.all(workers.map((worker) => worker.terminate()));
    },
  };
}
