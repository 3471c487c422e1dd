/** Courses of a traverse out of a table or of lines as pasted from a deed, each error with its row. */
import { type AngleUnit, findBearing, parseAngle, parseBearing, plainMarks } from '../geo/bearing.ts';
import { type Course, type Curve, chordDirectionDeg, endDirectionDeg } from '../geo/traverse.ts';
import { recogniseUnit } from '../survey/header-unit.ts';
import { parseNumber } from '../survey/parse-cell.ts';
import { toMetres } from '../units.ts';

export type CourseLengthUnit = 'm' | 'ft' | 'ft-us';

export interface CourseOptions {
  /** Of plain numbers without marks. */
  readonly angleUnit: AngleUnit;
  /** Of lengths that name none. */
  readonly lengthUnit: CourseLengthUnit;
}

export interface CourseRow {
  /** As an editor counts lines. */
  readonly row: number;
  readonly text: string;
  /** Null where the row has a problem. */
  readonly course: Course | null;
  /** In words; null for a course that was read. */
  readonly problem: string | null;
}

/** What a row says of its course, before what it leaves out is worked out. */
export interface CourseParts {
  readonly azimuthDeg: number | null;
  readonly lengthM: number | null;
  readonly radiusM: number | null;
  readonly deltaDeg: number | null;
  readonly arcM: number | null;
  readonly turn: 'left' | 'right' | null;
}

const MOST_ROWS = 2000;
/** Curve data of a deed is rounded to the centimetre or the hundredth of a foot. */
const CURVE_ROUNDING_M = 0.02;
const NUMBER = String.raw`-?(?:\d{1,3}(?:[ ,']\d{3})+(?:\.\d+)?|\d+(?:[.,]\d+)?)(?![\d.,]*\d)`;
/** Units that deeds use; those not taken are told from words that follow a length by chance. */
const UNIT = String.raw`(?:m|metres?|meters?|us\s*survey\s*f(?:ee|oo)?t|us[ -]?ft|ft-us|sft|feet|foot|ft|'|chains?|ch|links?|lks?|rods?|poles?|perch(?:es)?|varas?|yards?|yds?|km|cm|mm|inch(?:es)?|in)(?![A-Za-z])`;
const LENGTH = String.raw`(${NUMBER})\s*(${UNIT})?`;

type Field = 'bearing' | 'length' | 'radius' | 'delta' | 'arc' | 'turn';

const HEADERS: readonly (readonly [Field, RegExp])[] = [
  ['bearing', /^((chord )?(bearing|azimuth|direction|brg|az)|direction angle)$/i],
  ['length', /^(distance|length|dist|chord|chord (length|distance)|ground distance)$/i],
  ['radius', /^(radius|r)$/i],
  ['delta', /^(delta|central angle|δ)$/i],
  ['arc', /^(arc|arc length|curve length)$/i],
  ['turn', /^(turn|side|curve (to|direction)|left ?\/ ?right)$/i],
];

/** Whether these headers are those of a traverse: a direction and a length, or a curve. */
export function courseColumns(headers: readonly string[]): ReadonlyMap<Field, number> | null {
  const found = new Map<Field, number>();
  headers.forEach((header, i) => {
    const plain = header
      .replace(/[([{][^)\]}]*[)\]}]/g, ' ')
      .replace(/[_\s]+/g, ' ')
      .replace(/ (m|ft|gon|deg)$/i, '')
      .trim();
    const field = HEADERS.find(([name, words]) => words.test(plain) && !found.has(name))?.[0];
    if (field !== undefined) found.set(field, i);
  });
  return found.has('bearing') && found.has('length') ? found : null;
}

/**
 * Rows of a table with one column for each part.
 * @param headers - with their units: `azimuth (gon)`, `distance [ft]`
 */
export function readCourseTable(
  headers: readonly string[],
  rows: readonly { readonly row: number; readonly cells: readonly string[] }[],
  options: CourseOptions,
): CourseRow[] {
  const columns = courseColumns(headers) ?? new Map<Field, number>();
  const angleUnit = (field: Field): AngleUnit => {
    const header = headers[columns.get(field) ?? -1] ?? '';
    if (/\bgon\b|\bgrads?\b/i.test(header)) return 'gon';
    return /\bdeg(rees)?\b|°/i.test(header) ? 'deg' : options.angleUnit;
  };
  const lengthUnit = (field: Field): CourseLengthUnit => {
    const header = headers[columns.get(field) ?? -1] ?? '';
    const bracket = /[([{]([^)\]}]*)[)\]}]/.exec(header)?.[1] ?? /[_\s](m|ft)$/i.exec(header)?.[1] ?? '';
    return asLengthUnit(bracket) ?? options.lengthUnit;
  };
  const read = rows.map(({ row, cells }) => {
    const cell = (field: Field) => (cells[columns.get(field) ?? -1] ?? '').trim();
    const text = cells.filter((one) => one.trim() !== '').join(' ');
    const problems: string[] = [];
    const take = <T>(field: Field, parse: (raw: string) => T | string): T | null => {
      const raw = cell(field);
      if (raw === '' || raw === '-' || raw === '–') return null;
      const value = parse(raw);
      if (typeof value !== 'string') return value;
      problems.push(value);
      return null;
    };
    const parts: CourseParts = {
      azimuthDeg: take('bearing', (raw) => parseBearing(raw, angleUnit('bearing'))),
      lengthM: take('length', (raw) => parseLength(raw, lengthUnit('length'))),
      radiusM: take('radius', (raw) => parseLength(raw, lengthUnit('radius'))),
      deltaDeg: take('delta', (raw) => parseAngle(raw, angleUnit('delta'))),
      arcM: take('arc', (raw) => parseLength(raw, lengthUnit('arc'))),
      turn: turnOf(cell('turn')),
    };
    return { row, text, parts, problem: problems[0] ?? null };
  });
  return settle(read);
}

/**
 * Lines as a person pastes them: a header with tabs or semicolons makes them a table; else each line is read by itself.
 * Lines without a digit, and a point of beginning, are passed over.
 */
export function readCourseText(text: string, options: CourseOptions): CourseRow[] {
  const lines = text.split(/\r\n?|\n/).slice(0, MOST_ROWS);
  const first = lines.findIndex((line) => line.trim() !== '');
  const split = (line: string) => line.split(line.includes('\t') ? '\t' : line.includes(';') ? ';' : '|');
  if (first >= 0 && courseColumns(split(lines[first] ?? '')) !== null) {
    const rows = lines.flatMap((line, i) =>
      i > first && line.trim() !== '' ? [{ row: i + 1, cells: split(line) }] : [],
    );
    return readCourseTable(split(lines[first] ?? ''), rows, options);
  }
  const read = lines.flatMap((line, i) => {
    const isCourse = /\d/.test(line) && !/point of (beginning|commencement)\s*[:.]?\s*$/i.test(line);
    return isCourse ? [{ row: i + 1, text: line.trim(), ...readLine(line, options) }] : [];
  });
  return settle(read);
}

/** One line of free text: curve words first, then the direction, then the length. */
function readLine(
  line: string,
  options: CourseOptions,
): { readonly parts: CourseParts; readonly problem: string | null } {
  let rest = plainMarks(line);
  const problems: string[] = [];
  const take = (words: string): string | null => {
    const found = new RegExp(String.raw`(?<![A-Za-z])(?:${words})\s*(?:=|:|of)?\s*${LENGTH}`, 'i').exec(rest);
    if (found === null) return null;
    rest = rest.replace(found[0], ' ');
    return `${found[1]} ${found[2] ?? ''}`;
  };
  const lengthOf = (raw: string | null): number | null => {
    if (raw === null) return null;
    const value = parseLength(raw, options.lengthUnit);
    if (typeof value === 'number') return value;
    problems.push(value);
    return null;
  };
  const delta = /(?:Δ|(?<![A-Za-z])(?:delta|central angle))\s*(?:=|:|of)?\s*/i.exec(rest);
  let deltaDeg: number | null = null;
  if (delta !== null) {
    const after = rest.slice(delta.index + delta[0].length);
    const said = /^[\d.,°'":\s-]*/.exec(after)?.[0] ?? '';
    const value = parseAngle(said.replace(/[\s,]+$/, ''), options.angleUnit);
    if (typeof value === 'number') deltaDeg = value;
    else problems.push(value);
    rest = `${rest.slice(0, delta.index)} ${after.slice(said.length)}`;
  }
  const radiusM = lengthOf(take('radius|rad\\.?|R'));
  const arcM = lengthOf(take('arc(?: length)?|L'));
  const chordM = lengthOf(take('chord(?: length| distance)?|ch\\.?'));
  const isCurve = radiusM !== null || deltaDeg !== null || arcM !== null;
  const turn = isCurve ? turnOf(rest) : null;
  if (!isCurve && /(?<![A-Za-z])curve/i.test(rest)) problems.push(CURVE_NEEDS);
  const bearing = findBearing(rest);
  if (typeof bearing === 'string') return { parts: NOTHING, problem: bearing };
  const parts = { ...NOTHING, radiusM, deltaDeg, arcM, turn };
  if (bearing !== null) {
    const tail = rest.slice(rest.indexOf(bearing.text) + bearing.text.length);
    const lengthM = chordM ?? lengthOf(firstLength(tail));
    return { parts: { ...parts, azimuthDeg: bearing.azimuthDeg, lengthM }, problem: problems[0] ?? null };
  }
  if (turn !== null) return { parts: { ...parts, lengthM: chordM }, problem: problems[0] ?? null };
  const plain = readPlainNumbers(rest, options);
  if (typeof plain === 'string') return { parts, problem: plain };
  return { parts: { ...parts, ...plain }, problem: problems[0] ?? null };
}

const CURVE_NEEDS = 'it is a curve: two of radius, central angle, arc and chord are needed';
const NOTHING: CourseParts = {
  azimuthDeg: null,
  lengthM: null,
  radiusM: null,
  deltaDeg: null,
  arcM: null,
  turn: null,
};

function firstLength(text: string): string | null {
  const found = new RegExp(String.raw`(?<![\d.])${LENGTH}`, 'i').exec(text);
  return found === null ? null : `${(found[1] ?? '').trim()} ${found[2] ?? ''}`;
}

/** Numbers and nothing else: point number, azimuth (one number, or degrees, minutes and seconds), length. */
function readPlainNumbers(
  text: string,
  options: CourseOptions,
): { readonly azimuthDeg: number; readonly lengthM: number } | string {
  const end = new RegExp(String.raw`(?<=^|[\s;,])(-?\d[\d.,]*)\s*(${UNIT})?\s*\.?$`, 'i').exec(text.trim());
  if (end === null) return 'it has no direction that can be read, or no length';
  const angle = text
    .trim()
    .slice(0, end.index)
    .split(/[\t;]+|,\s+|\s+/)
    .filter((cell) => /\d/.test(cell))
    .map((cell) => cell.replace(/,$/, ''));
  if (angle.length === 0) return 'it has no direction that can be read, or no length';
  const isWhole = (cell: string | undefined) => /^\d{1,3}$/.test(cell ?? '');
  const isSexagesimal = options.angleUnit === 'deg' && Number(angle.at(-2)) < 60 && isWhole(angle.at(-2));
  let direction: string;
  if (angle.length === 1) direction = angle[0] ?? '';
  else if (angle.length === 2 && options.angleUnit === 'deg' && isWhole(angle[0]) && isWhole(angle[1])) {
    return `"${angle.join(' ')}" can be degrees and minutes, or a number and degrees: write the marks, as in 248°05'`;
  } else if (angle.length === 2) direction = angle[1] ?? '';
  else if (angle.length <= 4 && isSexagesimal && isWhole(angle.at(-3))) direction = angle.slice(-3).join(' ');
  else return 'it has more numbers than a direction and a length';
  const azimuthDeg = parseBearing(direction, options.angleUnit);
  const lengthM = parseLength(`${end[1]} ${end[2] ?? ''}`, options.lengthUnit);
  if (typeof azimuthDeg === 'string') return azimuthDeg;
  return typeof lengthM === 'string' ? lengthM : { azimuthDeg, lengthM };
}

/** @returns metres, or in words what is wrong */
export function parseLength(cell: string, unit: CourseLengthUnit): number | string {
  const text = plainMarks(cell).trim();
  const tail = /^(-?[\d.,' ]*\d)\s*([A-Za-z'][A-Za-z'\s-]*)?\.?$/.exec(text);
  if (tail === null) return `"${text}" is no length`;
  const said = (tail[2] ?? '').trim();
  const own = said === '' ? unit : asLengthUnit(said);
  if (own === null)
    return `"${text}" is in "${said}", which is not known here: give metres, feet or US survey feet`;
  const digits = tail[1] ?? '';
  const decimal = digits.includes('.') || !digits.includes(',') ? '.' : ',';
  if (decimal === ',' && /^\d{1,3}(,\d{3})+$/.test(digits)) {
    return `"${text}" can be read two ways, thousands or decimals: write it without the comma`;
  }
  const parsed = parseNumber(digits, decimal);
  if (parsed.kind !== 'number')
    return parsed.kind === 'bad' ? parsed.problem.replace(/'([^']*)'/, '"$1"') : `"${text}" is no length`;
  return parsed.value > 0 ? toMetres(parsed.value, own) : `the length "${text}" is not above 0`;
}

function asLengthUnit(text: string): CourseLengthUnit | null {
  const unit = recogniseUnit(text);
  return unit === 'm' || unit === 'ft' || unit === 'ft-us' ? unit : null;
}

function turnOf(text: string): CourseParts['turn'] {
  const said = /(?<![A-Za-z])(left|right|lt|rt|l|r)(?![A-Za-z])/i.exec(text)?.[1]?.toLowerCase();
  return said === undefined ? null : said.startsWith('l') ? 'left' : 'right';
}

/** Works out what rows leave to the one before: a curve without a direction goes on along its tangent. */
function settle(
  rows: readonly {
    readonly row: number;
    readonly text: string;
    readonly parts: CourseParts;
    readonly problem: string | null;
  }[],
): CourseRow[] {
  let before: Course | null = null;
  return rows.map(({ row, text, parts, problem }) => {
    const course = problem === null ? courseOf(parts, before) : problem;
    before = typeof course === 'string' ? null : course;
    return typeof course === 'string'
      ? { row, text, course: null, problem: course }
      : { row, text, course, problem: null };
  });
}

function courseOf(parts: CourseParts, before: Course | null): Course | string {
  const { azimuthDeg, lengthM, radiusM, deltaDeg, arcM, turn } = parts;
  if (radiusM === null && deltaDeg === null && arcM === null) {
    if (azimuthDeg === null) return 'it has no direction';
    if (lengthM === null) return 'it has no length';
    return { azimuthDeg, lengthM, curve: null };
  }
  if (turn === null) return 'it is a curve, and does not say whether to the left or to the right';
  const curve = curveOf(parts, turn);
  if (typeof curve === 'string') return curve;
  const chordM = 2 * curve.radiusM * Math.sin((curve.deltaDeg * Math.PI) / 360);
  if (azimuthDeg !== null) return { azimuthDeg, lengthM: lengthM ?? chordM, curve };
  if (before === null) return 'it is a curve without a direction, and no course before it gives one';
  return { azimuthDeg: chordDirectionDeg(endDirectionDeg(before), curve), lengthM: chordM, curve };
}

/** A curve from two of radius, central angle, arc and chord; what is over must agree. */
function curveOf(
  { radiusM, deltaDeg, arcM, lengthM: chordM }: CourseParts,
  turn: Curve['turn'],
): Curve | string {
  const rad = Math.PI / 180;
  let radius = radiusM;
  let delta = deltaDeg;
  if (radius === null && delta !== null && arcM !== null) radius = arcM / (delta * rad);
  if (radius === null && delta !== null && chordM !== null)
    radius = chordM / (2 * Math.sin((delta * rad) / 2));
  if (delta === null && radius !== null && arcM !== null) delta = arcM / radius / rad;
  if (delta === null && radius !== null && chordM !== null) {
    if (chordM > 2 * radius) return `its chord of ${chordM.toFixed(3)} m is longer than twice its radius`;
    delta = (2 * Math.asin(chordM / (2 * radius))) / rad;
  }
  if (radius === null || delta === null) return CURVE_NEEDS;
  if (!(delta > 0 && delta < 360))
    return `its central angle of ${delta.toFixed(4)}° is not between 0 and 360`;
  const arc = radius * delta * rad;
  const chord = 2 * radius * Math.sin((delta * rad) / 2);
  for (const [name, given, worked] of [
    ['arc', arcM, arc],
    ['chord', chordM, chord],
  ] as const) {
    if (given === null || Math.abs(given - worked) <= CURVE_ROUNDING_M + 1e-4 * worked) continue;
    return `its ${name} of ${given.toFixed(3)} m does not agree with the ${worked.toFixed(3)} m that radius and central angle give`;
  }
  return { radiusM: radius, deltaDeg: delta, turn };
}
