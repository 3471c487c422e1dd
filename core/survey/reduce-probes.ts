import type { DrawnGround } from '../contract/draw-test.ts';
import type {
  Measured,
  NoValueReason,
  PermeabilityClass,
  PositionM,
  Probe,
  Sample,
  SampleAssessment,
  Treatment,
} from '../contract/model.ts';
import { mostPermeable } from './drawn-permeability.ts';
import { sampleDepthM } from './sample-facts.ts';

/** One probe as statistics and surface take it. */
export interface ProbeValue {
  readonly probeId: string;
  readonly label: string;
  readonly positionM: PositionM;
  /** Samples that made the value. */
  readonly sampleIds: readonly string[];
  readonly measured: Measured;
  /** Set where `measured` is the end of the instrument's range. */
  readonly isOverRange?: true;
  readonly treatment: Treatment;
  readonly treatmentReason: string;
  readonly depthM: number | null;
  readonly permeabilityM2: number | null;
  readonly permeabilityClass: PermeabilityClass | null;
  readonly fineFractionPct: number | null;
  /** From flow and suction of its samples; absent where the probe's own permeability was given. */
  readonly permeabilityDraw?: DrawnGround;
  /** Samples of the probe that did not enter its value. */
  readonly excluded: readonly { readonly sampleId: string; readonly reason: string }[];
}

/** Samples farther apart in depth than this are not repeats of each other. */
const SAME_DEPTH_M = 0.1;

/**
 * One value for each probe that has a sample other than blanks.
 * Valid samples (treatment 'use') come first: a valid repeat takes the place of a diluted one. Of several valid
 * values at the depth nearest the reference the plain mean is taken, all with equal weight, since weights from each
 * value's own uncertainty would favour low readings; its u is the larger of the propagated one and the standard error
 * of their spread. A sample over the instrument's range takes their place where its bound is higher. Without a value, the tightest non-detect; else the highest lower bound; else none.
 * @param which 'ruled' as it stands, 'unruled' as it would be without any ruling
 */
export function reduceToProbes(
  assessments: readonly SampleAssessment[],
  samples: readonly Sample[],
  probes: readonly Probe[],
  which: 'ruled' | 'unruled',
  referenceDepthM: number,
): ProbeValue[] {
  const sampleById = new Map(samples.map((s) => [s.id, s]));
  const byProbe = new Map<string, Member[]>();
  for (const a of assessments) {
    const sample = sampleById.get(a.sampleId);
    if (sample === undefined || sample.kind === 'blank') continue;
    const member: Member =
      which === 'ruled'
        ? { sample, treatment: a.treatment, measured: a.measured, reason: a.treatmentReason }
        : {
            sample,
            treatment: a.unruledTreatment,
            measured: a.unruledMeasured,
            reason: a.ruling === null ? a.treatmentReason : 'without its ruling',
          };
    const group = byProbe.get(a.probeId);
    if (group === undefined) byProbe.set(a.probeId, [member]);
    else group.push(member);
  }
  return probes.flatMap((probe) => {
    const members = byProbe.get(probe.id);
    return members === undefined ? [] : [reduceProbe(probe, members, referenceDepthM)];
  });
}

interface Member {
  readonly sample: Sample;
  readonly treatment: Treatment;
  readonly measured: Measured;
  readonly reason: string;
}

function reduceProbe(probe: Probe, members: readonly Member[], referenceDepthM: number): ProbeValue {
  const chosen = chooseMembers(probe, members, referenceDepthM);
  const first = chosen.members[0] ?? members[0];
  const draw =
    mostPermeable(chosen.members.map((m) => m.sample)) ?? mostPermeable(members.map((m) => m.sample));
  const used = new Set(chosen.members.map((m) => m.sample.id));
  return {
    probeId: probe.id,
    label: probe.label,
    positionM: probe.positionM,
    sampleIds: chosen.members.map((m) => m.sample.id),
    measured: chosen.measured,
    ...(chosen.isOverRange === true ? { isOverRange: true } : {}),
    treatment: first?.treatment ?? 'no-value',
    treatmentReason: first?.reason ?? '',
    depthM: first === undefined ? probe.depthM : sampleDepthM(first.sample, probe),
    permeabilityM2: probe.permeabilityM2,
    permeabilityClass: probe.permeabilityClass,
    fineFractionPct: probe.fineFractionPct,
    ...(draw === null ? {} : { permeabilityDraw: draw }),
    excluded: members
      .filter((m) => !used.has(m.sample.id))
      .map((m) => ({
        sampleId: m.sample.id,
        reason: m.treatment === 'use' ? chosen.whyNotOthers : m.reason,
      })),
  };
}

interface Choice {
  readonly members: readonly Member[];
  readonly measured: Measured;
  readonly whyNotOthers: string;
  readonly isOverRange?: boolean;
}

function chooseMembers(probe: Probe, members: readonly Member[], referenceDepthM: number): Choice {
  const usable = members.filter((m) => m.treatment === 'use');
  const values = usable.filter((m) => m.measured.kind === 'value');
  const depthOf = (m: Member) => sampleDepthM(m.sample, probe) ?? referenceDepthM;
  const nearest = values.reduce<Member | null>(
    (best, m) =>
      best === null || Math.abs(depthOf(m) - referenceDepthM) < Math.abs(depthOf(best) - referenceDepthM)
        ? m
        : best,
    null,
  );
  const atDepth =
    nearest === null ? [] : values.filter((m) => Math.abs(depthOf(m) - depthOf(nearest)) <= SAME_DEPTH_M);
  const mean = atDepth.length === 0 ? null : meanOf(atDepth.map((m) => m.measured));
  const lowerBounds = members.filter((m) => m.treatment === 'lower-bound');
  // Over range is known to be high: a lower draw of the same hole must not stand in its place.
  const overRange = lowerBounds.filter(
    (m) =>
      m.measured.kind === 'atLeast' &&
      m.sample.radonAboveKBqPerM3 === m.measured.boundKBqPerM3 &&
      m.measured.boundKBqPerM3 > (mean?.estimateKBqPerM3 ?? 0),
  );
  const over = bestOf(overRange, (a, b) => a > b, 'another sample of the probe went over range');
  if (over !== null) return { ...over, isOverRange: true };
  if (mean !== null) {
    return {
      members: atDepth,
      measured: mean,
      whyNotOthers: 'another sample of the probe speaks for it (a value, or nearer the reference depth)',
    };
  }
  const bounded =
    bestOf(usable, (a, b) => a < b, 'another non-detect of the probe is tighter') ??
    bestOf(lowerBounds, (a, b) => a > b, 'another lower bound of the probe is higher');
  if (bounded !== null) return bounded;
  const leftOut = members.filter((m) => m.treatment === 'leave-out');
  const none = members.filter((m) => m.treatment === 'no-value');
  // A probe whose only values were left out by a person is 'left out', whatever else was tried there.
  const shown = leftOut.length > 0 ? leftOut : none;
  const reason = leftOut.length > 0 ? 'left-out' : reasonOf(none);
  return { members: shown.slice(0, 1), measured: { kind: 'none', reason }, whyNotOthers: '' };
}

function bestOf(
  candidates: readonly Member[],
  better: (a: number, b: number) => boolean,
  why: string,
): Choice | null {
  let found: { member: Member; bound: number } | null = null;
  for (const member of candidates) {
    if (!('boundKBqPerM3' in member.measured)) continue;
    const bound = member.measured.boundKBqPerM3;
    if (found === null || better(bound, found.bound)) found = { member, bound };
  }
  return found === null
    ? null
    : { members: [found.member], measured: found.member.measured, whyNotOthers: why };
}

const REASON_ORDER: readonly NoValueReason[] = ['water', 'water-or-tight', 'tight', 'refused', 'no-reading'];

function reasonOf(members: readonly Member[]): NoValueReason {
  const reasons = members.flatMap((m) => (m.measured.kind === 'none' ? [m.measured.reason] : []));
  return REASON_ORDER.find((r) => reasons.includes(r)) ?? 'no-reading';
}

function meanOf(measured: readonly Measured[]): Extract<Measured, { kind: 'value' }> {
  const values = measured.flatMap((m) => (m.kind === 'value' ? [m] : []));
  const n = values.length;
  const mean = values.reduce((sum, v) => sum + v.estimateKBqPerM3, 0) / n;
  const propagated = Math.sqrt(values.reduce((sum, v) => sum + v.randomUKBqPerM3 ** 2, 0)) / n;
  const spread = values.reduce((sum, v) => sum + (v.estimateKBqPerM3 - mean) ** 2, 0);
  const standardError = n > 1 ? Math.sqrt(spread / (n - 1) / n) : 0;
  return {
    kind: 'value',
    estimateKBqPerM3: mean,
    randomUKBqPerM3: Math.max(propagated, standardError),
    commonURel: Math.max(...values.map((v) => v.commonURel)),
  };
}
