import type { ProjectView } from '../contract/model.ts';
import type { NextProposal, NextRequest } from '../contract/planning.ts';
import { AppError } from '../errors.ts';
import { toNative } from '../geo/frame.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { RequestContext } from './engine.ts';
import { findModel } from './find-model.ts';
import { PROBE_CAUTIONS, probeGround } from './plan-probes.ts';
import { planSurface, wantedSurface } from './surface.ts';

/**
 * Where the next probes lower the map's error most. Their number is fixed beforehand; nothing is written.
 * @throws AppError BAD_INPUT where nothing is measured, the footprint is missing, or the surface has no error (IDW); CANCELLED
 */
export async function proposeNext(
  view: ProjectView,
  jobs: JobRunner,
  request: NextRequest,
  context: RequestContext,
): Promise<NextProposal> {
  const plan = planSurface(view);
  const target = request.target === 'lot' ? plan.lot : view.footprint?.ring;
  if (target === undefined)
    throw new AppError('BAD_INPUT', 'There is no footprint to lower the error under: set it first.');
  const part = (from: number, to: number) => ({
    signal: context.signal,
    onProgress: (done: number, stage: string) => context.onProgress(from + (to - from) * done, stage),
  });
  const found = await findModel(jobs, plan.points, wantedSurface(view), part(0, 0.3));
  if (found.surface.method !== 'kriging') {
    throw new AppError(
      'BAD_INPUT',
      'Inverse distances state no error, so no probe can be said to lower it: use kriging.',
    );
  }
  const result = await jobs.run(
    'next-probes',
    {
      points: found.points,
      members: found.surface.members,
      drift: found.surface.options.drift ?? 'constant',
      count: request.count,
      ground: probeGround(view).polygons,
      target: [[target]],
      criterion: request.criterion,
      occupied: view.probes.map((p) => p.positionM),
      labels: { prefix: 'N', taken: view.probes.map((p) => p.label) },
    },
    part(0.3, 1),
  );
  const error = (variance: number) => Math.sqrt(variance);
  return {
    added: result.added.map(({ label, positionM, gain }) => ({
      label,
      positionM,
      native: toNative(view.frame, positionM),
      gain,
    })),
    criterion: result.criterion,
    errorBefore: error(result.before[request.criterion]),
    errorAfter: error(result.after[request.criterion]),
    unit:
      result.unit === 'model' && found.transform === 'none' ? 'kBq/m3' : 'of logarithms or share of the sill',
    cautions: [...result.cautions, ...PROBE_CAUTIONS],
  };
}
