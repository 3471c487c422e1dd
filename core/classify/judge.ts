import type { PermeabilityClass } from '../contract/model.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import {
  decidingRoute,
  evaluate,
  findPermeability,
  type Outcome,
  type Permeability,
  type Route,
  type Rules,
  statisticOf,
} from './evaluate.ts';
import { divideProbes, type PointSets } from './points.ts';
import type { QuantileRule } from './quantile.ts';

/** What a scheme says of one set of probes under one quantile rule, before it is put into words. */
export interface Judgement {
  readonly rule: QuantileRule;
  readonly sets: PointSets;
  readonly permeability: Permeability;
  readonly route: Route;
  /** Statistic of the valid points alone, non-detects at their limit; null without valid points. */
  readonly statisticKBqPerM3: number | null;
  /** Reach of the statistic for all that the bounds leave open: non-detects from 0, diluted points from their bound up. */
  readonly lowKBqPerM3: number | null;
  readonly highKBqPerM3: number | null;
  /** Outcome at `statisticKBqPerM3`; null also where the permeability class is not known. */
  readonly outcome: Outcome | null;
  /** Lowest and highest class that bounds and unknown permeability leave open. */
  readonly lowest: Outcome | null;
  readonly highest: Outcome | null;
  readonly isShort: boolean;
}

const asGround = (cls: PermeabilityClass) => ({ cls, statisticM2: null });

const CLASSES: readonly PermeabilityClass[] = ['low', 'medium', 'high'];

export function judge(rules: Rules, probes: readonly ProbeValue[], rule: QuantileRule): Judgement {
  const { scheme } = rules;
  const sets = divideProbes(probes, scheme);
  const permeability = findPermeability(sets.valid, scheme, rule);
  const route = decidingRoute(scheme, permeability);
  const base = { rule, sets, permeability, route, isShort: sets.valid.length < scheme.minimumCount.value };
  if (sets.valid.length === 0) {
    return {
      ...base,
      statisticKBqPerM3: null,
      lowKBqPerM3: null,
      highKBqPerM3: null,
      outcome: null,
      lowest: null,
      highest: null,
    };
  }
  const upper = sets.valid.map((p) => p.radonKBqPerM3);
  const lower = sets.valid.map((p) => (p.isNonDetect ? 0 : p.radonKBqPerM3));
  const bounds = sets.lowerBounds.map((b) => b.boundKBqPerM3);
  const statistic = (values: readonly number[]) => statisticOf(values, scheme, rule);
  const statisticKBqPerM3 = statistic(upper);
  const lowKBqPerM3 = Math.min(statisticKBqPerM3, statistic(lower), statistic([...lower, ...bounds]));
  const highKBqPerM3 = Math.max(
    statisticKBqPerM3,
    statistic([...upper, ...bounds.map(() => Number.POSITIVE_INFINITY)]),
  );
  const outcome = evaluate(rules, statisticKBqPerM3, permeability, route);
  const needsClass = scheme.table.kind === 'by-permeability' && route === 'table';
  const open = !needsClass
    ? [permeability]
    : permeability.cls === null
      ? CLASSES.map(asGround)
      : permeability.isThin && permeability.open !== null
        ? [permeability, ...[permeability.open.least, permeability.open.most].map(asGround)]
        : [permeability];
  let lowest: Outcome | null = null;
  let highest: Outcome | null = null;
  for (const ground of open) {
    for (const value of [lowKBqPerM3, statisticKBqPerM3, highKBqPerM3]) {
      const found = evaluate(rules, value, ground, route);
      if (found === null) continue;
      if (lowest === null || found.index < lowest.index) lowest = found;
      if (highest === null || found.index > highest.index) highest = found;
    }
  }
  return { ...base, statisticKBqPerM3, lowKBqPerM3, highKBqPerM3, outcome, lowest, highest };
}
