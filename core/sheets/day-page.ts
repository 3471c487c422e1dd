/** What is written once a day, what is checked at every probe, and what else is asked for. */
import type { PageLayout } from '../figure/layout.ts';
import type { RectMm } from '../figure/scene.ts';
import { SOFT_INK } from '../figure/style.ts';
import { LEAST_ROW_MM, type Pen, TICK_MM } from './pen.ts';
import type { FieldSheetInput, SheetReminder } from './sheet-model.ts';
import { sheetUnits } from './sheet-words.ts';

const HEAD_PT = 9.5;
/** Sizes tried until the lists end on the page. */
const SIZES_PT = [8, 7.5, 7, 6.5];
const ROW_MM = 9.5;

export function drawDayPage(pen: Pen, input: FieldSheetInput, layout: PageLayout): void {
  const { body } = layout;
  const isWide = layout.widthMm > layout.heightMm;
  if (isWide) {
    const widthMm = (body.widthMm - 8) * 0.52;
    drawDay(pen, input, { ...body, widthMm });
    drawAsked(pen, input, { ...body, xMm: body.xMm + widthMm + 8, widthMm: body.widthMm - widthMm - 8 });
    return;
  }
  const below = drawDay(pen, input, body);
  const topMm = below + 4;
  drawAsked(pen, input, { ...body, yMm: topMm, heightMm: body.yMm + body.heightMm - topMm });
}

/** Gives the place under its last row. */
function drawDay(pen: Pen, input: FieldSheetInput, rect: RectMm): number {
  const rowMm = Math.max(LEAST_ROW_MM, ROW_MM);
  let y = rect.yMm;
  const head = (text: string) => {
    pen.text(text, rect.xMm, y + 4, { sizePt: HEAD_PT, face: 'semibold' });
    y += 5.5;
  };
  const row = (parts: readonly (readonly [string, string, number])[]) => {
    pen.cells({ ...rect, yMm: y, heightMm: rowMm }, parts);
    y += rowMm;
  };
  head('The day');
  row([
    ['Times written are UTC + or −', 'h', 1.2],
    ['On site from', '', 0.7],
    ['to', '', 0.7],
    ['Services marked by, on', '', 1.2],
  ]);
  row([
    ['Air temperature', input.frame.unitLabel.includes('ft') ? '°F' : '°C', 0.8],
    ['Air pressure', 'hPa', 0.8],
    ['Last rain', 'mm', 0.6],
    ['Hours since it', 'h', 0.6],
    ['Ground: dry, moist, wet, frozen', '', 1.4],
  ]);
  y += 2.5;
  head('Instruments and their background');
  for (let i = 1; i <= 2; i++) {
    row([
      [`Instrument ${i}`, '', 1.1],
      ['Clock ahead of UTC', 's', 0.8],
      ['Opening: time', '', 0.7],
      ['counts', '', 0.7],
      ['over', 's', 0.5],
    ]);
    row([
      ['Factor, certificate of', '', 1.1],
      ['Dryer put in', '', 0.8],
      ['Closing: time', '', 0.7],
      ['counts', '', 0.7],
      ['over', 's', 0.5],
    ]);
  }
  y += 2.5;
  head('Control probe');
  const { suction } = sheetUnits(input.frame);
  for (const when of ['morning', 'midday', 'evening']) {
    row([
      [`Code (${when})`, '', 1],
      ['Time', '', 0.7],
      ['Instrument', '', 0.8],
      ['Suction', suction, 0.7],
      ['Value', input.radonUnit, 0.9],
    ]);
  }
  return y;
}

function drawAsked(pen: Pen, input: FieldSheetInput, rect: RectMm): void {
  const isFlat = rect.widthMm > 150;
  const columns: readonly RectMm[] = isFlat
    ? [0, 1].map((i) => {
        const widthMm = (rect.widthMm - 8) / 2;
        return { ...rect, xMm: rect.xMm + i * (widthMm + 8), widthMm };
      })
    : [rect];
  const lists = [
    ['At every probe', input.checks],
    ['Asked for today', input.reminders],
  ] as const;
  for (const sizePt of SIZES_PT) {
    const at = pen.nodes.length;
    let y = rect.yMm;
    const ends = lists.map(([title, items], i) => {
      const column = columns[i % columns.length] as RectMm;
      if (isFlat) y = column.yMm;
      y = drawTickList(pen, title, items, { ...column, yMm: y }, sizePt) + 3;
      return y;
    });
    if (Math.max(...ends) <= rect.yMm + rect.heightMm + 3 || sizePt === SIZES_PT.at(-1)) return;
    pen.nodes.splice(at);
  }
}

function drawTickList(
  pen: Pen,
  title: string,
  items: readonly SheetReminder[],
  rect: RectMm,
  sizePt: number,
): number {
  pen.text(title, rect.xMm, rect.yMm + 4, { sizePt: HEAD_PT, face: 'semibold' });
  let y = rect.yMm + 6;
  const textMm = rect.xMm + TICK_MM + 2;
  const widthMm = rect.widthMm - TICK_MM - 2;
  for (const { text, asker } of items) {
    pen.tick('', rect.xMm, y + 2);
    y = pen.paragraph(text, textMm, y, widthMm, { sizePt, role: 'reminder' });
    y = pen.paragraph(asker, textMm, y - 0.3, widthMm, {
      sizePt: sizePt - 1.2,
      face: 'italic',
      colour: SOFT_INK,
      role: 'asker',
    });
    y += 1.3;
  }
  return y;
}
