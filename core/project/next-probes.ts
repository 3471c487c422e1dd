import type { PositionM, ProjectView } from '../contract/model.ts';
import type { NextProposal, NextRequest } from '../contract/planning.ts';
import { AppError } from '../errors.ts';
import { toNative } from '../geo/frame.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { statisticLimits } from './classify-lot.ts';
import type { RequestContext } from './engine.ts';
import { findModel } from './find-model.ts';
import { PROBE_CAUTIONS, probeGround } from './plan-probes.ts';
import { planSurface } from './plan-surface.ts';
import { schemeOf } from './schemes.ts';
import { wantedSurface } from './surface.ts';

/** The same project has the same answer. */
const CLASS_SEED = 1;

/**
 * Where the next probes lower the map's error, or the doubt about the class, most. Their number is fixed beforehand; nothing is written.
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
  const asked = {
    points: found.points,
    count: request.count,
    ground: probeGround(view).stand,
    target: [[target]],
    occupied: view.probes.map((p) => p.positionM),
    labels: { prefix: 'N', taken: view.probes.map((p) => p.label) },
  };
  const cautions = [...waitingCautions(view), ...PROBE_CAUTIONS];
  const shown = (added: readonly { label: string; positionM: PositionM; gain: number }[]) =>
    added.map(({ label, positionM, gain }) => ({
      label,
      positionM,
      native: toNative(view.frame, positionM),
      gain,
    }));
  if (request.criterion === 'class') {
    const { statistic } = schemeOf(view);
    const result = await jobs.run(
      'next-by-class',
      {
        ...asked,
        surface: found.surface,
        statistic: statistic.kind === 'quantile' ? { kind: 'quantile', p: statistic.p.value } : statistic,
        limits: statisticLimits(view),
        seed: CLASS_SEED,
      },
      part(0.3, 1),
    );
    return {
      added: shown(result.added),
      criterion: request.criterion,
      errorBefore: result.sdBefore,
      errorAfter: result.sdAfter,
      unit: result.isLog ? 'of logarithms' : 'kBq/m3',
      classDoubt: {
        statisticName: statistic.name,
        before: result.doubtBefore,
        after: result.doubtAfter,
        realisations: result.realisations,
      },
      cautions: [...result.cautions, ...cautions],
    };
  }
  const { criterion } = request;
  const result = await jobs.run(
    'next-probes',
    {
      ...asked,
      members: found.surface.members,
      drift: found.surface.options.drift ?? 'constant',
      criterion,
    },
    part(0.3, 1),
  );
  return {
    added: shown(result.added),
    criterion,
    errorBefore: Math.sqrt(result.before[criterion]),
    errorAfter: Math.sqrt(result.after[criterion]),
    unit:
      result.unit === 'model' && found.transform === 'none' ? 'kBq/m3' : 'of logarithms or share of the sill',
    classDoubt: null,
    cautions: [...result.cautions, ...cautions],
  };
}

/** More probes while some of those added before are not driven: the number that was fixed would be another. */
function waitingCautions(view: ProjectView): string[] {
  const waiting = view.probes.filter((p) => p.added && p.state === 'planned').map((p) => p.label);
  if (waiting.length === 0) return [];
  return [
    `${waiting.join(', ')} ${waiting.length === 1 ? 'was' : 'were'} added before and ${waiting.length === 1 ? 'is' : 'are'} still to be driven. Their number was fixed: drive them first, then decide on more.`,
  ];
}
