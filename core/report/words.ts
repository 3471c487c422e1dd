/** Numbers and sentences as the report prints them. */
import type {
  Flag,
  Measured,
  ProjectFrame,
  RulingVerdict,
  Sample,
  SampleAssessment,
  Treatment,
} from '../contract/model.ts';
import type { ClassAlternative, ClassResult } from '../contract/results.ts';
import { formatBothUnits, formatMeasured, formatNumber } from '../figure/words.ts';
import { fromKBqPerM3, fromMetres } from '../units.ts';

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

/** To the millimetre, as many decimals in every row. */
export function depthCell(depthM: number | null): string {
  return depthM === null ? '–' : depthM.toFixed(3);
}

/** A file of the program's own documentation is named in words: whoever reads a report cannot open it. */
export function sourceWords(source: string): string {
  return source.replace(/docs\/[a-z-]+\.md/g, "this program's documentation");
}

/** Sentences made in kBq/m3, with the project's unit beside each value where that is another one. */
export function inUnit(text: string, unit: Unit): string {
  const given = text.replaceAll('kBq/m3', 'kBq/m³');
  if (unit === 'kBq/m3') return given;
  const other = (value: string) => formatNumber(fromKBqPerM3(Number(value), unit));
  return given.replace(
    /(\d+(?:\.\d+)?)(?: (to under|to) (\d+(?:\.\d+)?))? kBq\/m³(?! \(\d)/g,
    (all, first: string, between: string | undefined, second: string | undefined) =>
      second === undefined
        ? `${all} (${other(first)} ${unit})`
        : `${all} (${other(first)} ${between} ${other(second)} ${unit})`,
  );
}

/** Sentences made in metres, with feet beside them where the project is in feet. */
export function inLengths(text: string, frame: ProjectFrame): string {
  if (frame.unitLabel === 'm') return text;
  return text.replace(
    /(\d+(?:\.\d+)?)((?: m)? (?:to|by|×) (\d+(?:\.\d+)?))? m\b(?![²³2])/g,
    (all, first: string, _rest: string | undefined, second: string | undefined) => {
      const feet = (value: string) => formatNumber(fromMetres(Number(value), 'ft'), 3);
      return `${all} (${second === undefined ? feet(first) : `${feet(first)} to ${feet(second)}`} ft)`;
    },
  );
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

/** Value and expanded uncertainty, k = 2, in kBq/m3 and the value in pCi/L: three cells of a table. */
export function valueCells(measured: Measured): readonly [kBq: string, expanded: string, pCi: string] {
  const u = standardU(measured);
  return [
    formatMeasured(measured, 'kBq/m3'),
    u === null || u === 0 ? '' : `± ${formatNumber(2 * u, 2)}`,
    measured.kind === 'none' ? '' : formatMeasured(measured, 'pCi/L'),
  ];
}

/** What was found, its numbers, their limits, and under which number the source of the rule is listed. */
export function flagText(flag: Flag, sourceNumber: number): string {
  const evidence = flag.evidence
    .map(({ what, value, limit, unit }) => {
      const number = typeof value === 'number' ? formatNumber(value, 4) : value;
      const bound = limit === null ? '' : `, limit ${typeof limit === 'number' ? plain(limit) : limit}`;
      return `${what} ${number}${unit === '' ? '' : ` ${unit}`}${bound}`;
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

/** One line for each reason, with the names of all it holds for: 'T1, T2: a probe in water gives no gas value'. */
export function groupReasons(
  reasons: readonly { readonly label: string; readonly reason: string }[],
): string[] {
  const names = new Map<string, string[]>();
  for (const { label, reason } of reasons) {
    const plainReason = reason.startsWith(`${label}: `) ? reason.slice(label.length + 2) : reason;
    names.set(plainReason, [...(names.get(plainReason) ?? []), label]);
  }
  return [...names].map(([reason, labels]) => `${nameSome([...new Set(labels)], 40)}: ${reason}`);
}

export function countOf(count: number, noun: string): string {
  return `${count === 0 ? 'no' : count} ${noun}${count === 1 ? '' : 's'}`;
}
