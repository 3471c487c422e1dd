/** Sentences made in kBq/m3 and metres, said in the project's units with the others in brackets. */

import { fromKBqPerM3, fromMetres, M_PER_FOOT } from '../units.ts';
import type { ProjectFrame } from './model.ts';

export interface ProjectUnits {
  readonly frame: ProjectFrame;
  readonly radonUnit: 'kBq/m3' | 'pCi/L';
}

export function isFootFrame(frame: ProjectFrame): boolean {
  return frame.metresPerUnit > 0.3 && frame.metresPerUnit < 0.31;
}

export function unitText(unit: ProjectUnits['radonUnit']): string {
  return unit === 'kBq/m3' ? 'kBq/m³' : 'pCi/L';
}

/** Rounded to `digits` significant digits, without an exponent, with a true minus sign. */
export function formatNumber(value: number, digits = 3): string {
  if (!Number.isFinite(value)) return '–';
  if (value === 0) return '0';
  const rounded = Number(value.toPrecision(digits));
  const magnitude = Math.floor(Math.log10(Math.abs(rounded)));
  return rounded.toFixed(Math.min(12, Math.max(0, digits - 1 - magnitude))).replace('-', '−');
}

/** Feet on a project in feet of either kind: they differ by two parts in a million. */
export function lengthUnit(frame: ProjectFrame): 'm' | 'ft' {
  return isFootFrame(frame) ? 'ft' : 'm';
}

/** A number as a sentence carries it, its true or its typed minus with it. */
const NUMBER = '[−-]?\\d+(?:\\.\\d+)?';
/** Not inside a number, an exponent or a word, nor in brackets after the value they repeat. */
const START = '(?<![\\d.^A-Za-z−-]|(?:ft|pCi/L) \\([^()]*|(?:ft|pCi/L), )';

function numberOf(text: string): number {
  return Number(text.replace('−', '-'));
}

/** One value, or two that share their unit ('20 to under 70'), of which the second carries the unit. */
function pairBefore(unit: string, joints: string): RegExp {
  return new RegExp(`${START}(${NUMBER})(?:(${joints})(${NUMBER}))? ${unit}`, 'g');
}

const RADON = pairBefore('kBq/m[3³]', ' to under | to ');
const LENGTH = pairBefore('m\\b(?![²³2/])', '(?: m)? to |(?: m)? by |(?: m)? [×x] ');
const AREA = pairBefore('m[²2](?![\\d/])', ' to ');

function converted(text: string, pattern: RegExp, unit: string, own: string, convert: (v: number) => string) {
  return text.replace(pattern, (...match) => {
    const [all, first, joint, second] = match as unknown as [
      string,
      string,
      string | undefined,
      string | undefined,
    ];
    const at = match.at(-2) as number;
    const isInBrackets = text[at - 1] === '(' && text[at + all.length] === ')';
    const between = joint?.replace(/^ m(?= )/, '');
    const said = (show: (value: string) => string) =>
      between === undefined || second === undefined ? show(first) : `${show(first)}${between}${show(second)}`;
    const project = `${said((value) => convert(numberOf(value)))} ${unit}`;
    const other = `${said((value) => value)} ${own}`;
    return isInBrackets ? `${project}, ${other}` : `${project} (${other})`;
  });
}

/** Radon in the project's unit first. */
export function sayRadon(text: string, unit: ProjectUnits['radonUnit']): string {
  const given = text.replaceAll('kBq/m3', 'kBq/m³');
  if (unit === 'kBq/m3') return given;
  return converted(given, RADON, unitText(unit), 'kBq/m³', (value) =>
    formatNumber(fromKBqPerM3(value, unit)),
  );
}

/** Lengths and areas in the project's unit first. */
export function sayLengths(text: string, frame: ProjectFrame): string {
  const given = text.replace(/(?<=\d )m2(?!\d)/g, 'm²');
  if (lengthUnit(frame) === 'm') return given;
  const areas = converted(given, AREA, 'sq ft', 'm²', (value) => String(Math.round(value / M_PER_FOOT ** 2)));
  return converted(areas, LENGTH, 'ft', 'm', (value) => formatNumber(fromMetres(value, 'ft')));
}

/** A sentence of the program as this project says it. */
export function sayInUnits(text: string, units: ProjectUnits): string {
  return sayRadon(sayLengths(text, units.frame), units.radonUnit);
}

/** A depth or another length alone, in the project's unit: '2.67', to a hundredth of a foot or to the millimetre. */
export function lengthCell(valueM: number | null, frame: ProjectFrame): string {
  if (valueM === null) return '–';
  return lengthUnit(frame) === 'm' ? valueM.toFixed(3) : fromMetres(valueM, 'ft').toFixed(2);
}

/** '2.67 ft (0.813 m)', or '0.813 m'. */
export function lengthText(valueM: number, frame: ProjectFrame): string {
  return sayLengths(`${Number(valueM.toPrecision(3))} m`, frame);
}

/** '18812 sq ft (1748 m²)', or '1748 m²'. */
export function areaText(areaM2: number, frame: ProjectFrame): string {
  return sayLengths(`${Math.round(areaM2)} m²`, frame);
}
