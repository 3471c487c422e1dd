import type { CurveModel, CurveRequest, CurveResult } from '../contract/field-sheets.ts';
import type { ProjectView } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { practicalRangeM, totalSill, type VariogramModel } from '../geostat/models.ts';
import { transformPoints } from '../geostat/plausible-models.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { median } from '../median.ts';
import { walkBarriers } from '../plan/walk-ground.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { RequestContext } from './engine.ts';
import { findModel } from './find-model.ts';
import { probeGround, WALKING_M_PER_MINUTE } from './plan-probes.ts';
import { planSurface } from './plan-surface.ts';
import { schemeOf } from './schemes.ts';
import { wantedSurface } from './surface.ts';
import { buildView } from './view.ts';
import { walkStartOf } from './walk-start.ts';

/** Numbers of probes looked at, as parts of the scheme's least number: from too few to more than anyone drives. */
const PARTS = [0.4, 0.6, 0.8, 1, 1.2, 1.5, 2, 2.7, 3.5];
const FEWEST = 4;

interface ChosenModel {
  readonly model: VariogramModel;
  readonly errorVariance: number;
  readonly words: string;
  readonly isGuess: boolean;
  /** The model is of values in kBq/m3, not of their logarithms. */
  readonly isOfValues: boolean;
}

/**
 * Map error against hours of work over the number of probes of a fresh layout. Nothing is written.
 * @throws AppError BAD_INPUT where there is no lot or footprint asked for, or no measured model; CANCELLED
 */
export async function computeCurve(
  store: ProjectStore,
  jobs: JobRunner,
  request: CurveRequest,
  context: RequestContext,
): Promise<CurveResult> {
  const view = buildView(store);
  const ground = probeGround(view);
  const footprint = view.footprint?.ring ?? null;
  if (footprint === null && (request.around !== 'all' || request.pattern === 'adaptive')) {
    throw new AppError(
      'BAD_INPUT',
      'This layout follows the footprint, and none is set: set the footprint, or lay out the whole lot.',
    );
  }
  const { minimumCount } = schemeOf(view);
  const counts = request.counts ?? [
    ...new Set(PARTS.map((part) => Math.max(FEWEST, Math.round(part * minimumCount.value)))),
  ];
  const chosen = await chooseModel(view, jobs, request.model, context);
  const curve = await jobs.run(
    'spacing-curve',
    {
      pattern: request.pattern,
      sizes: counts.map((count) => ({ count })),
      ground: ground.polygons,
      stand: ground.stand,
      footprint,
      around: request.around,
      target: request.around === 'all' || footprint === null ? ground.polygons : [[footprint]],
      model: chosen.model,
      errorVariance: chosen.errorVariance,
      start: walkStartOf(view, request.startM) ?? [0, 0],
      barriers: walkBarriers(view.keepOuts),
      pace: {
        minutesPerTest: request.minutesPerTest,
        walkingMetresPerMinute: WALKING_M_PER_MINUTE,
        instruments: request.instruments,
        days: request.days,
      },
      dailyMinutes: request.dailyMinutes,
    },
    { signal: context.signal, onProgress: (done, stage) => context.onProgress(0.2 + 0.8 * done, stage) },
  );
  const [, ...schemeCautions] = curve.cautions;
  return {
    points: curve.points.map((p) => ({
      probes: p.probes,
      spacingM: p.spacingM,
      worstGapM: p.worstGapM,
      errorShare: Math.sqrt(p.unexplained),
      errorKBqPerM3: chosen.isOfValues ? p.mapError : null,
      hoursOfWork: p.hoursOfWork,
      longestDayHours: p.longestDayHours,
    })),
    elbow: curve.elbow,
    elbowRule: curve.elbowRule,
    modelWords: chosen.words,
    isGuess: chosen.isGuess,
    minimumCount: minimumCount.value,
    cautions: chosen.isGuess
      ? curve.cautions
      : [
          'The curve is of a fresh layout, not of probes added to those there are; for these see the next probes.',
          ...schemeCautions,
        ],
  };
}

async function chooseModel(
  view: ProjectView,
  jobs: JobRunner,
  wanted: CurveModel,
  context: RequestContext,
): Promise<ChosenModel> {
  if (wanted !== 'measured') {
    const { kind, rangeM, nuggetShare } = wanted;
    const factor = practicalRangeM({ nugget: 0, structures: [{ kind, partialSill: 1, rangeM: 1 }] });
    return {
      model: {
        nugget: nuggetShare,
        structures: [{ kind, partialSill: 1 - nuggetShare, rangeM: rangeM / factor }],
      },
      errorVariance: 0,
      words: `Guess: ${kind}, range ${rangeM.toFixed(1)} m, ${Math.round(100 * nuggetShare)} % of the scatter between neighbours`,
      isGuess: true,
      isOfValues: false,
    };
  }
  const found = await findModel(jobs, planSurface(view).points, wantedSurface(view), {
    signal: context.signal,
    onProgress: (done, stage) => context.onProgress(0.2 * done, stage),
  });
  if (found.model === null || found.surface.method !== 'kriging') {
    throw new AppError(
      'BAD_INPUT',
      'Inverse distances have no variogram to tell the error by: use kriging, or guess a variogram.',
    );
  }
  const { model, transform } = found;
  const errors = [...(transformPoints(found.points, transform).errorVariances ?? [])];
  const share = totalSill(model) > 0 ? model.nugget / totalSill(model) : 0;
  return {
    model,
    errorVariance: errors.length === 0 ? 0 : median(errors),
    words: `Measured here: ${model.structures.map((s) => s.kind).join(' and ') || 'nugget alone'}, range ${practicalRangeM(model).toFixed(1)} m, ${Math.round(100 * share)} % of the scatter between neighbours${transform === 'log' ? ', of the logarithms' : ''}`,
    isGuess: false,
    isOfValues: transform === 'none',
  };
}
