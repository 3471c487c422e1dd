/** Limits that a scheme raises for ground as it describes: what they would change, and what to say once one is chosen. */
import { evaluate, makeRules, type Outcome, type Rules } from './evaluate.ts';
import type { Judgement } from './judge.ts';
import { markWords } from './unconfirmed.ts';

/** Takes an alternative to the outcome. */
export type Add = (what: string, statistic: number | null, at: Outcome | null) => void;

/** The ordinary limits where one is raised, and every other raised limit. */
export function addRaised(rules: Rules, found: Judgement, value: number, add: Add): void {
  const { scheme, raised } = rules;
  if (raised !== null)
    add(
      'With the ordinary limits of the scheme, no limit raised',
      value,
      evaluate(makeRules(scheme, []), value, found.permeability, found.route),
    );
  for (const limit of scheme.raised ?? []) {
    if (limit.id === raised?.id) continue;
    const other = makeRules(scheme, [], limit.id);
    const words = markWords(limit.mark);
    add(
      `With the limit ${limit.value} ${limit.unit} ${limit.ground} (${words === null ? '' : `unconfirmed: ${words}; `}choose it only with the text at hand)`,
      value,
      evaluate(other, value, found.permeability, found.route),
    );
  }
}

/** Said with the outcome itself, since not every page has room for the cautions. */
export function raisedText(rules: Rules, found: Judgement): string {
  const { raised, scheme } = rules;
  const { statisticKBqPerM3: value, permeability, route } = found;
  if (raised === null || value === null) return '';
  const ordinary = evaluate(makeRules(scheme, []), value, permeability, route);
  const name = ordinary === null ? 'no class' : rules.classes[ordinary.index]?.name;
  return ` The limit ${raised.value} ${raised.unit} ${raised.ground} was chosen; by the ordinary limits: ${name}.`;
}

/** A limit that somebody raised can make a false all-clear: it is said wherever the class stands. */
export function raisedCautions({ raised, scheme }: Rules): string[] {
  if (raised === null) return [];
  const words = markWords(raised.mark);
  const doubt = words === null ? '' : `, ${words}`;
  return [
    `The limit ${raised.value} ${raised.unit} ${raised.ground} was chosen in place of the ordinary one of ${scheme.name} (${scheme.sources[raised.source] ?? raised.source}${doubt}): the ground must be shown to be as described.`,
  ];
}
