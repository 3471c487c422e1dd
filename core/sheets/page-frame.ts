/** Head and foot of every sheet: what it is, whose day it is, and from which state of the project it was printed. */
import type { PageLayout } from '../figure/layout.ts';
import { DEMO_MARK } from '../figure/page-frame.ts';
import { DEMO_INK } from '../figure/style.ts';
import { fitSize, measureText, shortenText } from '../figure/text.ts';
import type { Pen } from './pen.ts';
import { FRAME, RULE } from './pen.ts';
import type { FieldSheetInput } from './sheet-model.ts';

const TITLE_PT = 13;
const PROJECT_PT = 9;
const FOOT_PT = 6.5;
const BLANKS: readonly (readonly [label: string, widthMm: number])[] = [
  ['Date', 28],
  ['Crew', 44],
];

export function drawSheetHead(pen: Pen, input: FieldSheetInput, layout: PageLayout, title: string): void {
  const { xMm, yMm, widthMm, heightMm } = layout.header;
  const right = xMm + widthMm;
  const blanksMm = BLANKS.reduce((sum, [, width]) => sum + width, 0);
  let at = right - blanksMm;
  for (const [label, width] of BLANKS) {
    pen.cell({ xMm: at, yMm: yMm + 0.5, widthMm: width, heightMm: 10.5 }, label);
    at += width;
  }
  const room = widthMm - blanksMm - 6;
  const mark = input.isDemo ? DEMO_MARK : '';
  const markMm = mark === '' ? 0 : measureText(mark, 'semibold', 8) + 5;
  const titleMm = measureText(title, 'semibold', TITLE_PT);
  pen.text(title, xMm, yMm + 4.6, { sizePt: TITLE_PT, face: 'semibold', role: 'title' });
  if (mark !== '' && titleMm + markMm < room)
    pen.text(mark, xMm + titleMm + 5, yMm + 4.6, {
      sizePt: 8,
      face: 'semibold',
      colour: DEMO_INK,
      role: 'demo',
    });
  const named = [input.projectName, ...input.details].join('  ·  ');
  const size = fitSize(named, 'regular', PROJECT_PT, 7, room);
  pen.text(shortenText(named, 'regular', size, room), xMm, yMm + 9.8, {
    sizePt: size,
    role: 'project',
  });
  pen.line(xMm, yMm + heightMm - 2.6, right, yMm + heightMm - 2.6, FRAME);
}

export function drawSheetFoot(
  pen: Pen,
  input: FieldSheetInput,
  layout: PageLayout,
  page: number,
  pages: number,
): void {
  const { xMm, yMm, widthMm } = layout.footer;
  const right = xMm + widthMm;
  const pageText = `Page ${page} of ${pages}`;
  const hash = input.recordHash === null ? 'no record' : `record ${input.recordHash.slice(0, 16)}`;
  const demo = input.isDemo ? `${DEMO_MARK}  ·  ` : '';
  const facts = `${demo}Printed ${input.createdUtc.slice(0, 10)}  ·  Revision ${input.revision}, ${hash}  ·  ${input.program}`;
  pen.line(xMm, yMm + 0.8, right, yMm + 0.8, RULE);
  const room = widthMm - measureText(pageText, 'semibold', FOOT_PT) - 5;
  pen.text(shortenText(facts, 'regular', FOOT_PT, room), xMm, yMm + 4.2, { sizePt: FOOT_PT, role: 'foot' });
  pen.text(pageText, right, yMm + 4.2, { sizePt: FOOT_PT, face: 'semibold', anchor: 'end', role: 'page' });
}
