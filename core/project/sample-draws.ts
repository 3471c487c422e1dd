/** Draws of a project's samples beside what was given of the ground directly. */
import { classOfPermeability, classOfPermeabilityBound, PERMEABILITY_ORDER } from '../classify/points.ts';
import type { Scheme } from '../classify/scheme.ts';
import type { DrawnGround, SampleDraw } from '../contract/draw-test.ts';
import type { PermeabilityClass, Probe, Sample } from '../contract/model.ts';
import type { ProjectSettings } from '../contract/settings.ts';
import { drawOf } from '../survey/drawn-permeability.ts';
import { ASSUMED_RELATIVE_U } from '../survey/thresholds.ts';

/** Samples with what their flow and suction say, where the project has a set-up; else as they are. */
export function withDraws(
  samples: readonly Sample[],
  probes: readonly Probe[],
  settings: ProjectSettings,
  scheme: Scheme | null,
): readonly Sample[] {
  const { drawTest, referenceDepthM } = settings;
  if (drawTest === undefined) return samples;
  const byId = new Map(probes.map((p) => [p.id, p]));
  return samples.map((sample) => {
    const probe = byId.get(sample.probeId);
    const draw = probe === undefined ? null : drawOf(sample, probe, drawTest, referenceDepthM);
    return probe === undefined || draw === null ? sample : { ...sample, draw: beside(draw, probe, scheme) };
  });
}

/** What was given directly wins, and is told where the draw says otherwise. */
function beside(draw: SampleDraw, probe: Probe, scheme: Scheme | null): SampleDraw {
  const { permeabilityM2, permeabilityClass } = probe;
  const { ground, notes } = draw;
  if (ground === null || (permeabilityM2 === null && permeabilityClass === null)) return draw;
  const given =
    permeabilityM2 === null ? `class ${permeabilityClass}` : `${permeabilityM2.toExponential(2)} m2`;
  const differs =
    permeabilityM2 === null
      ? permeabilityClass !== null && isOtherClass(ground, permeabilityClass, scheme)
      : isOtherValue(ground, permeabilityM2);
  const said = differs
    ? `Differs from the permeability given for the probe (${given}) by more than the uncertainty of both: the one given is used. Look at both.`
    : `The permeability given for the probe (${given}) is used; the draw agrees with it.`;
  return { ground, enters: false, notes: [...notes, said] };
}

/** A value given carries no uncertainty of its own: the one assumed for values without stands in (k = 2). */
function isOtherValue(ground: DrawnGround, givenM2: number): boolean {
  const u = ASSUMED_RELATIVE_U * givenM2;
  if (ground.kind === 'value')
    return Math.abs(ground.permeabilityM2 - givenM2) > 2 * Math.hypot(ground.uM2, u);
  return ground.kind === 'lessThan' ? givenM2 - 2 * u > ground.boundM2 : givenM2 + 2 * u < ground.boundM2;
}

/** Whether no class within 2 u of the draw, or the one that its bound leaves, is the stated one. */
function isOtherClass(ground: DrawnGround, stated: PermeabilityClass, scheme: Scheme | null): boolean {
  if (scheme === null || scheme.permeability === null) return false;
  if (ground.kind === 'value') {
    const { permeabilityM2: k, uM2 } = ground;
    const near = [k - 2 * uM2, k, k + 2 * uM2].map((m2) => classOfPermeability(m2, scheme).cls);
    return !near.includes(stated);
  }
  if (ground.kind === 'moreThan') {
    const { cls } = classOfPermeability(ground.boundM2, scheme);
    return cls !== null && PERMEABILITY_ORDER.indexOf(stated) < PERMEABILITY_ORDER.indexOf(cls);
  }
  const least = classOfPermeabilityBound('below', ground.boundM2, scheme);
  return least !== null && stated !== least;
}
