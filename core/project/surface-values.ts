/** One probe's value as the surface takes it: bounds as bounds, shallow samples as the project's settings say. */
import type { Probe, ProjectView } from '../contract/model.ts';
import type { DepthCorrection } from '../contract/results.ts';
import { correctDepth, LENGTH_BY_SOIL } from '../soil/depth-profile.ts';
import type { Uncertain } from '../soil/uncertainty.ts';
import { lowerBoundOf } from '../survey/lower-bound.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { isCoarse, isDescribedTight } from '../survey/sample-facts.ts';

export type SurfaceValue =
  | {
      readonly kind: 'value';
      readonly estimateKBqPerM3: number;
      readonly randomUKBqPerM3: number;
      readonly correction: DepthCorrection | null;
    }
  | { readonly kind: 'at-least'; readonly boundKBqPerM3: number }
  | { readonly kind: 'none'; readonly reason: string };

/** Relative standard uncertainty of an entered diffusion length: own, as for the lengths by soil. */
const ENTERED_LENGTH_U = 0.4;

/** @returns none with the reason in words where the probe says nothing the surface can take */
export function takeForSurface(
  probe: ProbeValue,
  view: Pick<ProjectView, 'probes' | 'settings'>,
): SurfaceValue {
  const { measured } = probe;
  if (probe.treatment === 'lower-bound' && measured.kind === 'atLeast')
    return atLeast(measured.boundKBqPerM3, probe.treatmentReason, view);
  if (probe.treatment !== 'use' || measured.kind !== 'value')
    return {
      kind: 'none',
      reason:
        measured.kind === 'atMost'
          ? 'below the detection limit; the surface is drawn without it'
          : probe.treatmentReason,
    };
  const plain: SurfaceValue = {
    kind: 'value',
    estimateKBqPerM3: measured.estimateKBqPerM3,
    randomUKBqPerM3: measured.randomUKBqPerM3,
    correction: null,
  };
  const { referenceDepthM, thresholds, surface } = view.settings;
  const { depthM } = probe;
  const isShallow = depthM !== null && depthM < referenceDepthM - thresholds.shallowDepthM - 1e-9;
  if (!isShallow || surface.shallow === 'as-measured') return plain;
  const bound = () => atLeast(lowerBoundOf(measured), `drawn at ${depthM} m only: it reads low`, view);
  if (surface.shallow === 'lower-bound') return bound();
  const described = view.probes.find((p) => p.id === probe.probeId);
  const corrected = correctDepth(
    { value: measured.estimateKBqPerM3, u: measured.randomUKBqPerM3 },
    depthM,
    referenceDepthM,
    surface.diffusionLengthM === null
      ? lengthOf(described)
      : { value: surface.diffusionLengthM, u: ENTERED_LENGTH_U * surface.diffusionLengthM },
    described?.state === 'refused' ? 'refused-at-rock' : 'stopped-in-soil',
  );
  if (corrected.kind === 'not-corrected') return bound();
  const { atReferenceKBqPerM3: at, factor } = corrected;
  return {
    kind: 'value',
    estimateKBqPerM3: at.value,
    randomUKBqPerM3: at.u,
    correction: {
      sampleIds: probe.sampleIds,
      fromDepthM: corrected.fromDepthM,
      toDepthM: corrected.toDepthM,
      factor: factor.value,
      factorU: factor.u,
      estimateKBqPerM3: at.value,
      caution: corrected.caution,
    },
  };
}

/** Inverse distances have no place for a bound, and a bound of 0 says nothing. */
function atLeast(boundKBqPerM3: number, why: string, view: Pick<ProjectView, 'settings'>): SurfaceValue {
  return view.settings.surface.method === 'kriging' && boundKBqPerM3 > 0
    ? { kind: 'at-least', boundKBqPerM3 }
    : { kind: 'none', reason: `only a lower bound (${why}); the surface is drawn without it` };
}

function lengthOf(probe: Probe | undefined): Uncertain {
  const key =
    probe !== undefined && isCoarse(probe)
      ? 'dry sand or gravel'
      : probe !== undefined && isDescribedTight(probe) !== null
        ? 'damp fine soil'
        : 'moist loam or till';
  return LENGTH_BY_SOIL[key];
}
