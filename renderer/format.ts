import type { Measured, NoValueReason, ProbeMark } from '../core/contract/model.ts';
import { fromKBqPerM3, fromMetres } from '../core/units.ts';

export type ShownRadonUnit = 'kBq/m3' | 'pCi/L';

const MINUS = '\u2212';

export function radonUnitLabel(unit: ShownRadonUnit): string {
  return unit === 'kBq/m3' ? 'kBq/m³' : 'pCi/L';
}

/** Three significant digits, never an exponent, true minus sign. */
export function formatNumber(value: number, significant = 3): string {
  if (!Number.isFinite(value)) return '–';
  if (value === 0) return '0';
  const decimals = Math.max(0, significant - 1 - Math.floor(Math.log10(Math.abs(value))));
  return fixed(value, Math.min(decimals, 8));
}

function fixed(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? MINUS + text : text;
}

export function formatRadon(valueKBqPerM3: number, unit: ShownRadonUnit): string {
  return formatNumber(fromKBqPerM3(valueKBqPerM3, unit));
}

/** A limit, level or setting: no digits that nobody chose. */
export function formatLevel(valueKBqPerM3: number, unit: ShownRadonUnit): string {
  return trimNumber(fromKBqPerM3(valueKBqPerM3, unit));
}

/** At most `significant` digits, without trailing zeros. */
export function trimNumber(value: number, significant = 3): string {
  return String(Number(value.toPrecision(significant))).replace('-', MINUS);
}

/** Value and expanded uncertainty (k = 2), both to the place of the uncertainty's second digit. */
export function formatWithUncertainty(estimate: number, standardU: number, unit: ShownRadonUnit): string {
  const value = fromKBqPerM3(estimate, unit);
  const expanded = 2 * fromKBqPerM3(standardU, unit);
  if (!(expanded > 0)) return formatNumber(value);
  const decimals = Math.max(0, Math.min(6, 1 - Math.floor(Math.log10(expanded))));
  return `${fixed(value, decimals)} ± ${fixed(expanded, decimals)}`;
}

/** Combined standard uncertainty of a value, its common part included. */
export function combinedU(measured: Extract<Measured, { kind: 'value' }>): number {
  return Math.hypot(measured.randomUKBqPerM3, measured.commonURel * measured.estimateKBqPerM3);
}

const NO_VALUE: Record<NoValueReason, string> = {
  water: 'water',
  'water-or-tight': 'no gas: water or tight',
  tight: 'no gas: tight',
  refused: 'refused',
  'no-reading': 'no reading',
  'left-out': 'left out',
  blank: 'blank',
};

export function formatMeasured(measured: Measured, unit: ShownRadonUnit): string {
  switch (measured.kind) {
    case 'value':
      return formatWithUncertainty(measured.estimateKBqPerM3, combinedU(measured), unit);
    case 'atLeast':
      return `≥ ${formatRadon(measured.boundKBqPerM3, unit)}`;
    case 'atMost':
      return `< ${formatRadon(measured.boundKBqPerM3, unit)}`;
    case 'none':
      return NO_VALUE[measured.reason];
  }
}

/** As at a probe on the map: the value without its uncertainty. */
export function formatMark(measured: Measured, unit: ShownRadonUnit): string {
  return measured.kind === 'value'
    ? formatRadon(measured.estimateKBqPerM3, unit)
    : formatMeasured(measured, unit);
}

/** The value at a probe's mark; one that was left out stands there all the same, so that no place looks empty. */
export function formatProbeMark(
  { measured, leftOut }: Pick<ProbeMark, 'measured' | 'leftOut'>,
  unit: ShownRadonUnit,
) {
  if (leftOut !== null && leftOut.kind !== 'none') return `${formatMark(leftOut, unit)} left out`;
  return measured === null || measured.kind === 'none' ? '' : formatMark(measured, unit);
}

/** Depths and distances: metres, or feet where the project's coordinates are in feet. */
export function formatLength(valueM: number, feet: boolean, decimals = 2): string {
  return `${fixed(feet ? fromMetres(valueM, 'ft') : valueM, decimals)} ${feet ? 'ft' : 'm'}`;
}

export function formatArea(areaM2: number, feet: boolean): string {
  const value = feet ? areaM2 / 0.3048 ** 2 : areaM2;
  return `${groupThousands(fixed(value, value < 1000 ? 1 : 0))} ${feet ? 'ft²' : 'm²'}`;
}

/** Coordinate in native units with as many decimals as a hundredth of a metre needs. */
export function formatCoordinate(value: number, decimals = 2): string {
  return groupThousands(fixed(value, decimals));
}

/** Thin spaces, so that neither a decimal comma nor a decimal point is mistaken. */
export function groupThousands(text: string): string {
  const [whole = '', part] = text.split('.');
  const grouped = whole.replace(/\B(?=(\d{3})+(?!\d))/g, '\u202f');
  return part === undefined ? grouped : `${grouped}.${part}`;
}

/** Powers of ten as printed: 4.0 × 10⁻¹². */
export function formatScientific(value: number): string {
  const [mantissa = '', exponent = '0'] = value.toExponential(1).split('e');
  const digits = '⁰¹²³⁴⁵⁶⁷⁸⁹';
  const raised = [...exponent.replace('+', '')]
    .map((c) => (c === '-' ? '⁻' : (digits[Number(c)] ?? '')))
    .join('');
  return `${mantissa} × 10${raised}`;
}

/** Suction as gauges are read: kPa from 1000 Pa up. */
export function formatPressure(valuePa: number): string {
  return Math.abs(valuePa) < 1000 ? `${trimNumber(valuePa)} Pa` : `${trimNumber(valuePa / 1000)} kPa`;
}

export function formatPercent(probability: number): string {
  const percent = probability * 100;
  if (percent > 0 && percent < 1) return '< 1 %';
  if (percent < 100 && percent > 99) return '> 99 %';
  return `${Math.round(percent)} %`;
}

/** A share of realisations: none of some hundreds is not never, and all of them is not always. */
export function formatChance(share: number): string {
  if (share < 0.01) return '< 1 %';
  return share > 0.99 ? '> 99 %' : formatPercent(share);
}

/** Units in sentences of the engine as they are printed: m3 and m2 with their raised digits. */
export function prettyUnits(text: string): string {
  return text
    .replace(/\bm3\b/g, 'm³')
    .replace(/\bm2\b/g, 'm²')
    .replace(/\)\^2/g, ')²');
}

/** Local date and minute; the record itself is in UTC. */
export function formatTime(utc: string): string {
  const date = new Date(utc);
  if (Number.isNaN(date.getTime())) return utc;
  const two = (n: number) => String(n).padStart(2, '0');
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())} ${two(date.getHours())}:${two(date.getMinutes())}`;
}

/** A reason without the name it begins with, for a list that names each line itself. */
export function withoutName(reason: string, name: string): string {
  return reason.startsWith(`${name}: `) ? reason.slice(name.length + 2) : reason;
}

/** First letter large, for what stands alone. */
export function capitalise(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export function plural(count: number, one: string, many = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`;
}
