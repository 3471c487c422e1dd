import type { ClassAlternative, ClassResult } from '../contract/results.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { capital } from '../text.ts';
import { type AddedProbe, addedCautions, addedProbes } from './added.ts';
import { detectionCautions, placeCautions } from './cautions.ts';
import { findDoubts } from './doubts.ts';
import { evaluate, format, formatBeside, makeRules, type Outcome, type Rules } from './evaluate.ts';
import { type Judgement, judge } from './judge.ts';
import { QUANTILE_RULE_NAMES, QUANTILE_RULES, type QuantileRule, quantile } from './quantile.ts';
import { type Add, addRaised, raisedCautions, raisedText } from './raised.ts';
import type { Scheme } from './scheme.ts';
import { listUnconfirmed } from './unconfirmed.ts';

export interface ClassifyOptions {
  readonly seed?: number;
  /** Draws for each of the two doubts, 2000 where absent; fewer on very large lots. */
  readonly draws?: number;
  /** Limits for a scheme that compares with the user's own. */
  readonly enteredLimitsKBqPerM3?: readonly number[];
  /** In place of the scheme's own rule. */
  readonly quantileRule?: QuantileRule;
  /** Limit of the scheme's `raised` that the ground as described calls for; never taken unasked. */
  readonly raisedLimitId?: string;
  /** Probes placed by earlier results; the class is shown without them too. */
  readonly added?: readonly AddedProbe[];
}

/** Cautions that stand beside every class, whatever the scheme. */
export const STANDING_CAUTIONS: readonly string[] = [
  'Have buried services located and marked before any probe is driven.',
  'Follow radiation and site-safety rules.',
  'Soil gas does not by itself tell the radon in a finished house; test the house.',
  'The class follows the named scheme only; local code and a licensed practitioner decide.',
  'Flagged and left-out samples are listed on every figure.',
];

/**
 * Class of the lot from its probes by one scheme: valid measured points only, never the surface.
 * `classId` is null where the scheme cannot give one class: either `refusal` says why and what to do, or `range`
 * names the classes left open because the outcome hangs on a bound or on unknown permeability, and `decidedBy` why.
 * @param perProbe one value a probe as it stands with rulings (`reduceToProbes`)
 * @param unruled the same without any ruling; its outcome is always listed
 */
export function classify(
  scheme: Scheme,
  perProbe: readonly ProbeValue[],
  unruled: readonly ProbeValue[],
  options: ClassifyOptions = {},
): ClassResult {
  const rules = makeRules(scheme, options.enteredLimitsKBqPerM3 ?? [], options.raisedLimitId ?? null);
  const rule =
    options.quantileRule ?? (scheme.statistic.kind === 'quantile' ? scheme.statistic.rule : 'linear-n-1');
  const found = judge(rules, perProbe, rule);
  const added = addedProbes(options.added ?? [], found);
  const refusal = refusalOf(rules, found);
  const range = rangeOf(rules, found);
  const settled = refusal === null && range === null ? (found.outcome ?? found.lowest) : null;
  const cls = settled === null ? null : rules.classes[settled.index];
  return {
    schemeId: scheme.id,
    schemeName: scheme.name,
    edition: scheme.edition,
    source: Object.values(scheme.sources).join('; '),
    classId: cls?.id ?? null,
    className: cls?.name ?? null,
    range: refusal === null ? range : null,
    refusal,
    statisticName: scheme.statistic.name,
    statisticKBqPerM3: found.statisticKBqPerM3,
    quantileRule: scheme.statistic.kind === 'quantile' ? QUANTILE_RULE_NAMES[rule] : scheme.statistic.name,
    permeabilityClass: found.permeability.cls,
    permeabilityBasis: found.permeability.basis,
    validCount: found.sets.valid.length,
    minimumCount: scheme.minimumCount.value,
    added,
    decidedBy: refusal ?? `${decidedBy(rules, found)}${raisedText(rules, found)}`,
    wouldChange: refusal === null ? wouldChange(rules, found) : [],
    doubts:
      refusal === null && found.outcome !== null
        ? findDoubts(
            rules,
            found.sets.valid,
            found.permeability,
            rule,
            options.seed ?? 1,
            options.draws ?? 2000,
            found.sets.lowerBounds.length,
          )
        : [],
    alternatives: alternatives(rules, found, perProbe, unruled, options.added ?? []),
    unconfirmed: listUnconfirmed(rules, found),
    advice: cls?.advice ?? refusal ?? openText(rules, found),
    cautions: [
      ...STANDING_CAUTIONS,
      ...raisedCautions(rules),
      ...scheme.cautions,
      ...placeCautions(scheme, found),
      ...detectionCautions(found),
      ...addedCautions(added),
    ],
    excluded: found.sets.excluded,
  };
}

function refusalOf(rules: Rules, found: Judgement): string | null {
  const { scheme } = rules;
  if (rules.classes.length < 2)
    return 'No limit is entered: enter at least one limit in kBq/m3 to compare with.';
  if (!found.isShort && found.statisticKBqPerM3 !== null) {
    if (scheme.table.kind !== 'none' || found.route === 'potential') return null;
    const at = found.permeability.statisticM2;
    return at === null
      ? `${capital(scheme.potential?.name ?? scheme.name)} needs permeability measured at no fewer than ${Math.min(scheme.minimumCount.value, found.sets.valid.length)} of the valid points: measure it there.`
      : `${capital(scheme.potential?.name ?? scheme.name)} is undefined: k = ${format(at)} m2 is not under ${scheme.potential?.undefinedFromM2.value} m2.`;
  }
  const n = found.sets.valid.length;
  const asked = scheme.minimumCount.value;
  const lost = found.sets.notValid.map((p) => `${p.label} (${p.reason})`);
  const list =
    lost.length === 0
      ? ''
      : ` Not counted: ${lost.slice(0, 10).join('; ')}${lost.length > 10 ? ` and ${lost.length - 10} more` : ''}.`;
  return (
    `${n} valid points where the scheme asks for at least ${asked}: no class.${list} ` +
    `Get ${asked - n} more valid ${asked - n === 1 ? 'point' : 'points'}: drive failed ones again at least 1.5 m off, or add probes where the scheme asks for them.`
  );
}

/** Ids of the classes left open, lowest first; null where there is only one. */
function rangeOf(rules: Rules, found: Judgement): string[] | null {
  const { lowest, highest } = found;
  if (lowest === null || highest === null || lowest.index === highest.index) return null;
  return rules.classes.slice(lowest.index, highest.index + 1).map((c) => c.id);
}

function rangeNames(rules: Rules, found: Judgement): string {
  const { lowest, highest } = found;
  if (lowest === null || highest === null) return 'no class';
  return rules.classes
    .slice(lowest.index, highest.index + 1)
    .map((c) => c.name)
    .join(' or ');
}

function openText(rules: Rules, found: Judgement): string {
  const causes: string[] = [];
  const todo: string[] = [];
  const { low, high } = { low: found.lowKBqPerM3, high: found.highKBqPerM3 };
  if (
    (found.permeability.cls === null || found.permeability.isThin) &&
    found.route === 'table' &&
    rules.scheme.table.kind === 'by-permeability'
  ) {
    causes.push(found.permeability.basis);
    todo.push('describe or measure the permeability at each point');
  }
  if (low !== null && high !== null && low !== high) {
    causes.push(
      Number.isFinite(high)
        ? `the ${rules.scheme.statistic.name} lies between ${format(low)} and ${format(high)} kBq/m3, ${boundText(found)}`
        : `the ${rules.scheme.statistic.name} is at least ${format(low)} kBq/m3, and nothing measured says how high it can be, ${boundText(found)}`,
    );
    todo.push('draw the samples that carry only a bound again, at least 1.5 m off');
  }
  return `No single class: ${causes.join('; ')}. It can be ${rangeNames(rules, found)}. To settle it, ${todo.join(' and ')}.`;
}

function boundText(found: Judgement): string {
  const parts: string[] = [];
  const { lowerBounds, valid } = found.sets;
  const nonDetects = valid.filter((p) => p.isNonDetect).map((p) => p.label);
  if (lowerBounds.length > 0) {
    parts.push(
      `reading low: ${lowerBounds.map((b) => `${b.label} at least ${format(b.boundKBqPerM3)}`).join(', ')}`,
    );
  }
  if (nonDetects.length > 0) parts.push(`not detected: ${nonDetects.join(', ')}`);
  return `as some points are known only by a bound (${parts.join('; ')})`;
}

function decidedBy(rules: Rules, found: Judgement): string {
  const { outcome, statisticKBqPerM3: value } = found;
  const settled = outcome ?? found.lowest;
  if (settled === null || value === null || rangeOf(rules, found) !== null) return openText(rules, found);
  const { scheme } = rules;
  const name = rules.classes[settled.index]?.name ?? '';
  const rule = scheme.statistic.kind === 'quantile' ? `, ${QUANTILE_RULE_NAMES[found.rule]}` : '';
  // Only non-detects leave the statistic open, and only downwards.
  const isAtMost = found.lowKBqPerM3 !== value && found.sets.lowerBounds.length === 0;
  const beside = formatBeside(value, settled.route === 'table' ? settled.limits : []);
  const statistic = `${scheme.statistic.name} of ${found.sets.valid.length} valid points is ${isAtMost ? 'at most ' : ''}${beside} kBq/m3${rule}`;
  if (outcome === null)
    return `The ${statistic}: ${name}, whatever the permeability (${found.permeability.basis}).`;
  const border =
    outcome.onBorder === null
      ? ''
      : ` It stands exactly on the border ${outcome.onBorder.value}. ${scheme.border.note}`;
  if (outcome.route === 'potential' && outcome.potential !== null && scheme.potential !== null) {
    return (
      `${capital(scheme.potential.name)} ${offsetText(scheme.potential.offset.value)} / (-log10 k - 10) = ${formatBeside(outcome.potential, outcome.limits)}, ` +
      `${spanText(outcome, '')}: ${name}. The ${statistic}; ${found.permeability.basis}.${border}`
    );
  }
  const ground = scheme.table.kind === 'by-permeability' ? ` for ${found.permeability.cls} permeability` : '';
  const basis = scheme.table.kind === 'by-permeability' ? ` Permeability: ${found.permeability.basis}.` : '';
  return `The ${statistic}, ${spanText(outcome, ' kBq/m3')}${ground}: ${name}.${basis}${border}`;
}

function offsetText(offset: number): string {
  return offset === 0 ? 'cA' : `(cA - ${offset})`;
}

function spanText(outcome: Outcome, unit: string): string {
  const from = outcome.limits[outcome.index - 1];
  const to = outcome.limits[outcome.index];
  if (from === undefined) return `under ${to?.value}${unit}`;
  return to === undefined
    ? `at or over ${from.value}${unit}`
    : `from ${from.value} to under ${to.value}${unit}`;
}

function wouldChange(rules: Rules, found: Judgement): string[] {
  const { outcome, statisticKBqPerM3: value, permeability } = found;
  if (outcome === null || value === null) return [];
  const { scheme } = rules;
  const lines: string[] = [];
  const toStatistic = (limit: number) =>
    outcome.route === 'potential' && permeability.statisticM2 !== null && scheme.potential !== null
      ? limit * (-Math.log10(permeability.statisticM2) - 10) + scheme.potential.offset.value
      : limit;
  const up = outcome.limits[outcome.index];
  const down = outcome.limits[outcome.index - 1];
  const nameAt = (index: number) => rules.classes[index]?.name ?? '';
  if (up !== undefined) {
    const target = toStatistic(up.value);
    lines.push(
      `The ${scheme.statistic.name} would have to rise by ${format(target - value)} kBq/m3 to ${format(target)} kBq/m3 for ${nameAt(outcome.index + 1)}.`,
    );
  }
  if (down !== undefined) {
    const target = toStatistic(down.value);
    lines.push(
      `The ${scheme.statistic.name} would have to fall by ${format(value - target)} kBq/m3 to under ${format(target)} kBq/m3 for ${nameAt(outcome.index - 1)}.`,
    );
  }
  if (outcome.route === 'table' && scheme.table.kind === 'by-permeability') {
    for (const cls of ['low', 'medium', 'high'] as const) {
      if (cls === permeability.cls) continue;
      const other = evaluate(rules, value, { cls, statisticM2: null }, 'table');
      if (other !== null && other.index !== outcome.index)
        lines.push(`With ${cls} permeability it would be ${nameAt(other.index)}.`);
    }
  }
  return lines;
}

function alternatives(
  rules: Rules,
  found: Judgement,
  perProbe: readonly ProbeValue[],
  unruled: readonly ProbeValue[],
  added: readonly AddedProbe[],
): ClassAlternative[] {
  if (rules.classes.length < 2) return [];
  const list: ClassAlternative[] = [];
  const { scheme } = rules;
  const { statisticKBqPerM3: value, outcome, permeability } = found;
  const add = (what: string, statisticKBqPerM3: number | null, at: Outcome | null) => {
    const cls = at === null ? undefined : rules.classes[at.index];
    list.push({
      what,
      statisticKBqPerM3,
      classId: cls?.id ?? null,
      className: cls?.name ?? null,
      isWithoutRulings: false,
      isWithoutAdded: false,
    });
  };
  const ungoverned = judge(rules, unruled, found.rule);
  list.push({ ...outcomeOf(rules, ungoverned, 'Without rulings'), isWithoutRulings: true });
  if (added.length > 0) {
    const ids = new Set(added.map((p) => p.id));
    const first = judge(
      rules,
      perProbe.filter((p) => !ids.has(p.probeId)),
      found.rule,
    );
    const what = `Without the ${added.length === 1 ? 'added probe' : `${added.length} added probes`}`;
    list.push({ ...outcomeOf(rules, first, what), isWithoutAdded: true });
  }
  if (value === null) return list;
  if (found.isShort) add('Not a class: what the valid points alone would say', value, outcome);
  if (scheme.statistic.kind === 'quantile') {
    for (const rule of QUANTILE_RULES) {
      if (rule === found.rule) continue;
      const j = judge(rules, perProbe, rule);
      add(`Other quartile rule: ${QUANTILE_RULE_NAMES[rule]}`, j.statisticKBqPerM3, j.outcome);
    }
  }
  addOtherStatistics(rules, found, add);
  addRaised(rules, found, value, add);
  if (found.sets.lowerBounds.length > 0 || found.sets.valid.some((p) => p.isNonDetect)) {
    const atLow = found.lowKBqPerM3 ?? value;
    const atHigh = found.highKBqPerM3 ?? value;
    add(
      'Bounds: every point that has only a bound as low as it can be',
      atLow,
      evaluate(rules, atLow, permeability, found.route),
    );
    add(
      'Bounds: every point that has only a bound as high as it can be',
      Number.isFinite(atHigh) ? atHigh : null,
      evaluate(rules, atHigh, permeability, found.route),
    );
  }
  addRoutes(rules, found, value, add);
  if (outcome?.onBorder != null) {
    const other = {
      ...outcome,
      index: scheme.border.belongsTo === 'higher' ? outcome.index - 1 : outcome.index + 1,
    };
    add(`Border ${outcome.onBorder.value} put to the other side`, value, other);
  }
  return list;
}

/** A statistic that no source confirms is not the only one that a reader may have in mind. */
function addOtherStatistics(rules: Rules, found: Judgement, add: Add): void {
  const { scheme } = rules;
  if (scheme.statistic.kind === 'quantile' || scheme.statistic.mark === 'read') return;
  const radon = found.sets.valid.map((p) => p.radonKBqPerM3);
  const others = [
    { name: 'third quartile', value: quantile(radon, 0.75, 'linear-n-1') },
    { name: 'median', value: quantile(radon, 0.5, 'linear-n-1') },
  ];
  for (const { name, value } of others)
    add(`Other statistic: ${name}`, value, evaluate(rules, value, found.permeability, found.route));
}

function outcomeOf(rules: Rules, j: Judgement, counted: string): ClassAlternative {
  const base = {
    what: counted,
    statisticKBqPerM3: j.statisticKBqPerM3,
    isWithoutRulings: false,
    isWithoutAdded: false,
  };
  if (j.isShort) {
    const what = `${counted}: refused, ${j.sets.valid.length} valid points`;
    return { ...base, what, classId: null, className: null };
  }
  if (rangeOf(rules, j) !== null) return { ...base, classId: null, className: rangeNames(rules, j) };
  const at = j.outcome ?? j.lowest;
  const cls = at === null ? undefined : rules.classes[at.index];
  return { ...base, classId: cls?.id ?? null, className: cls?.name ?? null };
}

function addRoutes(rules: Rules, found: Judgement, value: number, add: Add): void {
  const { scheme } = rules;
  const { permeability } = found;
  if (scheme.table.kind === 'by-permeability') {
    if (found.route === 'potential') {
      add(
        `Table by permeability class (${permeability.cls})`,
        value,
        evaluate(rules, value, permeability, 'table'),
      );
    }
    if (permeability.cls === null) {
      for (const cls of ['low', 'medium', 'high'] as const) {
        add(`If permeability is ${cls}`, value, evaluate(rules, value, { cls, statisticM2: null }, 'table'));
      }
    }
    if (permeability.open !== null && permeability.open.most !== permeability.cls) {
      const { missing, most } = permeability.open;
      add(
        `If every one of the ${missing} points without a permeability class is highly permeable (${most} for the lot)`,
        value,
        evaluate(rules, value, { cls: most, statisticM2: null }, 'table'),
      );
    }
    if (permeability.worst !== null && permeability.worst !== permeability.cls) {
      const worst = { cls: permeability.worst, statisticM2: null };
      add(
        `Most permeable class among the points (${permeability.worst}) for the whole lot`,
        value,
        evaluate(rules, value, worst, 'table'),
      );
    }
  }
  if (scheme.potential === null || found.route === 'potential') return;
  const { name, undefinedFromM2 } = scheme.potential;
  if (permeability.statisticM2 === null) {
    add(`${capital(name)}: not to be had, since permeability was not measured at enough points`, value, null);
  } else {
    add(
      `${capital(name)}: undefined, k = ${format(permeability.statisticM2)} m2 is not under ${undefinedFromM2.value} m2; toward it the potential grows beyond any limit, so the table may be too lenient here`,
      value,
      null,
    );
  }
}
