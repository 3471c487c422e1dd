import type { Measured, NoValueReason } from '../contract/model.ts';

const NO_VALUE_WORDS: Record<NoValueReason, string> = {
  water: 'no gas: water',
  'water-or-tight': 'no gas: water or tight',
  tight: 'no gas: tight',
  refused: 'refused',
  'no-reading': 'no reading',
  'left-out': 'left out',
  blank: 'blank',
};

/** A value as a short text without its unit (kBq/m3), bounds with their sign; null where nothing was sampled. */
export function shortValue(measured: Measured | null): string | null {
  if (measured === null) return null;
  if (measured.kind === 'none') return NO_VALUE_WORDS[measured.reason];
  if (measured.kind === 'value') return threeFigures(measured.estimateKBqPerM3);
  return `${measured.kind === 'atLeast' ? '>' : '<'} ${threeFigures(measured.boundKBqPerM3)}`;
}

function threeFigures(value: number): string {
  return String(Number(value.toPrecision(3)));
}
