// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Which models the data leave standing, with what weight: restricted likelihood times weak stated priors, over shape,
 * range, nugget share and transform; mean and sill integrated out (Handcock and Stein, Technometrics 35, 1993).
 * Priors: shapes equal; practical range log-uniform from the typical spacing to 1.5 times the extent of the points;
 * nugget share uniform on 0..1; no structure at all 0.05; log and no transform equal where all values are positive.
 */
import { crossValidateKriging } from './cross-validate.ts';
import { nearestSpacings } from './empirical-variogram.ts';
import type { StructureShape } from './fit-variogram.ts';
import type { KrigingOptions } from './kriging.ts';
import { fitLikelihood, type LikelihoodData, prepareLikelihood, profileShares } from './likelihood.ts';
import { practicalRangeM, type VariogramModel } from './models.ts';
import type { PointSet } from './points.ts';

export type Transform = 'none' | 'log';

export interface ModelMember {
  /** Of the values after `transform`. */
  readonly model: VariogramModel;
  readonly transform: Transform;
  readonly weight: number;
}

export interface Candidate {
  readonly shape: StructureShape;
  readonly transform: Transform;
  readonly rangeM: number;
  readonly practicalRangeM: number;
  readonly nuggetShare: number;
  /** Sill for prediction: the estimate widened for its own doubt, (n-1)/(n-3), at most 2. */
  readonly sill: number;
  /**
   * What the data say for it, as a log density of the raw values: the restricted likelihood on a grid of models; for one
   * best model per shape the mean of that and of the leave-one-out density, which real ground (not quite Gaussian)
   * misleads less.
   */
  readonly evidence: number;
  readonly logPrior: number;
}

export const SHAPES: readonly StructureShape[] = [
  { kind: 'exponential' },
  { kind: 'spherical' },
  { kind: 'matern', smoothness: 1.5 },
  { kind: 'matern', smoothness: 2.5 },
  { kind: 'gaussian' },
];
const SHARES = [0.001, 0.02, 0.08, 0.2, 0.4, 0.65];
/** What each share stands for of the uniform prior on 0..1, up to where structure can no longer be told. */
const SHARE_PRIOR = [0.03, 0.05, 0.1, 0.19, 0.28, 0.3];
const PURE_NUGGET_PRIOR = 0.05;
const RANGES = 9;

/** Up to this many points the whole grid of models is weighed; above, one best model per shape. */
export const GRID_LIMIT = 80;
/** Above it, likelihoods of groups this large are added, and of this many groups at most: time stays bounded. */
const MAXIMUM_GROUP = 150;
const MAXIMUM_GROUPS = 6;
/** With more points the likelihood alone weighs the shapes: leaving out each of them would take too long. */
const LEAVE_ONE_OUT_LIMIT = 1500;
/** Members with less weight than this are dropped where each shape has one. */
const LEAST_WEIGHT = 0.05;

export interface Span {
  readonly spacingM: number;
  readonly extentM: number;
}

/** Typical spacing of neighbours, and about the largest distance, both unchanged by a turn of the ground. */
export function spanOf(xy: Float64Array): Span {
  const n = xy.length / 2;
  const sources = xy.length / 2 > 2000 ? 2000 : n;
  const spacings = nearestSpacings(xy, sources).filter(Number.isFinite).sort();
  let x0 = 0;
  let y0 = 0;
  for (let i = 0; i < n; i++) {
    x0 += xy[2 * i]! / n;
    y0 += xy[2 * i + 1]! / n;
  }
  let reach = 0;
  for (let i = 0; i < n; i++) reach = Math.max(reach, Math.hypot(xy[2 * i]! - x0, xy[2 * i + 1]! - y0));
  return { spacingM: spacings[spacings.length >> 1] ?? 0, extentM: 2 * reach };
}

/** Points with values and error variances after the transform (errors by the first-order rule for the logarithm). */
export function transformPoints(points: PointSet, transform: Transform): PointSet {
  if (transform === 'none') return points;
  const { xy, values, errorVariances } = points;
  const logs = values.map(Math.log);
  if (errorVariances === undefined) return { xy, values: logs };
  return { xy, values: logs, errorVariances: errorVariances.map((e, i) => Math.log1p(e / values[i]! ** 2)) };
}

/**
 * Shift of a log-likelihood that brings the logarithm to the scale of the raw values. The restricted likelihood is a
 * density of n - p contrasts in each group, hence the factor (it makes the comparison independent of the unit).
 */
function jacobian(data: LikelihoodData, transform: Transform): number {
  if (transform === 'none') return 0;
  return data.groups.reduce(
    (sum, { values, n }) => sum - ((n - data.p) / n) * values.reduce((s, log) => s + log, 0),
    0,
  );
}

export function likelihoodDataOf(
  points: PointSet,
  transform: Transform,
  drift: 'constant' | 'linear',
): LikelihoodData {
  return prepareLikelihood(transformPoints(points, transform), {
    drift,
    maximumGroup: MAXIMUM_GROUP,
    maximumGroups: MAXIMUM_GROUPS,
  });
}

/** Called with the share of the work done, often; may throw to stop. */
export type Step = (done: number) => void;

/** All candidates with a likelihood, best first. */
export function weighModels(
  points: PointSet,
  transforms: readonly Transform[],
  drift: 'constant' | 'linear',
  step: Step = () => {},
): Candidate[] {
  const span = spanOf(points.xy);
  const n = points.values.length;
  const out = n <= GRID_LIMIT ? weighGrid(points, transforms, drift, span, step) : weighBest(points, transforms, drift, span, step); // biome-ignore format: one line
  return out.sort((a, b) => b.evidence + b.logPrior - a.evidence - a.logPrior);
}

function asCandidates(found: readonly Found[], data: LikelihoodData, transform: Transform): Candidate[] {
  const degrees = data.n - data.p * data.groups.length;
  const widen = Math.min(2, degrees / Math.max(1, degrees - 2));
  const shift = jacobian(data, transform);
  return found.flatMap(({ logLikelihood, ...f }) =>
    Number.isFinite(logLikelihood)
      ? [{ ...f, transform, sill: f.sill * widen, evidence: logLikelihood + shift }]
      : [],
  );
}

function weighGrid(
  points: PointSet,
  transforms: readonly Transform[],
  drift: 'constant' | 'linear',
  span: Span,
  step: Step,
): Candidate[] {
  return transforms.flatMap((transform, t) => {
    const data = likelihoodDataOf(points, transform, drift);
    const found = gridCandidates(data, span, (done) => step((t + done) / transforms.length));
    return asCandidates(found, data, transform);
  });
}

/** A transform whose first shape is this much less likely than the other's is not tried with further shapes. */
const OUT_OF_THE_QUESTION = 15;

function weighBest(
  points: PointSet,
  transforms: readonly Transform[],
  drift: 'constant' | 'linear',
  span: Span,
  step: Step,
): Candidate[] {
  const n = points.values.length;
  const shapes = transforms.length * SHAPES.length;
  let fitted = 0;
  let tries = 0;
  // how many tries a fit takes is not known beforehand: about 40
  const next = () => step(Math.min(1, (fitted + tries++ / (tries + 40)) / shapes));
  const fittedOne = () => {
    fitted++;
    tries = 0;
  };
  const trials = transforms.map((transform) => {
    const data = likelihoodDataOf(points, transform, drift);
    const first = bestCandidate(data, SHAPES[0]!, span, null, next);
    fittedOne();
    return {
      transform,
      data,
      first,
      candidates: asCandidates(first === null ? [] : [first], data, transform),
    };
  });
  const top = Math.max(...trials.flatMap(({ candidates }) => candidates.map((c) => c.evidence)));
  for (const { transform, data, first, candidates } of trials) {
    if (first !== null && candidates[0] !== undefined && candidates[0].evidence < top - OUT_OF_THE_QUESTION)
      continue;
    for (const shape of SHAPES.slice(1)) {
      const found = bestCandidate(data, shape, span, first, next);
      fittedOne();
      if (found !== null) candidates.push(...asCandidates([found], data, transform));
    }
  }
  return trials.flatMap(({ data, candidates }) =>
    candidates.map((candidate) => {
      next();
      const ofAll = candidate.evidence * (n / data.n);
      if (n > LEAVE_ONE_OUT_LIMIT) return { ...candidate, evidence: ofAll };
      return { ...candidate, evidence: 0.5 * (ofAll + leaveOneOutDensity(points, candidate, drift)) };
    }),
  );
}

type Found = Omit<Candidate, 'transform' | 'evidence'> & { readonly logLikelihood: number };

/** Log density of each value given all others, summed, as a density of the raw values. */
function leaveOneOutDensity(points: PointSet, candidate: Candidate, drift: 'constant' | 'linear'): number {
  const n = points.values.length;
  const loo = crossValidateKriging(transformPoints(points, candidate.transform), modelOf(candidate), {
    drift,
    ...crossValidationNeighbourhood(n),
  });
  let density = 0;
  loo.z.forEach((z, i) => {
    if (Number.isFinite(z)) density -= 0.5 * (Math.log(2 * Math.PI * loo.variance[i]!) + z * z);
  });
  if (candidate.transform === 'log') density -= points.values.reduce((sum, v) => sum + Math.log(v), 0);
  return density;
}

/** Above this many points, leave-one-out looks at the nearest only: the inverse of all would take too long. */
const GLOBAL_CROSS_VALIDATION = 400;

export function crossValidationNeighbourhood(n: number): Pick<KrigingOptions, 'neighbourhood'> {
  return n > GLOBAL_CROSS_VALIDATION ? { neighbourhood: { nearest: 40 } } : {};
}

function unitPractical(shape: StructureShape): number {
  return practicalRangeM({ nugget: 0, structures: [{ ...shape, partialSill: 1, rangeM: 1 }] });
}

function gridCandidates(data: LikelihoodData, span: Span, step: Step): Found[] {
  const out: Found[] = [];
  const top = 1.5 * span.extentM;
  const ratio = (top / span.spacingM) ** (1 / (RANGES - 1));
  for (const [s, shape] of SHAPES.entries()) {
    const factor = unitPractical(shape);
    for (let i = 0; i < RANGES; i++) {
      step((s + i / RANGES) / SHAPES.length);
      const practical = span.spacingM * ratio ** i;
      const rangeM = practical / factor;
      profileShares(data, shape, rangeM, SHARES).forEach((profile, k) => {
        const prior = ((1 - PURE_NUGGET_PRIOR) * SHARE_PRIOR[k]!) / 0.95 / RANGES / SHAPES.length;
        out.push({
          shape,
          rangeM,
          practicalRangeM: practical,
          nuggetShare: SHARES[k]!,
          ...profile,
          logPrior: Math.log(prior),
        });
      });
    }
  }
  const [pure] = profileShares(data, SHAPES[0]!, span.spacingM, [1]);
  out.push({
    shape: SHAPES[0]!,
    rangeM: span.spacingM,
    practicalRangeM: 0,
    nuggetShare: 1,
    ...pure!,
    logPrior: Math.log(PURE_NUGGET_PRIOR),
  });
  return out;
}

/** @param near a shape that is fitted already: the search begins at its practical range and nugget share */
function bestCandidate(
  data: LikelihoodData,
  shape: StructureShape,
  span: Span,
  near: Found | null,
  step: () => void,
): Found | null {
  const factor = unitPractical(shape);
  const start =
    near === null ? {} : { start: { rangeM: near.practicalRangeM / factor, nuggetShare: near.nuggetShare } };
  const fit = fitLikelihood(data, shape, {
    shortestRangeM: (0.5 * span.spacingM) / factor,
    longestRangeM: (2 * span.extentM) / factor,
    leastNuggetShare: SHARES[0]!,
    step,
    ...start,
  });
  if (fit === null) return null;
  const structure = fit.model.structures[0]!;
  const sill = fit.model.nugget + structure.partialSill;
  const nuggetShare = fit.model.nugget / sill;
  const { rangeM } = structure;
  const { logLikelihood } = fit;
  return { shape, rangeM, practicalRangeM: rangeM * factor, nuggetShare, sill, logLikelihood, logPrior: 0 };
}

export function modelOf(candidate: Candidate): VariogramModel {
  const { shape, rangeM, nuggetShare, sill } = candidate;
  if (nuggetShare === 1) return { nugget: sill, structures: [] };
  return {
    nugget: nuggetShare * sill,
    structures: [{ ...shape, partialSill: (1 - nuggetShare) * sill, rangeM }],
  };
}

/** Weights of the candidates, summing to 1. */
export function posteriorWeights(candidates: readonly Candidate[]): number[] {
  const logs = candidates.map((c) => c.evidence + c.logPrior);
  const top = Math.max(...logs);
  const raw = logs.map((l) => Math.exp(l - top));
  const sum = raw.reduce((s, v) => s + v, 0);
  return raw.map((v) => v / sum);
}

/**
 * At most `count` members that stand for all candidates. Where each shape has one best model, those with weight enough.
 * On a grid: in order of transform, nugget share and range, the ones at equal steps of the cumulated weight
 * (systematic sampling with a fixed start, so always the same).
 */
export function pickMembers(candidates: readonly Candidate[], count: number, onGrid: boolean): ModelMember[] {
  const weights = posteriorWeights(candidates);
  const members: ModelMember[] = [];
  const take = (i: number, weight: number) => {
    const candidate = candidates[i]!;
    members.push({ model: modelOf(candidate), transform: candidate.transform, weight });
  };
  if (!onGrid) {
    for (const [i, weight] of weights.entries()) if (weight >= LEAST_WEIGHT) take(i, weight);
  } else {
    const order = [...candidates.keys()].sort((i, j) => {
      const [a, b] = [candidates[i]!, candidates[j]!];
      return (
        a.transform.localeCompare(b.transform) ||
        a.nuggetShare - b.nuggetShare ||
        a.practicalRangeM - b.practicalRangeM ||
        SHAPES.indexOf(a.shape) - SHAPES.indexOf(b.shape)
      );
    });
    let cumulated = 0;
    let taken = 0;
    for (const i of order) {
      cumulated += weights[i]!;
      const upTo = Math.min(count, Math.floor(cumulated * count + 0.5));
      if (upTo > taken) take(i, (upTo - taken) / count);
      taken = Math.max(taken, upTo);
    }
  }
  const sum = members.reduce((s, m) => s + m.weight, 0);
  return members.map((m) => ({ ...m, weight: m.weight / sum }));
}
