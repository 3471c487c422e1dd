import { createHash } from 'node:crypto';
import type { ProjectView } from '../contract/model.ts';
import type { SurfaceResult } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import type { SurfacePoints } from '../geostat/lower-bounds.ts';
import { named } from '../survey/quality-item.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { classLimits, type MeasuredBasis, probeValues } from './classify-lot.ts';
import { type SurfaceValue, takeForSurface } from './surface-values.ts';

/** Raised whenever the same inputs would give other numbers: kept results of older versions are then not used. */
const ALGORITHM_VERSION = 3;
const LEAST_POINTS = 3;

export type SurfaceBasis = MeasuredBasis & Pick<ProjectView, 'lot'>;

export interface SurfacePlan {
  /** Names all that goes in: two plans with the same key have the same surface. */
  readonly key: string;
  readonly lot: NonNullable<ProjectView['lot']>;
  readonly used: readonly ProbeValue[];
  /** Diluted or shallow: the surface is drawn knowing that the truth there lies above the bound. */
  readonly bounded: readonly ProbeValue[];
  readonly depthCorrected: SurfaceResult['depthCorrected'];
  readonly notUsed: SurfaceResult['notUsed'];
  readonly points: SurfacePoints;
  readonly limits: readonly number[];
}

/**
 * What the surface is worked out from, and nothing else: planned probes, notes and outlines other than the lot's leave
 * the key as it is.
 * @throws AppError BAD_INPUT where there is no lot or too few values, saying what to do
 */
export function planSurface(view: SurfaceBasis): SurfacePlan {
  if (view.lot === null)
    throw new AppError('BAD_INPUT', 'There is no lot yet: a surface needs its outline. Set the lot first.');
  const used: { readonly probe: ProbeValue; readonly taken: Extract<SurfaceValue, { kind: 'value' }> }[] = [];
  const bounded: { readonly probe: ProbeValue; readonly bound: number }[] = [];
  const notUsed: { sampleId: string; reason: string }[] = [];
  const without = new Map<string, string[]>();
  for (const probe of probeValues(view)) {
    notUsed.push(
      ...probe.excluded.map((e) => ({ sampleId: e.sampleId, reason: `${probe.label}: ${e.reason}` })),
    );
    const taken = takeForSurface(probe, view);
    if (taken.kind === 'value') used.push({ probe, taken });
    else if (taken.kind === 'at-least') bounded.push({ probe, bound: taken.boundKBqPerM3 });
    else {
      notUsed.push(
        ...probe.sampleIds.map((sampleId) => ({ sampleId, reason: `${probe.label}: ${taken.reason}` })),
      );
      without.set(taken.reason, [...(without.get(taken.reason) ?? []), probe.label]);
    }
  }
  if (used.length < LEAST_POINTS) {
    const reasons = [...without].map(([reason, labels]) => `${named(labels)}: ${reason}`);
    const said = [
      ...(reasons.length === 0 ? [] : [`Not used: ${reasons.join('; ')}.`]),
      ...(bounded.length === 0 ? [] : [`Known only from below: ${bounded.length}.`]),
    ];
    const why = said.length === 0 ? 'Import samples first.' : said.join(' ');
    throw new AppError(
      'BAD_INPUT',
      `A surface needs at least ${LEAST_POINTS} values; this lot has ${used.length}. ${why}`,
    );
  }
  const points = {
    xy: Float64Array.from(used.flatMap((u) => u.probe.positionM)),
    values: Float64Array.from(used, (u) => u.taken.estimateKBqPerM3),
    errorVariances: Float64Array.from(used, (u) => u.taken.randomUKBqPerM3 ** 2),
    lowerBounds: {
      xy: Float64Array.from(bounded.flatMap((b) => b.probe.positionM)),
      bounds: Float64Array.from(bounded, (b) => b.bound),
      // With both kinds the truth of an over-range sample must not be drawn toward its bound: err high.
      origin: bounded.some((b) => b.probe.isOverRange) ? ('cut' as const) : ('diluted' as const),
    },
  };
  const limits = classLimits(view).map((l) => l.valueKBqPerM3);
  const inputs = {
    version: ALGORITHM_VERSION,
    lot: view.lot,
    xy: [...points.xy],
    values: [...points.values],
    errors: [...points.errorVariances],
    boundsXy: [...points.lowerBounds.xy],
    bounds: [...points.lowerBounds.bounds],
    boundsOrigin: points.lowerBounds.origin,
    ids: used.map((u) => u.probe.sampleIds),
    notUsed,
    settings: view.settings.surface,
    unit: view.settings.radonUnit,
    limits,
  };
  const key = `surface:${createHash('sha256').update(JSON.stringify(inputs)).digest('hex')}`;
  return {
    key,
    lot: view.lot,
    used: used.map((u) => u.probe),
    bounded: bounded.map((b) => b.probe),
    depthCorrected: used.flatMap((u) => u.taken.correction ?? []),
    notUsed,
    points,
    limits,
  };
}
