/** Corner coordinates as text: what a person types or pastes. Pure. */

export interface CornerText {
  readonly x: string;
  readonly y: string;
}

/** Accepts a decimal comma and thin or plain spaces between thousands. @returns null for anything else */
export function parseCoordinate(text: string): number | null {
  const plain = text
    .trim()
    .replace(/[\s\u00a0\u202f]/g, '')
    .replace('\u2212', '-');
  const pointed = plain.includes('.') ? plain : plain.replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(pointed) ? Number(pointed) : null;
}

/**
 * Splits pasted text into corners: one a line, two numbers parted by tab, semicolon, comma or space. A point number or
 * name before them and a height behind them are dropped. @returns null where no line holds two numbers
 */
export function parsePastedCorners(text: string): CornerText[] | null {
  const rows: { parts: readonly string[]; isNamed: boolean }[] = [];
  for (const line of text.split(/\r?\n/)) {
    const all = splitLine(line.trim());
    const parts = all.filter((part) => parseCoordinate(part) !== null);
    if (parts.length >= 2) rows.push({ parts, isNamed: parseCoordinate(all[0] ?? '') === null });
  }
  const places = rows.map(({ parts, isNamed }) => {
    const skipped = parts.length > 2 && !isNamed && isNumbered(rows.map((row) => row.parts)) ? 1 : 0;
    const [x = '', y = ''] = parts.slice(skipped);
    return { x, y };
  });
  return places.length > 0 ? places : null;
}

/** Whether first columns count up by one. A single row is taken as number, x, y where three whole parts allow it. */
function isNumbered(rows: readonly (readonly string[])[]): boolean {
  const firsts = rows.map(([first = '']) => (/^\d{1,5}$/.test(first) ? Number(first) : Number.NaN));
  const [only] = rows;
  if (rows.length === 1 && only?.length === 3) return firsts[0] !== undefined && firsts[0] < 1000;
  return firsts.every((first, i) => first === (firsts[0] ?? 0) + i);
}

function splitLine(line: string): string[] {
  for (const separator of [/\t+/, /\s*;\s*/, /\s*,\s+/]) {
    const parts = line.split(separator);
    if (parts.length > 1) return parts;
  }
  const bySpace = line.split(/\s+/);
  return bySpace.length > 1 ? bySpace : line.split(',');
}

export interface CornerCheck {
  readonly ring: readonly (readonly [number, number])[];
  readonly missing: string | null;
}

/** The ring or line of all filled rows, or what is still wrong with it, in words. */
export function checkCorners(
  corners: readonly CornerText[],
  shape: 'polygon' | 'line' = 'polygon',
): CornerCheck {
  const ring: [number, number][] = [];
  for (const [index, corner] of corners.entries()) {
    if (corner.x.trim() === '' && corner.y.trim() === '') continue;
    const [x, y] = [parseCoordinate(corner.x), parseCoordinate(corner.y)];
    if (x === null || y === null) {
      const bad = x === null ? corner.x : corner.y;
      return { ring: [], missing: `Corner ${index + 1}: “${bad}” is not a number.` };
    }
    ring.push([x, y]);
  }
  const [first, last] = [ring[0], ring.at(-1)];
  const least = shape === 'line' ? 2 : 3;
  if (shape === 'polygon' && first && last && ring.length > 3 && first[0] === last[0] && first[1] === last[1])
    ring.pop();
  const more = least - ring.length;
  if (more > 0) {
    return {
      ring: [],
      missing: more === 1 ? '1 more corner is needed.' : `${more} more corners are needed.`,
    };
  }
  return { ring, missing: null };
}
