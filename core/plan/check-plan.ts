/** A plan of probes held against what a scheme asks for, in words. */

import type { Scheme, SourcedNumber } from '../classify/scheme.ts';
import type { PositionM, RingM } from '../contract/model.ts';
import { pointInPolygon, ringArea } from '../geo/planar.ts';
import { isNearFootprint, type LayoutRules, layoutRulesOf } from './layout-rules.ts';
import { prepareInterest, worstGap } from './worst-gap.ts';

export interface Plan {
  readonly probes: readonly { readonly label: string; readonly positionM: PositionM }[];
  /** Depth the probes are to be driven to; null where not chosen yet. */
  readonly depthM: number | null;
}

export type PlanSubject = 'number' | 'spacing' | 'depth' | 'place';

export interface PlanFinding {
  readonly subject: PlanSubject;
  /** met: as the scheme asks. missing: not so. unknown: the scheme gives no figure, or the plan does not say. */
  readonly outcome: 'met' | 'missing' | 'unknown';
  readonly message: string;
  /** The figure used is not one read in the scheme's source (common practice, or from memory). */
  readonly unconfirmed: boolean;
  readonly source: string;
}

const DEPTH_TOLERANCE_M = 0.005;

/**
 * One finding or more on each of number, spacing, depth and place, in that order.
 * @param footprint null: place and the number in the footprint cannot be judged, and it is said
 */
export function checkPlan(
  plan: Plan,
  scheme: Scheme,
  footprint: RingM | null,
  rules: LayoutRules = layoutRulesOf(scheme),
): PlanFinding[] {
  const areaM2 = footprint === null ? null : Math.abs(ringArea(footprint));
  const large = rules.gridOverM2 !== null && areaM2 !== null && areaM2 > rules.gridOverM2.value;
  const near =
    footprint === null ? null : plan.probes.filter((p) => isNearFootprint(p.positionM, footprint, rules));
  return [
    checkNumber(plan, scheme, near, rules, large),
    ...checkSpacing(plan, footprint, rules, large, areaM2),
    checkDepth(plan, scheme),
    ...checkPlace(plan, scheme, near, footprint, rules),
  ];
}

function finding(
  subject: PlanSubject,
  outcome: PlanFinding['outcome'],
  message: string,
  from: SourcedNumber | null,
): PlanFinding {
  const unconfirmed = from !== null && from.mark !== 'read' && from.mark !== 'calc';
  return { subject, outcome, message, unconfirmed, source: from?.source ?? '' };
}

function checkNumber(
  plan: Plan,
  scheme: Scheme,
  near: Plan['probes'] | null,
  rules: LayoutRules,
  large: boolean,
): PlanFinding {
  const { minimumCount } = scheme;
  const need = minimumCount.value;
  const inPlace = scheme.place !== null && near !== null;
  const count = inPlace ? near.length : plan.probes.length;
  const where = inPlace ? ` in the footprint or within ${rules.surroundingsM.value} m of it` : '';
  if (count < need) {
    const beyond = plan.probes.length - count;
    const others = beyond > 0 ? ` The other ${beyond} lie farther off and do not count.` : '';
    return finding(
      'number',
      'missing',
      `${need - count} probes are missing: ${count} are planned${where}, and ${scheme.name} asks for at least ${need} valid ones.${others}`,
      minimumCount,
    );
  }
  const spare = count - need;
  const reserve =
    spare === 0
      ? ' None is to spare: one refused or failed probe leaves too few.'
      : ` ${spare} to spare for refused or failed ones.`;
  const grid = large ? ' For a footprint of this size the scheme asks for a grid; see spacing.' : '';
  return finding(
    'number',
    'met',
    `${count} probes are planned${where}; ${need} are asked for.${reserve}${grid}`,
    minimumCount,
  );
}

function checkSpacing(
  plan: Plan,
  footprint: RingM | null,
  rules: LayoutRules,
  large: boolean,
  areaM2: number | null,
): PlanFinding[] {
  const limit = large ? rules.gridSpacingM : rules.widestSpacingM;
  if (plan.probes.length === 0) return [finding('spacing', 'missing', 'No probe is planned.', null)];
  const out: PlanFinding[] = [];
  if (limit === null) {
    out.push(
      finding(
        'spacing',
        'unknown',
        'The scheme gives no spacing; choose one by the map error it leaves.',
        null,
      ),
    );
    return out;
  }
  if (footprint === null) {
    out.push(
      finding(
        'spacing',
        'unknown',
        `Without a footprint the spacing cannot be judged; layouts in use are at most ${limit.value} m wide.`,
        limit,
      ),
    );
    return out;
  }
  // a square grid of this spacing leaves no place farther from a node than half its diagonal
  const widestGapM = limit.value * Math.SQRT1_2;
  const gap = worstGap(
    plan.probes.map((p) => p.positionM),
    prepareInterest([[footprint]], 400),
  );
  const [x, y] = gap.atM.map((value) => value.toFixed(1));
  const reason = large
    ? `the footprint covers ${areaM2?.toFixed(0)} m², over ${rules.gridOverM2?.value} m²: a ${limit.value} m grid is asked for`
    : `layouts in use are at most ${limit.value} m wide`;
  const met = gap.gapM <= widestGapM * 1.005;
  const message = met
    ? `No place of the footprint is farther than ${gap.gapM.toFixed(1)} m from a probe (${reason}; such a grid leaves ${widestGapM.toFixed(1)} m).`
    : `A place of the footprint (${x}, ${y}) is ${gap.gapM.toFixed(1)} m from the nearest probe; ${reason}, which leaves at most ${widestGapM.toFixed(1)} m.`;
  out.push(finding('spacing', met ? 'met' : 'missing', message, limit));
  return out;
}

function checkDepth(plan: Plan, scheme: Scheme): PlanFinding {
  const { depthM, shallowestM } = scheme;
  if (depthM === null) return finding('depth', 'unknown', 'The scheme gives no depth.', null);
  if (plan.depthM === null)
    return finding(
      'depth',
      'unknown',
      `No depth is chosen yet; ${scheme.name} samples at ${depthM.value} m.`,
      depthM,
    );
  const off = plan.depthM - depthM.value;
  if (Math.abs(off) <= DEPTH_TOLERANCE_M)
    return finding('depth', 'met', `Depth ${plan.depthM} m, as the scheme asks.`, depthM);
  if (off > 0)
    return finding(
      'depth',
      'missing',
      `Depth ${plan.depthM} m is deeper than the ${depthM.value} m of the scheme: values will be higher than its limits are made for.`,
      depthM,
    );
  const floor =
    shallowestM !== null && plan.depthM >= shallowestM.value - DEPTH_TOLERANCE_M
      ? ` Down from ${shallowestM.value} m it is allowed only where rock or water forces it.`
      : '';
  return finding(
    'depth',
    'missing',
    `Depth ${plan.depthM} m is shallower than the ${depthM.value} m of the scheme: outside air lowers the values.${floor}`,
    depthM,
  );
}

function checkPlace(
  plan: Plan,
  scheme: Scheme,
  near: Plan['probes'] | null,
  footprint: RingM | null,
  rules: LayoutRules,
): PlanFinding[] {
  if (scheme.place === null)
    return [finding('place', 'unknown', 'The scheme does not say where probes are to lie.', null)];
  if (near === null || footprint === null)
    return [
      finding(
        'place',
        'unknown',
        'Without a footprint it cannot be told whether probes lie where the scheme asks.',
        null,
      ),
    ];
  const inside = plan.probes.filter((p) => pointInPolygon(p.positionM, [footprint])).length;
  const far = plan.probes.length - near.length;
  const counts = `${inside} probes lie in the footprint, ${near.length - inside} within ${rules.surroundingsM.value} m of it, ${far} farther off`;
  const met = inside > 0 && near.length >= scheme.minimumCount.value;
  const message = met
    ? `${counts}.`
    : `${counts}; the scheme wants them in the footprint and its nearest surroundings.${inside === 0 ? ' None lies in the footprint.' : ''}`;
  return [finding('place', met ? 'met' : 'missing', message, rules.surroundingsM)];
}
