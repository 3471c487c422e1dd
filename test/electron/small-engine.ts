/**
 * An engine without a store, for testing what lies between window and engine. It answers a few requests in ways
 * a test can tell apart; the transport under it and the job runner in it are the real ones.
 */
import type { ReplyEnvelope, RequestEnvelope } from '../../core/contract/envelope.ts';
import { requestEnvelopeSchema } from '../../core/contract/envelope.ts';
import { AppError, toWire } from '../../core/errors.ts';
import { createJobRunner } from '../../core/jobs/runner.ts';
import { serveEngine } from '../../electron/engine-port.ts';

const SIDE = 150;

/** Made up: enough points and cells for a job of some hundred milliseconds. */
function makeSurfaceInput() {
  const xy = Float64Array.from({ length: 400 }, (_, i) => 100 * Math.abs(Math.sin(i * 12.9898)));
  const values = Float64Array.from({ length: 200 }, (_, i) => 30 + 10 * Math.sin(i));
  const cellsXy = Float64Array.from({ length: 2 * SIDE * SIDE }, (_, i) =>
    i % 2 === 0 ? (i / 2) % SIDE : Math.floor(i / 2 / SIDE),
  );
  return {
    points: { xy, values },
    cellsXy,
    surface: {
      method: 'kriging' as const,
      members: [
        {
          model: { nugget: 1, structures: [{ kind: 'spherical' as const, partialSill: 50, rangeM: 40 }] },
          transform: 'none' as const,
          weight: 1,
        },
      ],
      options: {},
    },
  };
}

serveEngine(({ host, emit }) => {
  const jobs = createJobRunner();
  const started = new Map<number, AbortController>();

  async function answer({ id, name, input }: RequestEnvelope): Promise<unknown> {
    switch (name) {
      case 'engine.info':
        return { host, node: process.versions.node, version: '0', threads: jobs.threads, pid: process.pid };
      case 'crs.search':
        return { choices: [], echo: (input as { text: string }).text };
      case 'surface.compute': {
        const abort = new AbortController();
        started.set(id, abort);
        return jobs
          .run('surface-tiles', makeSurfaceInput(), {
            signal: abort.signal,
            onProgress: (done, stage) => emit({ kind: 'progress', requestId: id, done, stage }),
          })
          .finally(() => started.delete(id));
      }
      case 'project.view':
        return { jobsRunning: started.size };
      case 'project.demo':
        return null;
      case 'job.cancel':
        started.get((input as { requestId: number }).requestId)?.abort();
        return null;
      case 'project.describe':
        emit({ kind: 'changed', revision: 5 });
        return null;
      case 'record.list':
        return new Promise(() => {});
      case 'record.undo':
        process.exit(9);
        break;
      case 'record.redo':
        emit({ kind: 'nonsense' } as never);
        return null;
    }
    throw new AppError('NOT_FOUND', `The small engine knows no "${name}"`, { field: name });
  }

  return {
    async handle(message): Promise<ReplyEnvelope> {
      const request = requestEnvelopeSchema.parse(message) as RequestEnvelope;
      const { id } = request;
      try {
        return { kind: 'reply', id, ok: true, revision: 7, output: (await answer(request)) as never };
      } catch (error) {
        return { kind: 'reply', id, ok: false, revision: 7, error: toWire(error) };
      }
    },
    close: () => jobs.close(),
  };
});
