import type { DrawnGround } from '../contract/draw-test.ts';
import type { PermeabilityClass } from '../contract/model.ts';
import { lowerBoundOf } from '../survey/lower-bound.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import type { Scheme } from './scheme.ts';

/** A point that counts toward the scheme's minimum number. */
export interface ValidPoint {
  readonly probeId: string;
  readonly label: string;
  /** Estimate; for a non-detect its upper bound. */
  readonly radonKBqPerM3: number;
  readonly randomUKBqPerM3: number;
  readonly commonURel: number;
  /** True where only 'at most' is known: the value lies somewhere from 0 to `radonKBqPerM3`. */
  readonly isNonDetect: boolean;
  readonly permeabilityM2: number | null;
  /** Measured, else as stated, else from flow and suction, else from the fine fraction, by the scheme's limits. */
  readonly permeabilityClass: PermeabilityClass | null;
  readonly permeabilityFrom: 'measured' | 'stated' | 'draw' | 'fines' | null;
  /** Where flow and suction give no more than a bound. */
  readonly permeabilityBound?: Exclude<DrawnGround, { kind: 'value' }>;
  readonly depthM: number | null;
}

export interface LowerBoundPoint {
  readonly label: string;
  readonly boundKBqPerM3: number;
}

export interface PointSets {
  readonly valid: readonly ValidPoint[];
  /** Diluted points, and those too shallow for the scheme: never counted, but the truth there is at least the bound. */
  readonly lowerBounds: readonly LowerBoundPoint[];
  readonly excluded: readonly { readonly sampleId: string; readonly reason: string }[];
  /** Labels with the reason, one for each probe that gave no valid value. */
  readonly notValid: readonly { readonly label: string; readonly reason: string }[];
}

/** Divides probes into valid points, lower bounds and the rest, by treatment and the scheme's exclusion rule. */
export function divideProbes(probes: readonly ProbeValue[], scheme: Scheme): PointSets {
  const valid: ValidPoint[] = [];
  const lowerBounds: LowerBoundPoint[] = [];
  const excluded: { sampleId: string; reason: string }[] = [];
  const notValid: { label: string; reason: string }[] = [];
  // Same points in another order of rows must give the same draws.
  const ordered = [...probes].sort(
    (a, b) => compareText(a.label, b.label) || compareText(a.probeId, b.probeId),
  );
  for (const probe of ordered) {
    for (const e of probe.excluded)
      excluded.push({ sampleId: e.sampleId, reason: `${probe.label}: ${e.reason}` });
    const reason = whyNotValid(probe, scheme);
    if (reason === null) {
      const { measured } = probe;
      const value = measured.kind === 'value';
      valid.push({
        probeId: probe.probeId,
        label: probe.label,
        radonKBqPerM3: value
          ? measured.estimateKBqPerM3
          : measured.kind === 'atMost'
            ? measured.boundKBqPerM3
            : 0,
        randomUKBqPerM3: value ? measured.randomUKBqPerM3 : 0,
        commonURel: value ? measured.commonURel : 0,
        isNonDetect: !value,
        ...groundOf(probe, scheme),
        depthM: probe.depthM,
      });
      continue;
    }
    notValid.push({ label: probe.label, reason });
    for (const sampleId of probe.sampleIds) excluded.push({ sampleId, reason: `${probe.label}: ${reason}` });
    const boundKBqPerM3 = boundOf(probe, scheme);
    if (boundKBqPerM3 !== null) lowerBounds.push({ label: probe.label, boundKBqPerM3 });
  }
  return { valid, lowerBounds, excluded, notValid };
}

function boundOf(probe: ProbeValue, scheme: Scheme): number | null {
  const { measured, treatment } = probe;
  if (treatment === 'lower-bound') return measured.kind === 'atLeast' ? measured.boundKBqPerM3 : 0;
  // Soil gas rises with depth, so the ground at the scheme's depth holds at least what a shallow sample shows.
  const shallow = treatment === 'use' && measured.kind === 'value' && isTooShallow(probe, scheme);
  return shallow ? lowerBoundOf(measured) : null;
}

function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Why a probe gives no point that counts toward the scheme's minimum number; null where it does. */
export function whyNotValid(probe: ProbeValue, scheme: Scheme): string | null {
  if (probe.treatment !== 'use') return probe.treatmentReason;
  const { measured } = probe;
  if (measured.kind === 'none' || measured.kind === 'atLeast') return probe.treatmentReason;
  if (isTooShallow(probe, scheme)) {
    return `drawn at ${Number((probe.depthM ?? 0).toPrecision(3))} m, where the scheme allows no less than ${scheme.shallowestM?.value} m: it reads low`;
  }
  const least = scheme.excludeBelow;
  if (least === null) return null;
  const unit = 'kBq/m3';
  if (measured.kind === 'value' && measured.estimateKBqPerM3 < least.value) {
    return `${Number(measured.estimateKBqPerM3.toPrecision(4))} ${unit} is under the scheme's ${least.value} ${unit}: a failed sample`;
  }
  if (measured.kind === 'atMost' && measured.boundKBqPerM3 <= least.value) {
    return `under ${Number(measured.boundKBqPerM3.toPrecision(4))} ${unit}, hence under the scheme's ${least.value} ${unit}: a failed sample`;
  }
  return null;
}

type Ground = Pick<
  ValidPoint,
  'permeabilityM2' | 'permeabilityClass' | 'permeabilityFrom' | 'permeabilityBound'
>;

function groundOf(probe: ProbeValue, scheme: Scheme): Ground {
  const { permeabilityM2, permeabilityDraw: draw } = probe;
  const unknown = { permeabilityM2, permeabilityClass: null, permeabilityFrom: null };
  if (scheme.permeability === null) return unknown;
  if (permeabilityM2 !== null) {
    const { cls } = classOfPermeability(permeabilityM2, scheme);
    return { permeabilityM2, permeabilityClass: cls, permeabilityFrom: 'measured' };
  }
  if (probe.permeabilityClass !== null) {
    return { ...unknown, permeabilityClass: probe.permeabilityClass, permeabilityFrom: 'stated' };
  }
  if (draw?.kind === 'value') {
    const { cls } = classOfPermeability(draw.permeabilityM2, scheme);
    return { permeabilityM2: draw.permeabilityM2, permeabilityClass: cls, permeabilityFrom: 'draw' };
  }
  const fines = classOfFines(probe.fineFractionPct, scheme);
  if (draw !== undefined)
    return { permeabilityM2, permeabilityBound: draw, ...boundGround(draw, fines, scheme) };
  return fines === null ? unknown : { ...unknown, permeabilityClass: fines, permeabilityFrom: 'fines' };
}

/** The one class a bound leaves; else that of the fines, raised to what 'more than' leaves at least. */
function boundGround(
  draw: Exclude<DrawnGround, { kind: 'value' }>,
  fines: PermeabilityClass | null,
  scheme: Scheme,
): Pick<Ground, 'permeabilityClass' | 'permeabilityFrom'> {
  const settled = classOfPermeabilityBound(
    draw.kind === 'moreThan' ? 'above' : 'below',
    draw.boundM2,
    scheme,
  );
  if (settled !== null) return { permeabilityClass: settled, permeabilityFrom: 'draw' };
  if (fines === null) return { permeabilityClass: null, permeabilityFrom: null };
  const least = draw.kind === 'moreThan' ? classOfPermeability(draw.boundM2, scheme).cls : null;
  return least !== null && PERMEABILITY_ORDER.indexOf(least) > PERMEABILITY_ORDER.indexOf(fines)
    ? { permeabilityClass: least, permeabilityFrom: 'draw' }
    : { permeabilityClass: fines, permeabilityFrom: 'fines' };
}

/** From the least to the most permeable. */
export const PERMEABILITY_ORDER: readonly PermeabilityClass[] = ['low', 'medium', 'high'];

function classOfFines(finesPct: number | null, scheme: Scheme): PermeabilityClass | null {
  const rule = scheme.permeability?.fineFraction ?? null;
  if (finesPct === null || rule === null) return null;
  return finesPct > rule.lowAbove.value ? 'low' : finesPct < rule.highBelow.value ? 'high' : 'medium';
}

function isTooShallow(probe: ProbeValue, scheme: Scheme): boolean {
  const least = scheme.shallowestM;
  return least !== null && probe.depthM !== null && probe.depthM < least.value - 1e-9;
}

/** Class of a measured permeability, unrounded; `onBorder` names the limit it stands on. */
export function classOfPermeability(
  permeabilityM2: number,
  scheme: Scheme,
): { cls: PermeabilityClass | null; onBorder: number | null } {
  if (scheme.permeability === null) return { cls: null, onBorder: null };
  let cls: PermeabilityClass = 'low';
  let onBorder: number | null = null;
  for (const limit of scheme.permeability.limits) {
    const on = isOn(permeabilityM2, limit.value);
    if (on) onBorder = limit.value;
    if (on ? limit.borderBelongsTo === 'higher' : permeabilityM2 > limit.value) cls = limit.class;
  }
  return { cls, onBorder };
}

/** Equal but for the last digits of floating-point arithmetic. */
export function isOn(value: number, limit: number): boolean {
  return Math.abs(value - limit) <= 1e-9 * Math.abs(limit);
}

/**
 * Class of a permeability known only as more or less than a limit, where that leaves one.
 * @param scheme one that knows no permeability leaves none
 */
export function classOfPermeabilityBound(
  side: 'above' | 'below',
  permeabilityM2: number,
  scheme: Scheme,
): PermeabilityClass | null {
  const limits = scheme.permeability?.limits ?? [];
  if (limits.length === 0) return null;
  const over = (limit: number) => permeabilityM2 >= limit || isOn(permeabilityM2, limit);
  const under = (limit: number) => permeabilityM2 <= limit || isOn(permeabilityM2, limit);
  if (side === 'above') return limits.every((l) => over(l.value)) ? 'high' : null;
  return limits.every((l) => under(l.value)) ? 'low' : null;
}
