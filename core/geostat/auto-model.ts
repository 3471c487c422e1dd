// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/** Chooses how to make a surface of points nobody has looked at, and says why in plain words. */
import { AppError } from '../errors.ts';

import { type CrossValidationSummary, crossValidateIdw, type LeaveOneOut } from './cross-validate.ts';
import { countPlaces, pickRows, withoutRepeats } from './distinct-points.ts';
import { explainGap, explainModel, FEW } from './explain-model.ts';
import { fitLikelihood, type LikelihoodFit } from './likelihood.ts';
import type { SurfacePoints } from './lower-bounds.ts';
import { practicalRangeM, type VariogramModel } from './models.ts';
import {
  type Candidate,
  GRID_LIMIT,
  likelihoodDataOf,
  modelOf,
  pickMembers,
  posteriorWeights,
  type Step,
  spanOf,
  type Transform,
  transformPoints,
  weighModels,
} from './plausible-models.ts';
import { checkPoints, type PointSet } from './points.ts';
import { crossValidateSurface, type SurfaceMethod } from './predict-surface.ts';

export interface ChooseOptions {
  /** 'auto' (default) weighs both where all values are positive. */
  readonly transform?: Transform | 'auto';
  readonly drift?: 'constant' | 'linear';
  /** Average over plausible models (default) or use the single best. */
  readonly average?: boolean;
}

export interface ModelChoice {
  readonly method: 'kriging' | 'idw';
  /** The single best model, for display; of the values after `transform`. Null for IDW. */
  readonly model: VariogramModel | null;
  readonly transform: Transform;
  /** What to hand to `predictSurface`. */
  readonly surface: SurfaceMethod;
  /** The points to predict from, in the caller's order: exact repeats of a row are taken once, lower bounds kept. */
  readonly points: SurfacePoints;
  /** The caller's index of each of them. */
  readonly rows: Int32Array;
  readonly reasons: readonly string[];
  readonly diagnostics: ChoiceDiagnostics;
}

export interface ChoiceDiagnostics {
  readonly n: number;
  readonly places: number;
  readonly modelsAveraged: number;
  /** Probability of the logarithm by likelihood; null where only one transform was weighed. */
  readonly logProbability: number | null;
  /** Middle and 90 % range over the plausible models; null for IDW. */
  readonly practicalRangeM: readonly [low: number, middle: number, high: number] | null;
  readonly nuggetShare: readonly [low: number, middle: number, high: number] | null;
  readonly crossValidation: CrossValidationSummary;
  /** Leave-one-out of inverse distances, to compare with. */
  readonly idwRmse: number;
  readonly errorFactor: number;
  /** Points whose leave-one-out |z| exceeds 3.5, by the caller's index. They are used, not left out. */
  readonly outliers: readonly number[];
}

/** Share of the work that weighing the models is. */
const WEIGHING = 0.7;
/** With fewer points than this the bins are few and wide. */
const MANY = 100;
const OUTLIER_Z = 3.5;
/** Stated errors count as this many further points that agree with the model, when cross-validation corrects them. */
const PRIOR_POINTS = 20;
/** Stated errors fail cross-validation beyond this many standard deviations of what chance gives. */
const MISFIT = 1.5;
/** With fewer points cross-validation is too weak to correct anything. */
const FEWEST_TO_CORRECT = 20;
/** What the other transform must gain in leave-one-out RMSE to overrule the likelihood. */
const OVERRULING_RMSE = 0.97;
/** Up to this ratio it is averaged in, half and half. */
const SHARING_RMSE = 1.05;

/**
 * Places with only a lower bound take no part in the choice.
 * @param step called with the share of the work done; may throw to stop
 * @throws AppError BAD_INPUT for no or unusable points
 */
export function chooseModel(
  points: SurfacePoints,
  options: ChooseOptions = {},
  step: Step = () => {},
): ModelChoice {
  checkPoints(points);
  const { kept, index } = withoutRepeats(points);
  const rows = index.slice().sort();
  return { ...chooseFrom(points, kept, index, options, step), points: pickRows(points, rows), rows };
}

type ChoiceOfModel = Omit<ModelChoice, 'points' | 'rows'>;

/** @param kept in canonical order, so that the choice does not depend on the caller's; index gives the caller's */
function chooseFrom(
  points: PointSet,
  kept: PointSet,
  index: Int32Array,
  options: ChooseOptions,
  step: Step,
): ChoiceOfModel {
  const all = points.values.length;
  if (all === 0) throw new AppError('BAD_INPUT', 'A surface needs points; none given');
  const reasons: string[] = [];
  const n = kept.values.length;
  if (n < all) reasons.push(`${all - n} of ${all} rows repeat another exactly and count once.`);
  const places = countPlaces(kept);
  if (places < n)
    reasons.push(
      n - places === 1
        ? 'One point shares a place with another: their scatter informs the nugget.'
        : `${n - places} points share a place with another: their scatter informs the nugget.`,
    );
  const linear = options.drift === 'linear';
  const equal = kept.values.every((v) => v === kept.values[0]);
  if (n < 3 || places < 3 || equal || (linear && n < 6)) {
    reasons.push(
      equal && n > 1
        ? `All ${n} values are equal: there is nothing to model, and no error can be stated.`
        : `Only ${n} ${n === 1 ? 'point' : 'points'} at ${places} ${places === 1 ? 'place' : 'places'}: no model can be found; inverse distances are used, without an error.`,
    );
    return idwChoice(kept, places, reasons);
  }
  const drift = linear ? 'linear' : 'constant';
  const transforms = transformsFor(kept, options.transform ?? 'auto', reasons);
  const candidates = weighModels(kept, transforms, drift, (done) => step(WEIGHING * done));
  if (candidates.length === 0) {
    reasons.push('No model has a likelihood at these points; inverse distances are used, without an error.');
    return idwChoice(kept, places, reasons);
  }
  return krigingChoice(kept, index, places, candidates, drift, options.average ?? true, reasons, (done) =>
    step(WEIGHING + (1 - WEIGHING) * done),
  );
}

function transformsFor(points: PointSet, wanted: Transform | 'auto', reasons: string[]): Transform[] {
  const positive = points.values.every((v) => v > 0);
  if (wanted === 'log' && !positive)
    throw new AppError(
      'BAD_INPUT',
      `The logarithm was asked for, but the lowest value is ${Math.min(...points.values)}`,
    );
  if (wanted !== 'auto') {
    reasons.push(wanted === 'log' ? 'Logarithms, as asked.' : 'Values as they are, as asked.');
    return [wanted];
  }
  if (!positive) reasons.push('Values as they are: not all are above 0, so no logarithm.');
  else if (points.values.length < FEW)
    reasons.push(`Values as they are: ${points.values.length} points cannot tell a skewed distribution.`);
  return positive && points.values.length >= FEW ? ['none', 'log'] : ['none'];
}

interface Trial {
  readonly candidates: readonly Candidate[];
  readonly surface: SurfaceMethod & { method: 'kriging' };
  readonly loo: LeaveOneOut;
}

function tryOut(
  points: PointSet,
  candidates: readonly Candidate[],
  drift: 'constant' | 'linear',
  average: boolean,
): Trial {
  const n = points.values.length;
  const onGrid = n <= GRID_LIMIT;
  const members = average
    ? pickMembers(candidates, n <= 60 ? 20 : 10, onGrid)
    : [{ model: modelOf(candidates[0]!), transform: candidates[0]!.transform, weight: 1 }];
  const surface = { method: 'kriging' as const, members, options: { drift } };
  return { candidates, surface, loo: crossValidateSurface(points, surface) };
}

function krigingChoice(
  points: PointSet,
  index: Int32Array,
  places: number,
  candidates: readonly Candidate[],
  drift: 'constant' | 'linear',
  average: boolean,
  reasons: string[],
  step: Step,
): ChoiceOfModel {
  const n = points.values.length;
  step(0);
  const weights = posteriorWeights(candidates);
  const logWeight = candidates.reduce((sum, c, i) => sum + (c.transform === 'log' ? weights[i]! : 0), 0);
  const both = new Set(candidates.map((c) => c.transform)).size === 2;
  let trial = tryOut(points, candidates, drift, average);
  if (both) trial = checkTransform(points, candidates, trial, logWeight, drift, average, reasons);
  step(0.4);
  const used = trial.candidates;
  const transform = leadingTransform(trial.surface);
  const best = refine(points, used.find((c) => c.transform === transform)!, drift);
  step(0.7);
  const summary = trial.loo.summary;
  const errorFactor = correctionOf(summary);
  const surface = { ...trial.surface, errorFactor };
  const final = crossValidateSurface(points, surface);
  const ranges = spread(used, (c) => c.practicalRangeM);
  const shares = spread(used, (c) => c.nuggetShare);
  const outliers = [...final.z.keys()].filter((i) => Math.abs(final.z[i]!) > OUTLIER_Z).map((i) => index[i]!);
  const idwRmse = crossValidateIdw(points).summary.rmse;
  explainModel({
    n,
    ranges,
    shares,
    average,
    members: surface.members.length,
    errorFactor,
    outliers,
    best,
    reasons,
  });
  if (n < MANY) explainGap(transformPoints(points, transform), best.model, reasons);
  if (idwRmse < 0.95 * final.summary.rmse)
    reasons.push(
      'Inverse distances predict left-out points better here: the model does not describe this ground well.',
    );
  reasons.push(final.summary.verdict);
  return {
    method: 'kriging',
    model: best.model,
    transform,
    surface,
    reasons,
    diagnostics: {
      n,
      places,
      modelsAveraged: surface.members.length,
      logProbability: both ? logWeight : null,
      practicalRangeM: ranges,
      nuggetShare: shares,
      crossValidation: final.summary,
      idwRmse,
      errorFactor,
      outliers,
    },
  };
}

/**
 * The likelihood decides on the logarithm; cross-validation may overrule it: where the stated errors fail the test by more
 * than chance and those of the other transform pass, the other is used where it predicts left-out points clearly better,
 * and averaged in where it predicts about as well.
 */
function checkTransform(
  points: PointSet,
  candidates: readonly Candidate[],
  trial: Trial,
  logWeight: number,
  drift: 'constant' | 'linear',
  average: boolean,
  reasons: string[],
): Trial {
  const percent = Math.round(100 * logWeight);
  const words =
    percent >= 90
      ? `Logarithms: ${percent} % by likelihood (a skewed distribution).`
      : percent <= 10
        ? `Values as they are: ${100 - percent} % by likelihood against logarithms.`
        : `Logarithms ${percent} % by likelihood, values as they are ${100 - percent} %: ${average ? 'both are averaged' : 'the likelier is used'}.`;
  const fails = (s: CrossValidationSummary) => Math.abs((s.msdr ?? 1) - 1) > MISFIT * (s.msdrSd ?? 1);
  if (points.values.length >= FEWEST_TO_CORRECT && fails(trial.loo.summary)) {
    const other: Transform = logWeight > 0.5 ? 'none' : 'log';
    const rest = candidates.filter((c) => c.transform === other);
    const rival = tryOut(points, rest, drift, average);
    const gain = rival.loo.summary.rmse / trial.loo.summary.rmse;
    const name = other === 'log' ? 'Logarithms' : 'Values as they are';
    if (!fails(rival.loo.summary) && gain <= OVERRULING_RMSE) {
      reasons.push(
        `${name}: likelier the other way (${Math.max(percent, 100 - percent)} %), but cross-validation overrules it: closer predictions with errors that fit.`,
      );
      return rival;
    }
    if (average && !fails(rival.loo.summary) && gain <= SHARING_RMSE) {
      reasons.push(
        `${words} Their errors do not fit left-out points, those of the other way do with predictions about as close: both are averaged, half and half.`,
      );
      const half = (t: Trial) => t.surface.members.map((m) => ({ ...m, weight: m.weight / 2 }));
      const surface = { ...trial.surface, members: [...half(trial), ...half(rival)] };
      return { candidates: trial.candidates, surface, loo: crossValidateSurface(points, surface) };
    }
  }
  reasons.push(words);
  return trial;
}

function leadingTransform(surface: SurfaceMethod & { method: 'kriging' }): Transform {
  const log = surface.members.reduce((sum, m) => sum + (m.transform === 'log' ? m.weight : 0), 0);
  // half and half: the likelihood's own choice comes first
  if (Math.abs(log - 0.5) < 1e-9) return surface.members[0]!.transform;
  return log > 0.5 ? 'log' : 'none';
}

/** The best candidate off the grid, with standard errors where the likelihood gives any. */
function refine(
  points: PointSet,
  candidate: Candidate,
  drift: 'constant' | 'linear',
): { model: VariogramModel; errors: LikelihoodFit['standardErrors'] | null } {
  if (candidate.nuggetShare === 1) return { model: modelOf(candidate), errors: null };
  const span = spanOf(points.xy);
  const factor = practicalRangeM(modelOf(candidate)) / candidate.rangeM;
  const fit = fitLikelihood(likelihoodDataOf(points, candidate.transform, drift), candidate.shape, {
    shortestRangeM: span.spacingM / factor,
    longestRangeM: (1.5 * span.extentM) / factor,
    leastNuggetShare: 0.001,
  });
  if (fit === null) return { model: modelOf(candidate), errors: null };
  return { model: fit.model, errors: fit.standardErrors };
}

/**
 * Square root of the cross-validated ratio, drawn towards 1 as if PRIOR_POINTS more had agreed. Errors are widened where
 * the ratio is above 1 by more than chance usually gives, but narrowed only beyond twice that: the left-out points
 * helped to find the model, so the ratio itself leans low.
 */
function correctionOf(summary: CrossValidationSummary): number {
  const { n, msdr, msdrSd } = summary;
  if (n < FEWEST_TO_CORRECT || msdr === null || msdrSd === null || !(msdrSd > 0)) return 1;
  const deviation = (msdr - 1) / msdrSd;
  if (!(deviation > 1 || deviation < -2)) return 1;
  const independent = 2 / msdrSd ** 2;
  const ratio = (independent * msdr + PRIOR_POINTS) / (independent + PRIOR_POINTS);
  return Math.sqrt(Math.min(2.5, Math.max(0.5, ratio)));
}

function spread(candidates: readonly Candidate[], of: (c: Candidate) => number): [number, number, number] {
  const weights = posteriorWeights(candidates);
  const order = [...candidates.keys()].sort((i, j) => of(candidates[i]!) - of(candidates[j]!));
  const at = (share: number) => {
    let cumulated = 0;
    for (const i of order) {
      cumulated += weights[i]!;
      if (cumulated >= share) return of(candidates[i]!);
    }
    return of(candidates[order.at(-1)!]!);
  };
  return [at(0.05), at(0.5), at(0.95)];
}

function idwChoice(points: PointSet, places: number, reasons: string[]): ChoiceOfModel {
  const crossValidation = crossValidateIdw(points).summary;
  return {
    method: 'idw',
    model: null,
    transform: 'none',
    surface: { method: 'idw', options: {} },
    reasons,
    diagnostics: {
      n: points.values.length,
      places,
      modelsAveraged: 0,
      logProbability: null,
      practicalRangeM: null,
      nuggetShare: null,
      crossValidation,
      idwRmse: crossValidation.rmse,
      errorFactor: 1,
      outliers: [],
    },
  };
}
