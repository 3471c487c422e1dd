/**
 * The code that a probe carries on paper: two characters for the project, four for the probe, one to check them, such as
 * `KM-7F3X-P`. Written by hand, typed, and matched whatever the label beside it says.
 */
import { checkCharacter, hasSoundCheck } from './check-character.ts';

/** Neither vowels, which make words, nor what a hand writes like something else: 0 O Q, 1 I L, 2 Z, 5 S, 6 G, 8 B, U V. */
export const CODE_LETTERS = '23456789CDFHJKMNPRTVWXY';
const PROJECT_LENGTH = 2;
const PROBE_LENGTH = 4;

/** Parts of a code from numbers below the count of such parts. */
export function codePart(length: 2 | 4, seed: number): string {
  let rest = seed;
  let part = '';
  for (let i = 0; i < length; i++) {
    part += CODE_LETTERS[rest % CODE_LETTERS.length];
    rest = Math.floor(rest / CODE_LETTERS.length);
  }
  return part;
}

/** As printed; null where the check character would be one that is easily misread: such parts are not given out. */
export function joinCode(projectPart: string, probePart: string): string | null {
  const check = checkCharacter(projectPart + probePart);
  return check === null || !CODE_LETTERS.includes(check) ? null : `${projectPart}-${probePart}-${check}`;
}

/** Capitals and digits alone: people leave out the dashes, or write spaces. */
export function plainCode(written: string): string {
  return written.toUpperCase().replace(/[\s\-–—_.]+/g, '');
}

export interface KnownCode {
  /** As printed. */
  readonly code: string;
  readonly label: string;
}

export type CodeReading = { readonly label: string } | { readonly problem: string };

/** The probe that a written code names, or in words what is wrong with it and which code it may have been. */
export function readCode(written: string, known: readonly KnownCode[]): CodeReading {
  const typed = plainCode(written);
  const met = known.find((k) => plainCode(k.code) === typed);
  if (met !== undefined) return { label: met.label };
  const own = known[0]?.code.slice(0, PROJECT_LENGTH);
  if (own === undefined)
    return { problem: `'${written}' is no code of this project, which has no probes yet` };
  const length = PROJECT_LENGTH + PROBE_LENGTH + 1;
  if (typed.length !== length)
    return {
      problem: `'${written}' has ${typed.length} characters, and a code has ${length}: ${hintFor(typed, own, known)}`,
    };
  if (!hasSoundCheck(typed))
    return {
      problem: `'${written}' is mistyped, as its check character shows: ${hintFor(typed, own, known)}`,
    };
  if (!typed.startsWith(own))
    return {
      problem: `'${written}' is a sound code of another project: those of this one begin with ${own}`,
    };
  return {
    problem: `'${written}' is a sound code, but no probe of this project has it: perhaps of a plan that was replaced`,
  };
}

function hintFor(typed: string, own: string, known: readonly KnownCode[]): string {
  const near = nearCodes(typed, known);
  return near.length === 0
    ? `no code of this project is like it; all of them begin with ${own}`
    : `perhaps ${near.map((k) => `${k.code} (probe '${k.label}')`).join(' or ')}`;
}

/** Cells looked at more closely, so that a long column of other codes costs no time. */
const MOST_LOOKED_AT = 50;

/** Whether a column was meant to hold codes at all: some of the project or nearly so, or sound ones of another project. */
export function holdsCodes(written: readonly string[], known: readonly KnownCode[]): boolean {
  const own = new Set(known.map((k) => plainCode(k.code)));
  return (
    written.some((cell) => own.has(plainCode(cell))) ||
    written.slice(0, MOST_LOOKED_AT).some((cell) => isOurCode(cell, known))
  );
}

function isOurCode(written: string, known: readonly KnownCode[]): boolean {
  const typed = plainCode(written);
  if (known.some((k) => slipsBetween(typed, plainCode(k.code)) <= MOST_SLIPS)) return true;
  const isShaped = typed.length === PROJECT_LENGTH + PROBE_LENGTH + 1 && hasSoundCheck(typed);
  return isShaped && [...typed].every((c) => CODE_LETTERS.includes(c)) && /^..-....-.$/.test(written.trim());
}

const MOST_HINTS = 3;
const MOST_SLIPS = 2;

/** Codes one slip away first, then two; a slip is a character wrong, missing or too many, or two exchanged. */
function nearCodes(typed: string, known: readonly KnownCode[]): KnownCode[] {
  const rated = known.map((k) => ({ k, slips: slipsBetween(typed, plainCode(k.code)) }));
  const least = Math.min(...rated.map((r) => r.slips));
  if (least > MOST_SLIPS) return [];
  const found = rated.filter((r) => r.slips === least).map((r) => r.k);
  return found.length > MOST_HINTS ? [] : found;
}

/** Optimal string alignment: insertions, deletions, substitutions and exchanges of neighbours. */
function slipsBetween(a: string, b: string): number {
  const rows: number[][] = [Array.from({ length: b.length + 1 }, (_, j) => j)];
  const at = (i: number, j: number) => rows[i]?.[j] ?? Number.POSITIVE_INFINITY;
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    rows.push(row);
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1];
      let best = Math.min(at(i - 1, j) + 1, at(i, j - 1) + 1, at(i - 1, j - 1) + (same ? 0 : 1));
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        best = Math.min(best, at(i - 2, j - 2) + 1);
      row.push(best);
    }
  }
  return at(a.length, b.length);
}
