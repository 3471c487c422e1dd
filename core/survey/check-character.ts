/** Check character of ISO/IEC 7064, MOD 37-2: finds every wrong character and every exchange of two neighbours. */

const CHARACTERS = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*';
const MODULUS = 37;

/** Pure system with radix 2; null where a character is none of the standard's. */
function remainder(text: string): number | null {
  let sum = 0;
  for (const character of text) {
    const value = CHARACTERS.indexOf(character);
    if (value < 0) return null;
    sum = (2 * sum + value) % MODULUS;
  }
  return sum;
}

/** One of 0-9, A-Z and *; null where the text holds other characters than 0-9 and A-Z. */
export function checkCharacter(text: string): string | null {
  const rest = text.includes('*') ? null : remainder(text);
  return rest === null ? null : (CHARACTERS[(MODULUS + 1 - ((2 * rest) % MODULUS)) % MODULUS] ?? null);
}

/** True where the last character is the check character of those before it. */
export function hasSoundCheck(text: string): boolean {
  return text.length > 1 && remainder(text) === 1;
}
