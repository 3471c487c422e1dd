import { parseCoordinate } from './corners.ts';

/** Reads many typed numbers of one form, and keeps what is wrong with them in words. */
export interface NumberReader {
  readonly wrong: string[];
  /** null for an empty text, and for one that `wrong` then names. */
  read(typed: string, what: string, least: number, most: number): number | null;
}

export function numberReader(): NumberReader {
  const wrong: string[] = [];
  return {
    wrong,
    read(typed, what, least, most) {
      if (typed.trim() === '') return null;
      const value = parseCoordinate(typed);
      if (value !== null && value >= least && value <= most) return value;
      wrong.push(`${what}: “${typed}” is not a number from ${least} to ${most}.`);
      return null;
    },
  };
}
