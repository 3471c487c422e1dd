import {
  crewSaid,
  fallingRepeat,
  outsideGases,
  reachOverDepth,
  tooLittleRadon,
  tooLittleSuction,
  tracerFound,
} from './dilution-rules.ts';
import type { Finding, RuleInput } from './finding.ts';
import {
  bareValue,
  blank,
  dryer,
  duplicates,
  noFlow,
  shallow,
  shortPurge,
  shutInTest,
  water,
} from './quality-rules.ts';

const RULES: readonly ((input: RuleInput) => Finding | null)[] = [
  crewSaid,
  tracerFound,
  outsideGases,
  tooLittleRadon,
  tooLittleSuction,
  fallingRepeat,
  reachOverDepth,
  water,
  noFlow,
  shallow,
  shortPurge,
  shutInTest,
  dryer,
  duplicates,
  blank,
  bareValue,
];

/** Findings of one sample and its probe, in the order in which they are shown. */
export function findOwn(input: RuleInput): Finding[] {
  return RULES.flatMap((rule) => rule(input) ?? []);
}
