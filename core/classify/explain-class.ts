/** Why a class came out, in words. */
import { capital } from '../text.ts';
import { evaluate, format, formatBeside, type Outcome, type Rules } from './evaluate.ts';
import type { Judgement } from './judge.ts';
import { QUANTILE_RULE_NAMES } from './quantile.ts';

/** Ids of the classes left open, lowest first; null where there is only one. */
export function rangeOf(rules: Rules, found: Judgement): string[] | null {
  const { lowest, highest } = found;
  if (lowest === null || highest === null || lowest.index === highest.index) return null;
  return rules.classes.slice(lowest.index, highest.index + 1).map((c) => c.id);
}

/** Names of the classes left open, as text. */
export function rangeNames(rules: Rules, found: Judgement): string {
  const { lowest, highest } = found;
  if (lowest === null || highest === null) return 'no class';
  return rules.classes
    .slice(lowest.index, highest.index + 1)
    .map((c) => c.name)
    .join(' or ');
}

/** Only non-detects leave the statistic open, and only downwards. */
export function isAtMost({ lowKBqPerM3, statisticKBqPerM3, sets }: Judgement): boolean {
  return statisticKBqPerM3 !== null && lowKBqPerM3 !== statisticKBqPerM3 && sets.lowerBounds.length === 0;
}

/** Which number met which limit of the scheme. */
export function decidedBy(rules: Rules, found: Judgement): string {
  const { outcome, statisticKBqPerM3: value } = found;
  const settled = outcome ?? found.lowest;
  if (settled === null || value === null || rangeOf(rules, found) !== null) return openText(rules, found);
  const { scheme } = rules;
  const name = rules.classes[settled.index]?.name ?? '';
  const rule = scheme.statistic.kind === 'quantile' ? `, ${QUANTILE_RULE_NAMES[found.rule]}` : '';
  const beside = formatBeside(value, settled.route === 'table' ? settled.limits : []);
  const statistic = `${scheme.statistic.name} of ${found.sets.valid.length} valid points is ${isAtMost(found) ? 'at most ' : ''}${beside} kBq/m3${rule}`;
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

/** Why there is no single class, which it can be, and how to settle it. */
export function openText(rules: Rules, found: Judgement): string {
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

/** What the statistic or the permeability would have to be for another class. */
export function wouldChange(rules: Rules, found: Judgement): string[] {
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
