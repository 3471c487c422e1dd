/** The text with a capital first letter. */
export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** At most `length` characters, the last one an ellipsis where something was cut. */
export function clip(text: string, length = 60): string {
  return text.length <= length ? text : `${text.slice(0, length - 1)}…`;
}

/** Letters without their accents, as lists of words are compared. */
export function withoutAccents(text: string): string {
  return text.normalize('NFD').replace(/\p{M}/gu, '');
}

/** A share of draws or realisations: none of some hundreds is not never, and all of them is not always. */
export function chanceText(share: number): string {
  if (share < 0.01) return '< 1 %';
  return share > 0.99 ? '> 99 %' : `${(100 * share).toFixed(0)} %`;
}
