import type { PermeabilityClass } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { classOfPermeability, isOn, PERMEABILITY_ORDER, type ValidPoint } from './points.ts';
import { type QuantileRule, quantile } from './quantile.ts';
import type { Scheme, SchemeLimit } from './scheme.ts';

export interface SchemeClass {
  readonly id: string;
  readonly name: string;
  readonly advice: string;
}

/** A scheme with the user's own limits put in where it asks for them. */
export interface Rules {
  readonly scheme: Scheme;
  readonly classes: readonly SchemeClass[];
  /** The limit of the scheme's `raised` in force by choice; null: the ordinary ones. */
  readonly raised: NonNullable<Scheme['raised']>[number] | null;
  /** Limits of the table for a permeability class; null where they hang on a class that is not known. */
  limitsFor(cls: PermeabilityClass | null): readonly SchemeLimit[] | null;
}

/** @param raisedId limit of the scheme's `raised` to put in place of the table's; absent: the table as it is */
export function makeRules(
  scheme: Scheme,
  enteredLimitsKBqPerM3: readonly number[],
  raisedId: string | null = null,
): Rules {
  const { table } = scheme;
  const raised = raisedLimit(scheme, raisedId);
  if (table.kind === 'none') return { scheme, classes: scheme.classes, raised, limitsFor: () => null };
  if (table.kind === 'single') {
    const limits = table.limits.map((l) => (l.classId === raised?.classId ? inTable(raised) : l));
    return { scheme, classes: scheme.classes, raised, limitsFor: () => limits };
  }
  if (table.kind === 'by-permeability') {
    return {
      scheme,
      classes: scheme.classes,
      raised,
      limitsFor: (cls) => (cls === null ? null : table.columns[cls]),
    };
  }
  const values = [...new Set(enteredLimitsKBqPerM3)].sort((a, b) => a - b);
  const advice = 'A comparison with limits entered by the user; what follows from it is theirs to say.';
  const classes = [undefined, ...values].map((from, i) => {
    const to = values[i];
    const name =
      from === undefined
        ? `under ${to} kBq/m3`
        : to === undefined
          ? `${from} kBq/m3 and over`
          : `${from} to under ${to} kBq/m3`;
    return { id: from === undefined ? 'under-all' : `from-${from}`, name, advice };
  });
  const limits = values.map((value) => ({
    classId: `from-${value}`,
    label: 'Limit entered by the user',
    value,
    unit: 'kBq/m3',
    source: 'user',
    mark: 'practice' as const,
  }));
  return { scheme, classes, raised, limitsFor: () => limits };
}

function raisedLimit(scheme: Scheme, id: string | null): Rules['raised'] {
  if (id === null) return null;
  const found = scheme.raised?.find((r) => r.id === id);
  if (found === undefined) {
    const have = (scheme.raised ?? []).map((r) => `'${r.id}'`).join(', ') || 'none';
    throw new AppError('NOT_FOUND', `Scheme '${scheme.id}' has no raised limit '${id}'; it has ${have}.`);
  }
  return found;
}

function inTable(raised: NonNullable<Rules['raised']>): SchemeLimit {
  const { classId, label, value, unit, source, mark } = raised;
  return { classId, label, value, unit, source, mark };
}

export interface Permeability {
  readonly cls: PermeabilityClass | null;
  /** Statistic of measured permeability, where enough points have one; the potential needs it. */
  readonly statisticM2: number | null;
  readonly basis: string;
  /** The most permeable class among the points, where they differ; else null. */
  readonly worst: PermeabilityClass | null;
  /** Where some points carry no class: what the lot's would be if all of those were the least or the most permeable. */
  readonly open: {
    readonly missing: number;
    readonly least: PermeabilityClass;
    readonly most: PermeabilityClass;
  } | null;
  /** Fewer than half of the points carry a class: too few to judge the others by (own). */
  readonly isThin: boolean;
}

/**
 * Permeability of the lot from its valid points: the quantile of measured permeability where the minimum number of
 * points has one; else, and where classes given for other points make the lot more permeable (own), the quantile of the
 * points' classes, rounded up to the more permeable.
 */
export function findPermeability(
  points: readonly ValidPoint[],
  scheme: Scheme,
  rule: QuantileRule,
): Permeability {
  const none = { cls: null, statisticM2: null, worst: null, open: null, isThin: false };
  if (scheme.permeability === null) return { ...none, basis: 'the scheme does not ask for permeability' };
  const p = scheme.statistic.kind === 'quantile' ? scheme.statistic.p.value : 1;
  const classes = points.flatMap((pt) => (pt.permeabilityClass === null ? [] : [pt.permeabilityClass]));
  const highest =
    PERMEABILITY_ORDER[Math.max(-1, ...classes.map((c) => PERMEABILITY_ORDER.indexOf(c)))] ?? null;
  const mixed = new Set(classes).size > 1;
  const measured = points.flatMap((pt) => (pt.permeabilityM2 === null ? [] : [pt.permeabilityM2]));
  const bounds = points.flatMap((pt) => pt.permeabilityBound ?? []);
  const drawnCount = points.filter((pt) => pt.permeabilityFrom === 'draw').length;
  const drawn = drawnCount === 0 ? '' : `, ${drawnCount} of them from flow and suction of the draw`;
  const among = (list: readonly PermeabilityClass[]): PermeabilityClass => {
    const rank = quantile(
      list.map((c) => PERMEABILITY_ORDER.indexOf(c)),
      p,
      rule,
    );
    return PERMEABILITY_ORDER[Math.ceil(rank - 1e-9)] ?? 'high';
  };
  const statisticM2 =
    measured.length > 0 &&
    measured.length + bounds.length >= Math.min(scheme.minimumCount.value, points.length)
      ? quantileWithBounds(measured, bounds, p, rule)
      : null;
  const byValue = statisticM2 === null ? null : classOfPermeability(statisticM2, scheme);
  // A class given for a point without a value still counts: it must not be lost because others were measured.
  const isOutweighed =
    byValue?.cls != null &&
    points.some((pt) => pt.permeabilityFrom === 'stated' || pt.permeabilityFrom === 'fines') &&
    PERMEABILITY_ORDER.indexOf(among(classes)) > PERMEABILITY_ORDER.indexOf(byValue.cls);
  if (statisticM2 !== null && byValue !== null && !isOutweighed) {
    const { cls, onBorder } = byValue;
    const border = onBorder === null ? '' : `, exactly on the border ${onBorder} m2`;
    const bounded = bounds.length === 0 ? '' : ` (${bounds.length} known as a bound)`;
    return {
      cls,
      statisticM2,
      basis: `${scheme.statistic.name} of permeability measured at ${measured.length + bounds.length} points${drawn}${bounded}: ${format(statisticM2)} m2${border}`,
      worst: mixed ? highest : null,
      open: null,
      isThin: false,
    };
  }
  if (classes.length === 0) return { ...none, basis: 'no valid point has a permeability class' };
  const cls = among(classes);
  const counts = PERMEABILITY_ORDER.map((c) => ({ c, n: classes.filter((x) => x === c).length })).filter(
    ({ n }) => n > 0,
  );
  const list = counts.map(({ c, n }) => `${n} ${c}`).join(', ');
  const missing = points.length - classes.length;
  const others = (c: PermeabilityClass) => among([...classes, ...Array<PermeabilityClass>(missing).fill(c)]);
  const isThin = 2 * classes.length < points.length;
  const without =
    missing === 0
      ? ''
      : isThin
        ? `; ${missing} of ${points.length} points without a class, too many to judge them by the others`
        : `; ${missing} points without a class, judged by the others`;
  const basis = mixed
    ? `mixed classes (${list}): ${scheme.statistic.name}, rounded up to the more permeable${drawn}${without}`
    : `all points with a class are ${cls}${drawn}${without}`;
  return {
    cls,
    statisticM2: null,
    basis,
    worst: mixed ? highest : null,
    open: missing === 0 ? null : { missing, least: others('low'), most: others('high') },
    isThin,
  };
}

/** 'Less than' stands at its bound, the cautious end; null where 'more than' reaches into the quantile. */
function quantileWithBounds(
  measured: readonly number[],
  bounds: readonly NonNullable<ValidPoint['permeabilityBound']>[],
  p: number,
  rule: QuantileRule,
): number | null {
  const [found, other] = [1, 2].map((topM2) =>
    quantile([...measured, ...bounds.map((b) => (b.kind === 'lessThan' ? b.boundM2 : topM2))], p, rule),
  );
  return found === undefined || found !== other ? null : found;
}

export function statisticOf(values: ArrayLike<number>, scheme: Scheme, rule: QuantileRule): number {
  switch (scheme.statistic.kind) {
    case 'quantile':
      return quantile(values, scheme.statistic.p.value, rule);
    case 'maximum':
      return Array.from(values).reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
    case 'mean':
      return Array.from(values).reduce((a, b) => a + b, 0) / values.length;
  }
}

/**
 * Radon potential (cA - offset) / (-log10 k - 10), cA in kBq/m3 and k in m2 (Neznal et al. 2004); null where the
 * scheme has none or k reaches the value from which the formula is undefined.
 */
export function radonPotential(scheme: Scheme, radonKBqPerM3: number, permeabilityM2: number): number | null {
  const { potential } = scheme;
  if (potential === null || permeabilityM2 >= potential.undefinedFromM2.value * (1 - 1e-9)) return null;
  return (radonKBqPerM3 - potential.offset.value) / (-Math.log10(permeabilityM2) - 10);
}

export interface Placing {
  readonly index: number;
  /** The limit the value stands on, else null. */
  readonly onBorder: SchemeLimit | null;
}

/** Class of a value among rising limits. A value on a limit goes to the side that the scheme names. */
export function placeValue(value: number, limits: readonly SchemeLimit[], scheme: Scheme): Placing {
  let index = 0;
  let onBorder: SchemeLimit | null = null;
  limits.forEach((limit, i) => {
    const on = isOn(value, limit.value);
    if (on) onBorder = limit;
    if (on ? scheme.border.belongsTo === 'higher' : value > limit.value) index = i + 1;
  });
  return { index, onBorder };
}

export type Route = 'table' | 'potential';

export interface Outcome extends Placing {
  readonly route: Route;
  readonly statisticKBqPerM3: number;
  readonly potential: number | null;
  readonly limits: readonly SchemeLimit[];
}

/** The route that decides: the potential where permeability was measured and the formula is defined, else the table. */
export function decidingRoute(scheme: Scheme, permeability: Permeability): Route {
  if (scheme.potential === null || permeability.statisticM2 === null) return 'table';
  return permeability.statisticM2 < scheme.potential.undefinedFromM2.value * (1 - 1e-9)
    ? 'potential'
    : 'table';
}

/** null where the route cannot speak: permeability class not known, or potential undefined. */
export function evaluate(
  rules: Rules,
  statisticKBqPerM3: number,
  permeability: { readonly cls: PermeabilityClass | null; readonly statisticM2: number | null },
  route: Route,
): Outcome | null {
  const { scheme } = rules;
  if (route === 'potential') {
    if (scheme.potential === null || permeability.statisticM2 === null) return null;
    const potential = radonPotential(scheme, statisticKBqPerM3, permeability.statisticM2);
    if (potential === null) return null;
    const { limits } = scheme.potential;
    return { route, statisticKBqPerM3, potential, limits, ...placeValue(potential, limits, scheme) };
  }
  const limits = rules.limitsFor(permeability.cls);
  if (limits === null) return null;
  return {
    route,
    statisticKBqPerM3,
    potential: null,
    limits,
    ...placeValue(statisticKBqPerM3, limits, scheme),
  };
}

/** Four significant digits; an exponent for permeabilities. */
export function format(value: number): string {
  if (value === Number.POSITIVE_INFINITY) return 'any higher value';
  return String(Number(value.toPrecision(4)));
}

/** As `format`, with as many more digits as it takes to stand on the same side of every limit as the value does. */
export function formatBeside(value: number, limits: readonly SchemeLimit[]): string {
  if (!Number.isFinite(value)) return format(value);
  const rightly = (text: number) =>
    limits.every((l) => isOn(value, l.value) || Math.sign(text - l.value) === Math.sign(value - l.value));
  for (let digits = 4; digits < 15; digits++) {
    const rounded = Number(value.toPrecision(digits));
    if (rightly(rounded)) return String(rounded);
  }
  return String(value);
}
