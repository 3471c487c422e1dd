import { valueToColour } from '../contract/ramp.ts';
import type { FigureInput } from './figure-model.ts';

/** Ends of the ramp for differences: teal where less was found, mulberry where more, nearly paper between. */
const LESS = [0x2a, 0x7f, 0x8a] as const;
const NONE = [0xf5, 0xf4, 0xf1] as const;
const MORE = [0xa0, 0x3a, 0x6e] as const;

/** Colour of ground whose difference lies in the middle of a band, `part` of the largest one (-1 to 1). */
export function differenceColour(part: number): string {
  const end = part < 0 ? LESS : MORE;
  const t = Math.min(1, Math.abs(part));
  return `#${NONE.map((c, i) =>
    Math.round(c + t * ((end[i] ?? 0) - c))
      .toString(16)
      .padStart(2, '0'),
  ).join('')}`;
}

/** Colour of the band that begins at `from`. */
export function bandFill(input: FigureInput, from: number): string {
  const levels = input.surface?.levelsKBqPerM3 ?? [];
  if (input.isDifference !== true) return valueToColour(from, levels);
  const step = (levels[1] ?? from + 1) - (levels[0] ?? from);
  const i = levels.indexOf(from);
  const to = levels[i + 1] ?? from + step;
  const largest = Math.max(...levels.map(Math.abs), step);
  return differenceColour((from + to) / 2 / largest);
}
