/** Measuring and breaking of text with the bundled fonts. */
import { openFont } from './fonts.ts';
import type { FontFace, PointMm, RectMm, TextNode } from './scene.ts';

export const MM_PER_PT = 25.4 / 72;
/** Height of capitals and figures, and depth of descenders, as parts of the size (the same in all bundled faces). */
export const CAP_HEIGHT = 0.66;
export const DESCENT = 0.21;

const widthCache = new Map<string, number>();
const CACHE_LIMIT = 20_000;

/** Advance width with kerning, millimetres. */
export function measureText(text: string, face: FontFace, sizePt: number): number {
  const key = `${face} ${text}`;
  let em = widthCache.get(key);
  if (em === undefined) {
    const font = openFont(face);
    em = font.layout(text, []).advanceWidth / font.unitsPerEm;
    if (widthCache.size > CACHE_LIMIT) widthCache.clear();
    widthCache.set(key, em);
  }
  return em * sizePt * MM_PER_PT;
}

/** The longest beginning of `text` that fits; at least one character, so that breaking always ends. */
function takeFitting(text: string, face: FontFace, sizePt: number, widthMm: number): string {
  const letters = [...text];
  let low = 1;
  let high = letters.length;
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (measureText(letters.slice(0, middle).join(''), face, sizePt) <= widthMm) low = middle;
    else high = middle - 1;
  }
  return letters.slice(0, low).join('');
}

/** Kerning across a space may shift a line by less than this: only closer to the edge is the whole line measured. */
const SPACE_KERNING_EM = 0.05;

/** Lines no wider than `widthMm`: broken at spaces, and inside a word only where the word alone is too long. */
export function wrapText(text: string, face: FontFace, sizePt: number, widthMm: number): string[] {
  const lines: string[] = [];
  const space = measureText(' ', face, sizePt);
  const doubt = SPACE_KERNING_EM * sizePt * MM_PER_PT;
  for (const paragraph of text.split('\n')) {
    let line = '';
    let lineWidth = 0;
    let spaces = 0;
    for (const word of paragraph.split(/[ \t]+/).filter((w) => w !== '')) {
      const wordWidth = measureText(word, face, sizePt);
      const joined = line === '' ? word : `${line} ${word}`;
      // The sum of the words is the width of the line but for kerning at its spaces.
      const sum = line === '' ? wordWidth : lineWidth + space + wordWidth;
      const slack = doubt * (spaces + 1);
      const fits =
        sum + slack <= widthMm || (sum - slack <= widthMm && measureText(joined, face, sizePt) <= widthMm);
      if (fits) {
        spaces = line === '' ? 0 : spaces + 1;
        line = joined;
        lineWidth = sum;
        continue;
      }
      if (line !== '') lines.push(line);
      line = word;
      while (measureText(line, face, sizePt) > widthMm && [...line].length > 1) {
        const head = takeFitting(line, face, sizePt, widthMm);
        lines.push(head);
        line = line.slice(head.length);
      }
      lineWidth = measureText(line, face, sizePt);
      spaces = 0;
    }
    if (line !== '') lines.push(line);
  }
  return lines;
}

/** The text if it fits, else its beginning and an ellipsis. */
export function shortenText(text: string, face: FontFace, sizePt: number, widthMm: number): string {
  if (measureText(text, face, sizePt) <= widthMm) return text;
  const ellipsis = '…';
  const room = widthMm - measureText(ellipsis, face, sizePt);
  return `${takeFitting(text, face, sizePt, room).trimEnd()}${ellipsis}`;
}

/** The largest size from `sizePt` down to `minimumPt` at which the text fits on one line; `minimumPt` if none does. */
export function fitSize(
  text: string,
  face: FontFace,
  sizePt: number,
  minimumPt: number,
  widthMm: number,
): number {
  const width = measureText(text, face, sizePt);
  if (width <= widthMm) return sizePt;
  return Math.max(minimumPt, Math.floor(((sizePt * widthMm) / width) * 10) / 10);
}

/** Corners of the inked box of a text: from descender to capitals, turned as the text is. */
export function textCorners(node: TextNode): PointMm[] {
  const size = node.sizePt * MM_PER_PT;
  const width = measureText(node.text, node.face, node.sizePt);
  const left = node.anchor === 'start' ? 0 : node.anchor === 'middle' ? -width / 2 : -width;
  const angle = ((node.rotationDeg ?? 0) * Math.PI) / 180;
  const box: PointMm[] = [
    [left, -CAP_HEIGHT * size],
    [left + width, -CAP_HEIGHT * size],
    [left + width, DESCENT * size],
    [left, DESCENT * size],
  ];
  return box.map(([x, y]) => [
    node.xMm + x * Math.cos(angle) - y * Math.sin(angle),
    node.yMm + x * Math.sin(angle) + y * Math.cos(angle),
  ]);
}

/** Upright box around the text. */
export function textBox(node: TextNode): RectMm {
  const corners = textCorners(node);
  const xs = corners.map(([x]) => x);
  const ys = corners.map(([, y]) => y);
  const xMm = Math.min(...xs);
  const yMm = Math.min(...ys);
  return { xMm, yMm, widthMm: Math.max(...xs) - xMm, heightMm: Math.max(...ys) - yMm };
}
