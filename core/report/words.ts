/** Numbers and sentences as the report prints them. */

import type {
  Flag,
  Measured,
  RulingVerdict,
  Sample,
  SampleAssessment,
  Treatment,
} from '../contract/model.ts';
import { formatNumber } from '../contract/project-words.ts';
import type { ClassAlternative, ClassResult } from '../contract/results.ts';
import type { FigureSheet } from '../figure/figure-model.ts';
import { formatBothUnits, formatExpanded, formatMeasured } from '../figure/words.ts';
import { fromKBqPerM3 } from '../units.ts';

export type Unit = 'kBq/m3' | 'pCi/L';

export const NOT_RECORDED = 'not recorded';

export const TREATMENT_WORDS: Record<Treatment, string> = {
  use: 'used',
  'lower-bound': 'lower bound',
  'leave-out': 'left out',
  'no-value': 'no value',
};

export const VERDICT_WORDS: Record<RulingVerdict, string> = {
  use: 'use',
  'leave-out': 'leave out',
  'lower-bound': 'take as a lower bound',
};

const KIND_WORDS: Record<Sample['kind'], string> = {
  grab: 'grab',
  duplicate: 'duplicate',
  repeat: 'repeat',
  blank: 'blank',
};

/** A file of the program's own documentation is named in words: whoever reads a report cannot open it. */
export function sourceWords(source: string): string {
  return source.replace(/docs\/[a-z-]+\.md/g, "this program's documentation");
}

/** Job, sheet, its revision and date as its maker counts them; empty where none is given. */
export function sheetNumbers({ jobNumber, sheetNumber, revision, date }: FigureSheet): string {
  return [
    ...(jobNumber === undefined ? [] : [`job ${jobNumber}`]),
    ...(sheetNumber === undefined ? [] : [`sheet ${sheetNumber}`]),
    ...(revision === undefined ? [] : [`revision ${revision}`]),
    ...(date === undefined ? [] : [`dated ${date}`]),
  ].join(', ');
}

/** '0.41 to 0.81', or the one value where both ends print alike. */
export function spanOf(values: readonly number[], digits = 3): string {
  const [low, high] = [plain(Math.min(...values), digits), plain(Math.max(...values), digits)];
  return low === high ? low : `${low} to ${high}`;
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** '2025-05-06 07:20 UTC', or that it is not recorded. */
export function timeText(utc: string | null): string {
  return utc === null ? NOT_RECORDED : `${utc.slice(0, 16).replace('T', ' ')} UTC`;
}

export function sampleText(sample: Sample): string {
  return `${KIND_WORDS[sample.kind]}, ${timeText(sample.takenUtc)}`;
}

/** A number with the digits it came with, or a dash. */
export function plain(value: number | null, digits = 6): string {
  return value === null ? '–' : String(Number(value.toPrecision(digits)));
}

/** Combined standard uncertainty of a value, kBq/m3 (JCGM 100:2008, 5.1.2). */
export function standardU(measured: Measured): number | null {
  if (measured.kind !== 'value') return null;
  return Math.hypot(measured.randomUKBqPerM3, measured.commonURel * measured.estimateKBqPerM3);
}

export function otherUnit(unit: Unit): Unit {
  return unit === 'kBq/m3' ? 'pCi/L' : 'kBq/m3';
}

/** Value and expanded uncertainty, k = 2, in one unit and the value in the other: three cells of a table. */
export function valueCells(
  measured: Measured,
  unit: Unit,
): readonly [value: string, expanded: string, other: string] {
  return [
    formatMeasured(measured, unit),
    formatExpanded(measured, unit),
    measured.kind === 'none' ? '' : formatMeasured(measured, otherUnit(unit)),
  ];
}

/** What was found, its numbers, their limits, and under which number the source of the rule is listed. */
export function flagText(flag: Flag, sourceNumber: number): string {
  const evidence = flag.evidence
    .map(({ what, value, limit, unit }) => {
      const said = (given: number | string): string =>
        `${typeof given === 'number' ? plain(given, 4).replace('-', '−') : given}${unit === '' ? '' : ` ${unit}`}`;
      return `${what} ${said(value)}${limit === null ? '' : `, limit ${said(limit)}`}`;
    })
    .join('; ');
  const numbers = evidence === '' ? '' : ` [${evidence}]`;
  return `${capital(flag.weight)}: ${flag.message}${numbers} (${sourceNumber})`;
}

export function rulingText({ ruling }: SampleAssessment): string {
  if (ruling === null) return '';
  return `Ruling: ${VERDICT_WORDS[ruling.verdict]}; ${ruling.actor}, ${timeText(ruling.atUtc)}; reason: ${ruling.reason}`;
}

/** The class, both classes, or that there is none, in the fewest words. */
export function classHeadline(result: ClassResult): string {
  if (result.refusal !== null) return 'No class';
  if (result.range !== null && result.range.length > 1) return `Not settled: ${result.range.join(' or ')}`;
  return capital(result.className ?? result.classId ?? 'No class');
}

export function alternativeText(alternative: ClassAlternative, unit: Unit): string {
  const { statisticKBqPerM3: value, className } = alternative;
  return `${capital(className ?? 'no class')}${value === null ? '' : `, at ${formatBothUnits(value, unit)}`}`;
}

export function radonText(valueKBqPerM3: number | null, unit: Unit): string {
  return valueKBqPerM3 === null ? '–' : formatNumber(fromKBqPerM3(valueKBqPerM3, unit));
}

/** 'none', 'P1', or 'P1, P2 and 7 more'. */
export function nameSome(names: readonly string[], most = 12): string {
  if (names.length === 0) return 'none';
  const rest = names.length - most;
  return rest > 0 ? `${names.slice(0, most).join(', ')} and ${rest} more` : names.join(', ');
}

/** A reason that begins with the name of its own probe, without it. */
export function withoutLabel(reason: string, label: string): string {
  return reason.startsWith(`${label}: `) ? reason.slice(label.length + 2) : reason;
}

/** One line for each reason, with the names of all it holds for: 'T1, T2: a probe in water gives no gas value'. */
export function groupReasons(
  reasons: readonly { readonly label: string; readonly reason: string }[],
): string[] {
  const names = new Map<string, string[]>();
  for (const { label, reason } of reasons) {
    const plainReason = withoutLabel(reason, label);
    names.set(plainReason, [...(names.get(plainReason) ?? []), label]);
  }
  return [...names].map(([reason, labels]) => `${nameSome([...new Set(labels)], 40)}: ${reason}`);
}

export function countOf(count: number, noun: string): string {
  return `${count === 0 ? 'no' : count} ${noun}${count === 1 ? '' : 's'}`;
}
