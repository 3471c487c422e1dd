/** Everything about a surface that is found before any cell is computed: model, variogram, leave-one-out. */
import type { LeaveOneOut } from '../geostat/cross-validate.ts';
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import type { VariogramModel } from '../geostat/models.ts';
import type { Transform } from '../geostat/plausible-models.ts';
import type { SurfaceMethod } from '../geostat/predict-surface.ts';
import type { VariogramDescription } from '../jobs/choose-model.ts';
import type { JobRunner, RunOptions } from '../jobs/runner.ts';

export type WantedSurface =
  | {
      readonly method: 'kriging';
      readonly model: 'auto' | VariogramModel;
      readonly transform: Transform | 'auto';
      readonly drift?: 'constant' | 'linear';
      readonly nearest?: number;
    }
  | { readonly method: 'idw'; readonly power: number; readonly nearest?: number };

export interface FoundModel {
  readonly surface: SurfaceMethod;
  /** What to predict from: exact repeats of a row count once. */
  readonly points: SurfacePoints;
  /** The single best model, of the values after `transform`, for display; null for IDW. */
  readonly model: VariogramModel | null;
  readonly transform: Transform;
  readonly reasons: readonly string[];
  readonly warnings: readonly string[];
  readonly variogram: VariogramDescription | null;
  readonly leaveOneOut: LeaveOneOut;
}

/** Below this many points a variogram is a guess: 15 points are 105 pairs, three lags of 35 at best. */
const FEW_POINTS = 30;

/** @throws AppError as the jobs do: BAD_INPUT, SINGULAR, CANCELLED */
export async function findModel(
  jobs: JobRunner,
  points: SurfacePoints,
  want: WantedSurface,
  options: RunOptions,
): Promise<FoundModel> {
  const chosen =
    want.method === 'idw'
      ? inverseDistances(points, want)
      : want.model === 'auto'
        ? await automatic(jobs, points, want, options)
        : await given(jobs, points, want, want.model, options);
  const leaveOneOut = await jobs.run(
    'cross-validate',
    { points: chosen.points, surface: chosen.surface },
    options,
  );
  const n = chosen.points.values.length;
  const few =
    chosen.model !== null && n < FEW_POINTS
      ? [`${n} points are few for a variogram: read the surface as a sketch, and its error as a guess.`]
      : [];
  return { ...chosen, warnings: few, leaveOneOut };
}

type Chosen = Omit<FoundModel, 'leaveOneOut' | 'warnings'>;
type KrigingWant = Extract<WantedSurface, { method: 'kriging' }>;

function inverseDistances(points: SurfacePoints, want: Extract<WantedSurface, { method: 'idw' }>): Chosen {
  const nearest = want.nearest === undefined ? {} : { nearest: want.nearest };
  return {
    surface: { method: 'idw', options: { power: want.power, ...nearest } },
    points,
    model: null,
    transform: 'none',
    reasons: [`Inverse distances to the power ${want.power}, as asked: no error can be stated.`],
    variogram: null,
  };
}

async function automatic(
  jobs: JobRunner,
  points: SurfacePoints,
  want: KrigingWant,
  options: RunOptions,
): Promise<Chosen> {
  const drift = want.drift === undefined ? {} : { drift: want.drift };
  const { choice, variogram } = await jobs.run(
    'choose-model',
    { points, options: { transform: want.transform, ...drift } },
    options,
  );
  const { model, transform, reasons } = choice;
  return {
    surface: withNeighbours(choice.surface, want.nearest),
    points: choice.points,
    model,
    transform,
    reasons,
    variogram,
  };
}

/** A model that a person gives is used as it is, alone. */
async function given(
  jobs: JobRunner,
  points: SurfacePoints,
  want: KrigingWant,
  model: VariogramModel,
  options: RunOptions,
): Promise<Chosen> {
  const transform = want.transform === 'log' ? 'log' : 'none';
  const shape = model.structures[0] ?? { kind: 'spherical' };
  const surface: SurfaceMethod = {
    method: 'kriging',
    members: [{ model, transform, weight: 1 }],
    options: want.drift === undefined ? {} : { drift: want.drift },
  };
  return {
    surface: withNeighbours(surface, want.nearest),
    points,
    model,
    transform,
    reasons: ['Model entered by hand.'],
    variogram: await jobs.run('describe-variogram', { points, transform, shape }, options),
  };
}

function withNeighbours(surface: SurfaceMethod, nearest: number | undefined): SurfaceMethod {
  if (nearest === undefined || surface.method === 'idw') return surface;
  return { ...surface, options: { ...surface.options, neighbourhood: { nearest } } };
}
