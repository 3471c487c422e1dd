import type { ClassAlternative } from '../contract/results.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { capital } from '../text.ts';
import type { AddedProbe } from './added.ts';
import { evaluate, format, type Outcome, type Rules } from './evaluate.ts';
import { rangeNames, rangeOf } from './explain-class.ts';
import { type Judgement, judge } from './judge.ts';
import { QUANTILE_RULE_NAMES, QUANTILE_RULES, quantile } from './quantile.ts';
import { type Add, addRaised } from './raised.ts';

/** The outcome without rulings, without added probes, and by every other reading of the scheme that a reader may have in mind. */
export function alternatives(
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
