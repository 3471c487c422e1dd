import type { ClassResult } from '../contract/results.ts';
import type { ProbeValue } from '../survey/reduce-probes.ts';
import { capital } from '../text.ts';
import { type AddedProbe, addedCautions, addedProbes } from './added.ts';
import { alternatives } from './alternatives.ts';
import { detectionCautions, placeCautions } from './cautions.ts';
import { findDoubts } from './doubts.ts';
import { format, makeRules, type Rules } from './evaluate.ts';
import { decidedBy, isAtMost, openText, rangeOf, wouldChange } from './explain-class.ts';
import { type Judgement, judge } from './judge.ts';
import { QUANTILE_RULE_NAMES, type QuantileRule } from './quantile.ts';
import { raisedCautions, raisedText } from './raised.ts';
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
    statisticIsAtMost: isAtMost(found),
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
