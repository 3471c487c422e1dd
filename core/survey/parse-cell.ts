/** What one cell of a table says. A cell is never guessed at: what can be read two ways is refused with the reason. */

export type DecimalSign = '.' | ',';

export type ParsedNumber =
  | { readonly kind: 'number'; readonly value: number }
  /** Written as `<12`. */
  | { readonly kind: 'below'; readonly value: number }
  /** Written as `>12`. */
  | { readonly kind: 'above'; readonly value: number }
  | { readonly kind: 'missing' }
  /** Written as `n.d.`: looked for and not found, without the limit. */
  | { readonly kind: 'not-detected' }
  | { readonly kind: 'bad'; readonly problem: string };

const MISSING = new Set([
  '',
  '-',
  '--',
  '---',
  '–',
  '—',
  '/',
  '.',
  '?',
  'na',
  'n/a',
  'n.a.',
  'nan',
  'null',
  'none',
  'nil',
]);
const NOT_DETECTED = new Set(['nd', 'n.d.', 'n.d', 'n/d', 'not detected', 'bdl', 'u.b.', 'n.n.', 'n. n.']);

/**
 * Reads a number written with the file's decimal sign. Grouping signs are accepted only where they cannot be
 * a decimal sign: `1,234.5`, `1 234,5`, `1,234,567`; `1,234` under a decimal point is refused.
 */
export function parseNumber(cell: string, decimal: DecimalSign): ParsedNumber {
  const text = cell
    .replace(/[\u00a0\u2007\u2009\u202f]/g, ' ')
    .trim()
    .replace(/[\u2212\u2012]/g, '-');
  const lower = text.toLowerCase();
  if (MISSING.has(lower)) return { kind: 'missing' };
  if (NOT_DETECTED.has(lower)) return { kind: 'not-detected' };
  // '<' and the name of a limit, without the limit itself.
  if (/^[<≤]\s*(?:lod|dl|mdl|mda|lld|loq|limit)$/u.test(lower)) return { kind: 'not-detected' };
  const sign = /^(<=?|>=?|≤|≥)\s*(.*)$/u.exec(text);
  const body = sign?.[2] ?? text;
  const number = readPlainNumber(body, decimal);
  if (typeof number === 'string') return { kind: 'bad', problem: number };
  if (sign === null) return { kind: 'number', value: number };
  return { kind: /^[<≤]/u.test(text) ? 'below' : 'above', value: number };
}

/** The number, or what is wrong with it in words. */
function readPlainNumber(text: string, decimal: DecimalSign): number | string {
  const exponent = /^(.*?\d[.,]?)\s*[eE]\s*([+-]?\d{1,3})$/.exec(text);
  const mantissaText = exponent?.[1] ?? text;
  const sign = /^[+-]/.exec(mantissaText)?.[0] ?? '';
  const digits = mantissaText.slice(sign.length);
  if (!/^[\d.,' ’]*\d[\d.,' ’]*$/.test(digits)) return describeNonNumber(text);
  const plain = ungroup(digits, decimal);
  if (plain.problem !== null) return plain.problem;
  const value = Number(`${sign}${plain.text}${exponent === null ? '' : `e${exponent[2]}`}`);
  if (!Number.isFinite(value)) return `'${text}' is too large to be a number here`;
  return value;
}

function ungroup(digits: string, decimal: DecimalSign): { text: string; problem: string | null } {
  const other = decimal === '.' ? ',' : '.';
  const refuse = (problem: string) => ({ text: '', problem });
  const parts = digits.split(decimal);
  if (parts.length > 2) {
    // 1.234.567 under a decimal point can only be grouping, but then the decimal sign of the file is doubtful.
    return refuse(`'${digits}' has the decimal sign '${decimal}' more than once`);
  }
  const whole = parts[0] ?? '';
  const fraction = parts[1];
  if (fraction !== undefined && !/^\d*$/.test(fraction)) {
    return refuse(
      `'${digits}' mixes '.' and ',' so that it cannot be read; the file's decimal sign is '${decimal}'`,
    );
  }
  if (/^\d*$/.test(whole))
    return { text: fraction === undefined ? whole : `${whole || '0'}.${fraction}`, problem: null };
  const grouping = /^\d{1,3}(?:([., '’])\d{3})(?:\1\d{3})*$/.exec(whole)?.[1];
  if (grouping === undefined) {
    return whole.includes(other)
      ? refuse(`'${digits}' is written with '${other}' while the file's decimal sign is '${decimal}'`)
      : refuse(describeNonNumber(digits));
  }
  const groups = whole.split(grouping).length - 1;
  if (grouping === other && groups === 1 && fraction === undefined) {
    return refuse(
      `'${digits}' can be read two ways (thousands or decimals); the file's decimal sign is '${decimal}': ` +
        'write it without grouping, or choose the other decimal sign',
    );
  }
  const joined = whole.split(grouping).join('');
  return { text: fraction === undefined ? joined : `${joined}.${fraction}`, problem: null };
}

function describeNonNumber(text: string): string {
  const withUnit = /^[+-]?[\d.,]+\s*[^\d\s.,].*$/.exec(text);
  if (withUnit !== null) return `'${text}' is a number with text behind it: leave the unit to the header`;
  return `'${text}' is not a number`;
}

const YES = new Set([
  'yes',
  'y',
  'true',
  '1',
  'x',
  'ja',
  'j',
  'oui',
  'si',
  'sí',
  'ano',
  'a',
  'tak',
  't',
  '✓',
  '✔',
]);
const NO = new Set(['', 'no', 'n', 'false', '0', '-', 'nein', 'non', 'ne', 'nie', 'f', 'none', 'na', 'n/a']);

/** true or false for a yes/no word, null where the cell is neither. An empty cell is 'no': nothing was noted. */
export function parseYesNo(cell: string): boolean | null {
  const word = cell.trim().toLowerCase();
  if (YES.has(word)) return true;
  if (NO.has(word)) return false;
  return null;
}

export type DateOrder = 'day-first' | 'month-first' | 'unknown';

export type ParsedDate =
  | { readonly kind: 'date'; readonly utc: string; readonly zoneGiven: boolean }
  | { readonly kind: 'missing' }
  | { readonly kind: 'ambiguous'; readonly problem: string }
  | { readonly kind: 'bad'; readonly problem: string };

const ISO = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T\s]+(.+))?$/;
const DOTTED = /^(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})(?:[,\s]+(.+))?$/;
const SLASHED = /^(\d{1,2})[/-](\d{1,2})[/-](\d{4})(?:[,\s]+(.+))?$/;
/** '12 May 2026', '12-May-2026' and 'May 12, 2026': a month in letters leaves no doubt. */
const DAY_NAMED = /^(\d{1,2})[\s.-]+([A-Za-z]{3,9})\.?[\s.,-]+(\d{4})(?:[,\s]+(.+))?$/;
const NAMED_DAY = /^([A-Za-z]{3,9})\.?\s+(\d{1,2}),?\s+(\d{4})(?:[,\s]+(.+))?$/;
/** ISO 8601, basic form. */
const COMPACT = /^(\d{4})(\d{2})(\d{2})(?:T(\d{2})(\d{2})(?:\d{2})?(Z?))?$/;
const MONTHS = [
  'january',
  'february',
  'march',
  'april',
  'may',
  'june',
  'july',
  'august',
  'september',
  'october',
  'november',
  'december',
];
const TIME = /^(\d{1,2})[:.](\d{2})(?::(\d{2})(?:\.\d+)?)?\s*([AaPp][Mm])?\s*(Z|z|UTC|[+-]\d{2}:?\d{2})?$/;

/**
 * Order of day and month in a column written with slashes, from the cells that can be read only one way.
 * 'unknown' where no cell decides or two cells contradict each other.
 */
export function inferDateOrder(cells: readonly string[]): DateOrder {
  let day = false;
  let month = false;
  for (const cell of cells) {
    const match = SLASHED.exec(cell.trim());
    if (match === null) continue;
    if (Number(match[1]) > 12) day = true;
    if (Number(match[2]) > 12) month = true;
  }
  if (day === month) return 'unknown';
  return day ? 'day-first' : 'month-first';
}

/**
 * ISO 8601, `DD.MM.YYYY`, slashed dates or a month in English letters, each with an optional time. A time that names no zone is of the column's
 * clock; where that is not known either it is taken as UTC (`zoneGiven` false). A slashed date that can be read two
 * ways is 'ambiguous' unless `order` decides.
 * @param columnZoneMinutes the column's clock ahead of UTC; null where nothing says
 */
export function parseDate(
  cell: string,
  order: DateOrder,
  columnZoneMinutes: number | null = null,
): ParsedDate {
  const text = cell.trim();
  if (MISSING.has(text.toLowerCase())) return { kind: 'missing' };
  const build = (year: number, month: number, day: number, time: string | undefined) =>
    buildDate(text, year, month, day, time, columnZoneMinutes);
  const iso = ISO.exec(text);
  if (iso !== null) return build(Number(iso[1]), Number(iso[2]), Number(iso[3]), iso[4]);
  const dotted = DOTTED.exec(text);
  if (dotted !== null) return build(Number(dotted[3]), Number(dotted[2]), Number(dotted[1]), dotted[4]);
  const slashed = SLASHED.exec(text);
  if (slashed !== null) {
    const first = Number(slashed[1]);
    const second = Number(slashed[2]);
    const year = Number(slashed[3]);
    let dayFirst = order === 'day-first';
    if (first > 12) dayFirst = true;
    else if (second > 12) dayFirst = false;
    else if (order === 'unknown' && first !== second) {
      return {
        kind: 'ambiguous',
        problem: `'${text}' can be ${first} of month ${second} or ${second} of month ${first}: write dates as YYYY-MM-DD`,
      };
    }
    return dayFirst ? build(year, second, first, slashed[4]) : build(year, first, second, slashed[4]);
  }
  const named = DAY_NAMED.exec(text);
  const monthFirst = NAMED_DAY.exec(text);
  const month = monthOf(named?.[2] ?? monthFirst?.[1] ?? '');
  if (named !== null && month > 0) return build(Number(named[3]), month, Number(named[1]), named[4]);
  if (monthFirst !== null && month > 0)
    return build(Number(monthFirst[3]), month, Number(monthFirst[2]), monthFirst[4]);
  const compact = COMPACT.exec(text);
  if (compact !== null) {
    const [, year, monthText, day, hour, minute, zone = ''] = compact;
    const time = hour === undefined ? undefined : `${hour}:${minute}${zone}`;
    return build(Number(year), Number(monthText), Number(day), time);
  }
  if (/^\d{1,2}[./-]\d{1,2}[./-]\d{2}(?!\d)/.test(text)) {
    return {
      kind: 'bad',
      problem: `'${text}' has a year of two digits, which can be read several ways: write it as YYYY-MM-DD`,
    };
  }
  if (/^\d{5}([.,]\d+)?$/.test(text)) {
    return {
      kind: 'bad',
      problem: `'${text}' looks like a spreadsheet's day number: format the column as YYYY-MM-DD`,
    };
  }
  return { kind: 'bad', problem: `'${text}' is not a date: write it as YYYY-MM-DD or YYYY-MM-DDThh:mm` };
}

/** 1 to 12 for an English month or its first letters, three at least; 0 for anything else. */
function monthOf(word: string): number {
  const lower = word.toLowerCase();
  return lower.length < 3 ? 0 : 1 + MONTHS.findIndex((month) => month.startsWith(lower));
}

function buildDate(
  text: string,
  year: number,
  month: number,
  day: number,
  time: string | undefined,
  columnZoneMinutes: number | null,
): ParsedDate {
  let hour = 0;
  let minute = 0;
  let second = 0;
  let offsetMinutes = 0;
  let zoneGiven = columnZoneMinutes !== null;
  if (time !== undefined && time.trim() !== '') {
    const match = TIME.exec(time.trim());
    if (match === null)
      return { kind: 'bad', problem: `'${text}' has a time that cannot be read: write it as hh:mm` };
    hour = Number(match[1]);
    minute = Number(match[2]);
    second = Number(match[3] ?? 0);
    const half = match[4]?.toLowerCase();
    if (half !== undefined) {
      if (hour < 1 || hour > 12) return { kind: 'bad', problem: `'${text}' has hour ${hour} with am/pm` };
      hour = (hour % 12) + (half === 'pm' ? 12 : 0);
    }
    const zone = match[5];
    zoneGiven = zone !== undefined || columnZoneMinutes !== null;
    if (zone === undefined) offsetMinutes = columnZoneMinutes ?? 0;
    if (zone !== undefined && /^[+-]/.test(zone)) {
      const zoneDigits = zone.slice(1).replace(':', '');
      const minutes = Number(zoneDigits.slice(0, 2)) * 60 + Number(zoneDigits.slice(2));
      offsetMinutes = zone.startsWith('-') ? -minutes : minutes;
    }
  }
  const daysInMonth = new Date(Date.UTC(year, month, 0)).getUTCDate();
  if (month < 1 || month > 12 || day < 1 || day > daysInMonth || hour > 23 || minute > 59 || second > 59) {
    return { kind: 'bad', problem: `'${text}' is not a date of the calendar` };
  }
  const utc = new Date(Date.UTC(year, month - 1, day, hour, minute - offsetMinutes, second));
  return { kind: 'date', utc: utc.toISOString().replace('.000Z', 'Z'), zoneGiven };
}
