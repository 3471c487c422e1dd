import { deserialize, serialize } from 'node:v8';
import { cellCentre, gridForLot } from '../contour/grid.ts';
import type { ProjectView } from '../contract/model.ts';
import type { CrossValidation, SurfaceResult, VariogramResult } from '../contract/results.ts';
import type { LeaveOneOut } from '../geostat/cross-validate.ts';
import type { EmpiricalVariogram } from '../geostat/empirical-variogram.ts';
import { fromModel, toModel } from '../geostat/model-parameters.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { fromKBqPerM3 } from '../units.ts';
import type { RequestContext } from './engine.ts';
import { type FoundModel, findModel, type WantedSurface } from './find-model.ts';
import { planSurface, type SurfacePlan } from './plan-surface.ts';
import { buildView } from './view.ts';

const MOST_LEVELS = 10;

/**
 * The surface over the lot, from one value a probe. Kept in the project under a hash of all it comes from.
 * @throws AppError BAD_INPUT where there is no lot or too few values, saying what to do; CANCELLED
 */
export async function computeSurface(
  store: ProjectStore,
  jobs: JobRunner,
  context: RequestContext,
  view: ProjectView = buildView(store),
): Promise<SurfaceResult> {
  const result = await surfaceOf(store, jobs, context, view);
  const { key } = planSurface(view);
  if (store.derivedGet(key) !== undefined) return result;
  store.derivedClear('surface');
  store.derivedPut(key, 'surface', serialize(result));
  return result;
}

/** As `computeSurface`, but nothing is kept: for a part of the samples, or a project opened for reading. */
export async function surfaceOf(
  store: ReadableStore,
  jobs: JobRunner,
  context: RequestContext,
  view: ProjectView,
): Promise<SurfaceResult> {
  const plan = planSurface(view);
  const kept = store.derivedGet(plan.key);
  return kept === undefined
    ? runPlan(plan, view, jobs, context)
    : { ...(deserialize(kept) as SurfaceResult), revision: view.revision };
}

async function runPlan(
  plan: SurfacePlan,
  view: ProjectView,
  jobs: JobRunner,
  context: RequestContext,
): Promise<SurfaceResult> {
  const started = performance.now();
  const { settings } = view;
  const part = (from: number, to: number) => ({
    signal: context.signal,
    onProgress: (done: number, stage: string) => context.onProgress(from + (to - from) * done, stage),
  });
  const model = await findModel(jobs, plan.points, wantedSurface(view), part(0, 0.2));
  const { grid, inside, near } = gridForLot(plan.lot, settings.surface.cellM);
  const cells = Int32Array.from(near.keys()).filter((i) => near[i] === 1);
  const cellsXy = new Float64Array(2 * cells.length);
  cells.forEach((cell, i) => {
    cellsXy.set(cellCentre(grid, cell % grid.columns, Math.floor(cell / grid.columns)), 2 * i);
  });
  const limit = plan.limits.at(-1);
  const surface = await jobs.run(
    'surface-tiles',
    { points: model.points, cellsXy, surface: model.surface, ...(limit === undefined ? {} : { limit }) },
    part(0.2, 0.8),
  );
  const spread = (values: Float64Array, mask: Uint8Array) => {
    const out = new Float64Array(grid.columns * grid.rows).fill(Number.NaN);
    cells.forEach((cell, i) => {
      if (mask[cell] === 1) out[cell] = values[i] ?? Number.NaN;
    });
    return out;
  };
  const contours = await jobs.run(
    'draw-contours',
    {
      grid,
      values: spread(surface.estimate, near),
      limits: plan.limits,
      maxLevels: MOST_LEVELS,
      unitFactor: fromKBqPerM3(1, settings.radonUnit),
      clip: [[plan.lot]],
    },
    part(0.8, 1),
  );
  return {
    revision: view.revision,
    method: model.surface.method,
    grid,
    estimateKBqPerM3: spread(surface.estimate, inside),
    standardErrorKBqPerM3: spread(surface.standardError, inside),
    exceedance:
      limit === undefined || surface.exceedance === null
        ? null
        : { limitKBqPerM3: limit, probability: spread(surface.exceedance, inside) },
    levelsKBqPerM3: contours.levels,
    lines: contours.lines,
    bands: contours.bands,
    variogram: describeVariogram(model, plan.used),
    crossValidation: describeCrossValidation(model.leaveOneOut, plan.used),
    usedSampleIds: plan.used.flatMap((p) => p.sampleIds),
    boundedSampleIds: plan.bounded.flatMap((p) => p.sampleIds),
    depthCorrected: plan.depthCorrected,
    notUsed: plan.notUsed,
    warnings: [...model.warnings, ...correctionNotes(plan)],
    seconds: (performance.now() - started) / 1000,
  };
}

export function wantedSurface(view: ProjectView): WantedSurface {
  const { surface } = view.settings;
  if (surface.method === 'idw') return { method: 'idw', power: surface.idwPower };
  return {
    method: 'kriging',
    model: surface.model === 'auto' ? 'auto' : toModel(surface.model),
    transform: surface.transform,
    drift: surface.drift,
  };
}

/** Says on every surface what was changed before it was drawn. */
function correctionNotes({ depthCorrected, used }: SurfacePlan): string[] {
  const [first] = depthCorrected;
  if (first === undefined) return [];
  const labels = new Map(used.flatMap((p) => p.sampleIds.map((id) => [id, p.label])));
  const list = depthCorrected.map((c) => {
    const label = labels.get(c.sampleIds[0] ?? '') ?? '';
    return `${label} from ${Number(c.fromDepthM.toPrecision(3))} m x ${c.factor.toFixed(2)} ± ${(2 * c.factorU).toFixed(2)}`;
  });
  return [
    `Brought to the reference depth of ${first.toDepthM} m by diffusion in uniform ground, for the surface only, never for a class: ${list.join('; ')} (k = 2). ${first.caution}`,
  ];
}

function describeVariogram(found: FoundModel, used: readonly ProbeValue[]): VariogramResult | null {
  if (found.model === null) return null;
  const { empirical = null, fitted = null, directions = [] } = found.variogram ?? {};
  return {
    bins: empirical === null ? [] : binsOf(empirical),
    directions: directions.map(({ azimuthDeg, variogram }) => ({ azimuthDeg, bins: binsOf(variogram) })),
    model: fromModel(found.model),
    fitted: fitted === null ? null : fromModel(fitted.model),
    transform: found.transform,
    drift: (found.surface.method === 'kriging' && found.surface.options.drift) || 'constant',
    unit: found.transform === 'log' ? '' : '(kBq/m3)^2',
    reasons: found.reasons.map((reason) => nameProbes(reason, used)),
  };
}

function binsOf({ distM, semivariance, pairs }: EmpiricalVariogram): VariogramResult['bins'] {
  return Array.from(distM, (lagM, i) => ({
    lagM,
    semivariance: semivariance[i] ?? Number.NaN,
    pairs: pairs[i] ?? 0,
  }));
}

/** The engine of surfaces counts points; a person knows probes by their labels. */
function nameProbes(reason: string, used: readonly ProbeValue[]): string {
  return reason.replace(/: point ([\d, ]+)/, (_, list: string) => {
    const labels = list.split(',').map((n) => used[Number(n) - 1]?.label ?? n.trim());
    return `: ${labels.join(', ')}`;
  });
}

function describeCrossValidation(loo: LeaveOneOut, used: readonly ProbeValue[]): CrossValidation {
  const { n, meanError, rmse, msdr, correlation, verdict } = loo.summary;
  const isPerProbe = loo.predicted.length === used.length;
  return {
    n,
    meanError,
    rmse,
    msdr,
    correlation,
    verdict,
    points: !isPerProbe
      ? []
      : used.map((probe, i) => {
          const predicted = loo.predicted[i] ?? Number.NaN;
          const z = loo.z[i] ?? Number.NaN;
          return {
            probeId: probe.probeId,
            observed: predicted + (loo.residual[i] ?? Number.NaN),
            predicted,
            z: Number.isFinite(z) ? z : null,
          };
        }),
  };
}
