/** The worker's side: takes one message at a time from the runner, does the work, says how it went. */
import { parentPort } from 'node:worker_threads';
import { AppError, toWire } from '../errors.ts';
import type { FromWorker, Job, JobContext, JobSet, JobTypes, TiledJob, ToWorker } from './job.ts';
import { CONTROL } from './job.ts';

/** Often enough for a smooth bar, seldom enough to cost nothing. */
const PROGRESS_EVERY_MS = 40;
/** Part of a tiled job's bar that its preparation fills. */
const PREPARE_SHARE = 0.1;

/** Serves `jobs` on this worker thread for as long as the runner keeps it. */
export function serveJobs<M extends JobTypes<M>>(jobs: JobSet<M>): void {
  const port = parentPort;
  if (port === null) throw new AppError('INTERNAL', 'Jobs are served in a worker thread only');
  const say = (message: FromWorker): void => port.postMessage(message, movable(message));
  port.on('message', (message: ToWorker) => {
    void work(jobs as Record<string, Job<unknown, unknown>>, message, say).catch((error: unknown) =>
      say({ kind: 'failed', jobId: message.jobId, error: toWire(error) }),
    );
  });
}

async function work(
  jobs: Readonly<Record<string, Job<unknown, unknown>>>,
  message: ToWorker,
  say: (message: FromWorker) => void,
): Promise<void> {
  const { jobId, name } = message;
  const job = Object.hasOwn(jobs, name) ? jobs[name] : undefined;
  if (job === undefined) throw new AppError('INTERNAL', `There is no job "${name}"`);
  if (message.kind === 'begin') {
    const scale = job.form === 'single' ? 1 : PREPARE_SHARE;
    const context = createContext(message, say, (done) => done * scale);
    if (job.form === 'single') say({ kind: 'output', jobId, output: await job.run(message.input, context) });
    else say({ kind: 'prepared', jobId, shared: await job.prepare(message.input, context) });
  } else if (job.form === 'tiled') {
    runTiles(job, message, say);
  }
}

function runTiles(
  job: TiledJob<unknown, unknown, unknown>,
  message: ToWorker & { kind: 'tiles' },
  say: (message: FromWorker) => void,
): void {
  const { jobId, shared, control } = message;
  const context = createContext(message, say, (done) => PREPARE_SHARE + done * (1 - PREPARE_SHARE));
  const tiles = job.open(shared, context);
  while (!context.stopped()) {
    const index = Atomics.add(control, CONTROL.nextTile, 1);
    if (index >= tiles.count) break;
    tiles.run(index);
    const done = Atomics.add(control, CONTROL.tilesDone, 1) + 1;
    context.progress(done / tiles.count, tiles.stage);
  }
  const complete = !context.stopped() && Atomics.load(control, CONTROL.tilesDone) === tiles.count;
  // Several may see the last tile done; the one that turns the flag finishes.
  if (complete && Atomics.compareExchange(control, CONTROL.finishing, 0, 1) === 0) {
    say({ kind: 'output', jobId, output: job.finish(shared) });
  } else {
    say({ kind: 'left', jobId });
  }
}

function createContext(
  { jobId, control }: ToWorker,
  say: (message: FromWorker) => void,
  place: (done: number) => number,
): JobContext {
  let saidAt = Number.NEGATIVE_INFINITY;
  return {
    stopped: () => Atomics.load(control, CONTROL.stop) !== 0,
    progress(done, stage) {
      const now = performance.now();
      if (now - saidAt < PROGRESS_EVERY_MS) return;
      saidAt = now;
      say({ kind: 'progress', jobId, done: place(done), stage });
    },
  };
}

/** Buffers of an output's own arrays, which move to the other thread instead of being copied. */
function movable(message: FromWorker): ArrayBuffer[] {
  if (message.kind !== 'output' || typeof message.output !== 'object' || message.output === null) return [];
  const buffers = new Set<ArrayBuffer>();
  for (const value of Object.values(message.output)) {
    if (value instanceof Float64Array && value.buffer instanceof ArrayBuffer) buffers.add(value.buffer);
  }
  return [...buffers];
}
