/** Directions as deeds and field books write them, to degrees clockwise from north, and back. */

/** What a plain number without marks counts in; 400 gon make a circle. */
export type AngleUnit = 'deg' | 'gon';

const DEG_PER_GON = 0.9;
const NUMBER = String.raw`\d+(?:[.,]\d+)?`;
/** Degrees, with minutes and seconds where given, parted by marks, hyphens, colons or blanks. */
const SEXAGESIMAL = String.raw`(${NUMBER})\s*(?:°|d(?:eg(?:rees?|\.)?)?(?![A-Za-z])|[-:\s])?\s*(?:(${NUMBER})\s*(?:'|m(?:in(?:utes?|\.)?)?(?![A-Za-z])|[-:\s])?\s*(?:(${NUMBER})\s*(?:"|''|s(?:ec(?:onds?|\.)?)?(?![A-Za-z]))?)?)?`;
const QUADRANT = new RegExp(
  String.raw`(?<![A-Za-z])(N(?:orth)?|S(?:outh)?)\.?\s*[-:]?\s*${SEXAGESIMAL}\s*[-:]?\s*(E(?:ast)?|W(?:est)?)(?![A-Za-z])\.?`,
  'i',
);
const DUE = /(?<![A-Za-z])(?:due\s+(north|south|east|west|[NSEW])|(north|south|east|west))(?![A-Za-z])/i;
const MARKED = new RegExp(
  String.raw`(${NUMBER})\s*(?:°|d(?:eg(?:rees?|\.)?)?(?![A-Za-z]))\s*(?:(${NUMBER})\s*(?:'|min(?:utes?|\.)?(?![A-Za-z]))\s*(?:(${NUMBER})\s*(?:"|sec(?:onds?|\.)?(?![A-Za-z])))?)?`,
  'i',
);
/** In a line all three parts are asked for: `1-2` is as often a pair of points. */
const HYPHENED = /(?<![\d.])(\d{1,3})\s*[-:]\s*(\d{1,2})\s*[-:]\s*(\d{1,2}(?:[.,]\d+)?)(?![\d-])/;
const GON = new RegExp(String.raw`(${NUMBER})\s*(?:gon|grads?|gr|g)(?![A-Za-z])`, 'i');

export interface FoundBearing {
  /** Degrees clockwise from north, 0 up to 360. */
  readonly azimuthDeg: number;
  /** The piece of the text that says it. */
  readonly text: string;
}

/** One sign for each mark: degrees, minutes, seconds, minus, blanks. */
export function plainMarks(text: string): string {
  return text
    .replace(/[\u00a0\u2007\u2009\u202f]/g, ' ')
    .replace(/[º˚⁰]/g, '°')
    .replace(/[’‘′´`]/g, "'")
    .replace(/[”“″]/g, '"')
    .replace(/''/g, '"')
    .replace(/[\u2212\u2010-\u2015]/g, '-');
}

/**
 * The first direction in a text that shows itself as one: a quadrant bearing (`N 12-30-00 E`, `South 5° 10' West`), a
 * cardinal (`due east`), degrees with marks or hyphens (`248°05'35"`, `248-05-35`), or gon (`275.6 gon`).
 * @returns null where there is none, and in words what is wrong with the one there is
 */
export function findBearing(marked: string): FoundBearing | string | null {
  const text = plainMarks(marked);
  const quadrant = QUADRANT.exec(text);
  if (quadrant !== null) {
    const [found, ns = '', degrees = '', minutes, seconds, ew = ''] = quadrant;
    const angle = sexagesimal(degrees, minutes, seconds);
    if (typeof angle === 'string') return angle;
    if (angle > 90) {
      return `the bearing "${found.trim()}" is more than 90° from ${/^n/i.test(ns) ? 'north' : 'south'}`;
    }
    const east = /^e/i.test(ew);
    const azimuth = /^n/i.test(ns) ? (east ? angle : 360 - angle) : east ? 180 - angle : 180 + angle;
    return { azimuthDeg: azimuth % 360, text: found };
  }
  const due = DUE.exec(text);
  if (due !== null) {
    const word = (due[1] ?? due[2] ?? '').toLowerCase()[0] ?? 'n';
    return { azimuthDeg: { n: 0, e: 90, s: 180, w: 270 }[word] ?? 0, text: due[0] };
  }
  const gon = GON.exec(text);
  if (gon !== null) return circle(readNumber(gon[1] ?? '') * DEG_PER_GON, gon[0]);
  const angle = MARKED.exec(text) ?? HYPHENED.exec(text);
  if (angle === null) return null;
  const [found, degrees = '', minutes, seconds] = angle;
  const value = sexagesimal(degrees, minutes, seconds);
  return typeof value === 'string' ? value : circle(value, found);
}

/**
 * A cell that holds nothing but a direction: as `findBearing`, or a plain number in `unit`.
 * @returns degrees clockwise from north, or in words what is wrong
 */
export function parseBearing(cell: string, unit: AngleUnit): number | string {
  const text = plainMarks(cell).trim();
  const spaced = /^(\d{1,3})[-:\s]+(\d{1,2})(?:[-:\s]+(\d{1,2}(?:[.,]\d+)?))?$/.exec(text);
  const found =
    spaced !== null && unit === 'deg'
      ? asBearing(sexagesimal(spaced[1] ?? '', spaced[2], spaced[3]), text)
      : findBearing(text);
  if (typeof found === 'string') return found;
  if (found !== null) {
    const rest = text.replace(found.text, '').trim();
    return rest === '' ? found.azimuthDeg : `"${cell.trim()}" has "${rest}" beside the direction`;
  }
  if (!new RegExp(`^${NUMBER}$`).test(text)) return `"${cell.trim()}" is no direction`;
  const plain = circle(readNumber(text) * (unit === 'gon' ? DEG_PER_GON : 1), text);
  return typeof plain === 'string' ? plain : plain.azimuthDeg;
}

/** An angle, such as a curve's central angle: degrees with or without marks, or gon. @returns degrees, or a problem */
export function parseAngle(cell: string, unit: AngleUnit): number | string {
  return parseBearing(cell, unit);
}

/** As a deed writes it: `N 12°30'00" E`, seconds rounded to `decimals`. */
export function formatBearing(azimuthDeg: number, decimals = 0): string {
  const azimuth = ((azimuthDeg % 360) + 360) % 360;
  const north = azimuth <= 90 || azimuth >= 270;
  const east = azimuth <= 180;
  const fromNorth = east ? azimuth : 360 - azimuth;
  const angle = north ? fromNorth : 180 - fromNorth;
  const unit = 10 ** decimals;
  const total = Math.round(angle * 3600 * unit);
  const [degrees, minutes] = [Math.floor(total / (3600 * unit)), Math.floor(total / (60 * unit)) % 60];
  const seconds = (total % (60 * unit)) / unit;
  const two = (value: number) => String(value).padStart(2, '0');
  const secondsText = seconds.toFixed(decimals).padStart(decimals === 0 ? 2 : decimals + 3, '0');
  return `${north ? 'N' : 'S'} ${two(degrees)}°${two(minutes)}'${secondsText}" ${east ? 'E' : 'W'}`;
}

/** Degrees of degrees, minutes and seconds; only the last of them may have decimals. */
function sexagesimal(degrees: string, minutes?: string, seconds?: string): number | string {
  const [d, m, s] = [degrees, minutes ?? '0', seconds ?? '0'].map(readNumber) as [number, number, number];
  const shown = [degrees, minutes, seconds].filter((part) => part !== undefined).join('-');
  if (minutes !== undefined && !Number.isInteger(d)) return `"${shown}" has both decimal degrees and minutes`;
  if (seconds !== undefined && !Number.isInteger(m)) return `"${shown}" has both decimal minutes and seconds`;
  if (m >= 60) return `"${shown}" has ${m} minutes`;
  if (s >= 60) return `"${shown}" has ${s} seconds`;
  return d + m / 60 + s / 3600;
}

function asBearing(degrees: number | string, text: string): FoundBearing | string {
  return typeof degrees === 'string' ? degrees : circle(degrees, text);
}

function circle(degrees: number, text: string): FoundBearing | string {
  if (degrees > 360) return `"${text.trim()}" is more than a full circle`;
  return { azimuthDeg: degrees % 360, text };
}

function readNumber(text: string): number {
  return Number(text.replace(',', '.'));
}
