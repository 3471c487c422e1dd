// biome-ignore-all lint/style/noNonNullAssertion: indices into flat arrays are in bounds by construction
/**
 * Variogram models. With u = h / rangeM and c = partialSill, for h > 0:
 *   spherical    gamma = c (1.5 u - 0.5 u^3), u < 1; else c
 *   exponential  gamma = c (1 - exp(-u))
 *   gaussian     gamma = c (1 - exp(-u^2))
 *   matern       gamma = c (1 - 2^(1-nu) / Gamma(nu) u^nu K_nu(u)), nu = smoothness
 * The nugget adds to gamma at every h > 0; gamma(0) = 0.
 */
import { AppError } from '../errors.ts';
import { logGamma, scaledBesselK } from './bessel.ts';

export type StructureKind = 'spherical' | 'exponential' | 'gaussian' | 'matern';

export interface Anisotropy {
  /** Azimuth of the LONG axis, degrees clockwise from north (+y). */
  readonly azimuthDeg: number;
  /** Short range over long range, 0 < ratio <= 1; `rangeM` is the long range. */
  readonly ratio: number;
}

export interface VariogramStructure {
  readonly kind: StructureKind;
  readonly partialSill: number;
  /** The scale `a` of the formula, not the practical range. */
  readonly rangeM: number;
  /** Matern only: nu > 0. */
  readonly smoothness?: number;
  readonly anisotropy?: Anisotropy;
}

export interface VariogramModel {
  readonly nugget: number;
  readonly structures: readonly VariogramStructure[];
}

const KIND_CODE: Record<StructureKind, number> = { spherical: 0, exponential: 1, gaussian: 2, matern: 3 };

/** Numbers per structure in a compiled model: kind, partialSill, smoothness, log constant, and a 2 x 2 map to u. */
export const COMPILED_STRIDE = 8;

/**
 * A model as one flat array that can be shared between threads: [nugget, number of structures, then
 * COMPILED_STRIDE numbers each]. The 2 x 2 map takes (dx, dy) straight to a vector whose length is u.
 * @throws AppError BAD_INPUT naming the parameter that is out of bounds
 */
export function compileModel(model: VariogramModel): Float64Array {
  const refuse = (what: string, value: unknown): never => {
    throw new AppError('BAD_INPUT', `Variogram model: ${what} is ${String(value)}`, { field: what });
  };
  const { nugget, structures } = model;
  if (!(nugget >= 0) || !Number.isFinite(nugget)) refuse('nugget (must be 0 or more)', nugget);
  const out = new Float64Array(2 + COMPILED_STRIDE * structures.length);
  out[0] = nugget;
  out[1] = structures.length;
  structures.forEach((s, i) => {
    const { partialSill, rangeM } = s;
    if (!(partialSill >= 0) || !Number.isFinite(partialSill))
      refuse('partial sill (must be 0 or more)', partialSill);
    if (!(rangeM > 0) || !Number.isFinite(rangeM)) refuse('range (must be above 0)', rangeM);
    const smoothness = s.kind === 'matern' ? (s.smoothness ?? 1.5) : 0;
    if (s.kind === 'matern' && !(smoothness > 0 && smoothness <= 100))
      refuse('smoothness (must be above 0, at most 100)', smoothness);
    const { azimuthDeg, ratio } = s.anisotropy ?? { azimuthDeg: 0, ratio: 1 };
    if (!(ratio > 0 && ratio <= 1)) refuse('anisotropy ratio (must be above 0, at most 1)', ratio);
    if (!Number.isFinite(azimuthDeg)) refuse('anisotropy azimuth', azimuthDeg);
    const t = (azimuthDeg * Math.PI) / 180;
    const isotropic = ratio === 1;
    const sin = isotropic ? 0 : Math.sin(t);
    const cos = isotropic ? 1 : Math.cos(t);
    const at = 2 + i * COMPILED_STRIDE;
    out[at] = KIND_CODE[s.kind] ?? refuse('kind', s.kind);
    out[at + 1] = partialSill;
    out[at + 2] = smoothness;
    out[at + 3] = s.kind === 'matern' ? (1 - smoothness) * Math.LN2 - logGamma(smoothness) : 0;
    out[at + 4] = sin / rangeM;
    out[at + 5] = cos / rangeM;
    out[at + 6] = cos / (rangeM * ratio);
    out[at + 7] = -sin / (rangeM * ratio);
  });
  return out;
}

function maternCorrelation(u: number, nu: number, logConstant: number): number {
  if (u === 0) return 1;
  if (nu === 0.5) return Math.exp(-u);
  if (nu === 1.5) return (1 + u) * Math.exp(-u);
  if (nu === 2.5) return (1 + u + (u * u) / 3) * Math.exp(-u);
  if (u > 700) return 0;
  const k = scaledBesselK(nu, u);
  // Below this u the series has nothing left but 1; K itself would overflow first.
  if (!Number.isFinite(k)) return 1;
  return Math.min(1, Math.exp(logConstant + nu * Math.log(u) - u) * k);
}

/** Correlation of a structure at u = sqrt(uSquared), u >= 0. */
function correlation(kindCode: number, uSquared: number, smoothness: number, logConstant: number): number {
  if (kindCode === 2) return Math.exp(-uSquared);
  const u = Math.sqrt(uSquared);
  if (kindCode === 1) return Math.exp(-u);
  if (kindCode === 0) return u < 1 ? 1 - u * (1.5 - 0.5 * uSquared) : 0;
  return maternCorrelation(u, smoothness, logConstant);
}

/** Sum of the partial sills: the variance without the nugget. */
export function structuredSill(compiled: Float64Array): number {
  let sum = 0;
  for (let at = 2; at < compiled.length; at += COMPILED_STRIDE) sum += compiled[at + 1]!;
  return sum;
}

/** Covariance at offset (dx, dy) without the nugget. */
export function structuredCovariance(compiled: Float64Array, dx: number, dy: number): number {
  let sum = 0;
  for (let at = 2; at < compiled.length; at += COMPILED_STRIDE) {
    const major = compiled[at + 4]! * dx + compiled[at + 5]! * dy;
    const minor = compiled[at + 6]! * dx + compiled[at + 7]! * dy;
    const u2 = major * major + minor * minor;
    sum += compiled[at + 1]! * correlation(compiled[at]!, u2, compiled[at + 2]!, compiled[at + 3]!);
  }
  return sum;
}

/**
 * Adds weight x structured covariance between one position and points `from`..`to` (exclusive) to `out`,
 * where the covariance with point i goes to out[outOffset + (i - from) * outStride].
 */
export function addStructuredCovariances(
  compiled: Float64Array,
  xs: Float64Array,
  ys: Float64Array,
  from: number,
  to: number,
  xM: number,
  yM: number,
  weight: number,
  out: Float64Array,
  outOffset: number,
  outStride: number,
): void {
  for (let at = 2; at < compiled.length; at += COMPILED_STRIDE) {
    const kind = compiled[at]!;
    const scale = weight * compiled[at + 1]!;
    const nu = compiled[at + 2]!;
    const logConstant = compiled[at + 3]!;
    const a = compiled[at + 4]!;
    const b = compiled[at + 5]!;
    const c = compiled[at + 6]!;
    const d = compiled[at + 7]!;
    let o = outOffset;
    for (let i = from; i < to; i++) {
      const dx = xs[i]! - xM;
      const dy = ys[i]! - yM;
      const major = a * dx + b * dy;
      const minor = c * dx + d * dy;
      out[o] = out[o]! + scale * correlation(kind, major * major + minor * minor, nu, logConstant);
      o += outStride;
    }
  }
}

/** Semivariance at offset (dxM, dyM); 0 at the origin, with the nugget everywhere else. */
export function semivarianceAt(model: VariogramModel, dxM: number, dyM: number): number {
  if (dxM === 0 && dyM === 0) return 0;
  const compiled = compileModel(model);
  return compiled[0]! + structuredSill(compiled) - structuredCovariance(compiled, dxM, dyM);
}

/** Semivariance at distances `lagsM` along `azimuthDeg` (matters only for an anisotropic model). */
export function semivariances(model: VariogramModel, lagsM: ArrayLike<number>, azimuthDeg = 0): Float64Array {
  const compiled = compileModel(model);
  const sill = structuredSill(compiled);
  const sin = Math.sin((azimuthDeg * Math.PI) / 180);
  const cos = Math.cos((azimuthDeg * Math.PI) / 180);
  return Float64Array.from(lagsM, (h) =>
    h === 0 ? 0 : compiled[0]! + sill - structuredCovariance(compiled, h * sin, h * cos),
  );
}

export function totalSill(model: VariogramModel): number {
  return model.structures.reduce((sum, s) => sum + s.partialSill, model.nugget);
}

/** Practical range over `rangeM`: where the structure reaches 95 % of its sill (100 % for spherical). */
function practicalFactor(structure: VariogramStructure): number {
  if (structure.kind === 'spherical') return 1;
  if (structure.kind === 'exponential') return -Math.log(0.05);
  if (structure.kind === 'gaussian') return Math.sqrt(-Math.log(0.05));
  const nu = structure.smoothness ?? 1.5;
  const logConstant = (1 - nu) * Math.LN2 - logGamma(nu);
  let low = 0;
  let high = 1;
  while (maternCorrelation(high, nu, logConstant) > 0.05) high *= 2;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (maternCorrelation(middle, nu, logConstant) > 0.05) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Longest practical range of the model's structures, metres, along the long axis; 0 for a pure nugget. For display. */
export function practicalRangeM(model: VariogramModel): number {
  return model.structures.reduce(
    (longest, s) => (s.partialSill > 0 ? Math.max(longest, s.rangeM * practicalFactor(s)) : longest),
    0,
  );
}
