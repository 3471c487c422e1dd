/** A card a probe, four on a page, to be cut apart or kept together; the last page is filled up with spare ones. */
import type { PageLayout } from '../figure/layout.ts';
import type { RectMm } from '../figure/scene.ts';
import { fitSize, measureText, shortenText } from '../figure/text.ts';
import { CODE_SQUARE_MM, drawCodeSquare } from './code-square.ts';
import { FRAME, type Pen, RULE } from './pen.ts';
import type { FieldSheetInput, SheetProbe } from './sheet-model.ts';
import { depthText, placeText, sheetUnits } from './sheet-words.ts';

const ACROSS = 2;
const DOWN = 2;
const GAP_MM = 4;
const NAME_MM = CODE_SQUARE_MM + 2.6;
const TICK_ROW_MM = 6.5;
const INSET_MM = 2;

export function countCardPages(input: FieldSheetInput): number {
  return Math.ceil(input.probes.length / (ACROSS * DOWN));
}

export function drawCardPage(pen: Pen, input: FieldSheetInput, layout: PageLayout, page: number): void {
  const { body } = layout;
  const widthMm = (body.widthMm - (ACROSS - 1) * GAP_MM) / ACROSS;
  const heightMm = (body.heightMm - (DOWN - 1) * GAP_MM) / DOWN;
  for (let i = 0; i < ACROSS * DOWN; i++) {
    const number = page * ACROSS * DOWN + i;
    const probe = input.probes[number] ?? null;
    const rect = {
      xMm: body.xMm + (i % ACROSS) * (widthMm + GAP_MM),
      yMm: body.yMm + Math.floor(i / ACROSS) * (heightMm + GAP_MM),
      widthMm,
      heightMm,
    };
    drawCard(pen, input, rect, probe, number + 1);
  }
}

function drawCard(
  pen: Pen,
  input: FieldSheetInput,
  rect: RectMm,
  probe: SheetProbe | null,
  stop: number,
): void {
  pen.box(rect, { stroke: FRAME });
  if (probe === null) drawSpareName(pen, rect);
  else drawName(pen, input, rect, probe, stop);
  const { length, suction, volume, flow } = sheetUnits(input.frame);
  const inner = { xMm: rect.xMm + INSET_MM, widthMm: rect.widthMm - 2 * INSET_MM };
  const topMm = rect.yMm + NAME_MM;
  const depthLabel =
    probe === null ? 'Depth reached' : `Depth reached (plan ${depthText(probe.depthM, input.frame)})`;
  const rows = 7;
  const rowMm = (rect.heightMm - NAME_MM - 3 * TICK_ROW_MM - INSET_MM) / rows;
  let y = topMm;
  const tickRow = (labels: readonly string[]) => {
    pen.tickRow(labels, inner.xMm, y + TICK_ROW_MM / 2, inner.widthMm, 7.5);
    y += TICK_ROW_MM;
  };
  const row = (parts: readonly (readonly [string, string, number])[], high = 1) => {
    pen.cells({ ...inner, yMm: y, heightMm: rowMm * high }, parts);
    y += rowMm * high;
  };
  tickRow(['driven', 'refused', 'abandoned', 'water seen', 'tight']);
  row([
    [depthLabel, length, 1.3],
    ['As driven, off plan: east', length, 1],
    ['north', length, 0.8],
  ]);
  row([
    ['Start (time)', '', 1],
    ['End (time)', '', 1],
    ['Instrument', '', 1],
  ]);
  row([
    ['Pumped', volume, 1],
    ['Suction', suction, 1],
    ['Flow', flow, 1],
    ['O2', '%', 0.75],
    ['CO2', '%', 0.75],
  ]);
  tickRow(['fresh tape', 'leak check held', 'purged', 'dryer good']);
  tickRow(['grab', 'duplicate', 'repeat', 'blank', 'control']);
  row(Array.from({ length: 4 }, (_, i) => [i === 0 ? 'Readings: 1' : String(i + 1), '', 1] as const));
  row([5, 6, 7, 8].map((n) => [String(n), '', 1] as const));
  row([
    [`Value (${input.radonUnit})`, '', 1],
    ['Soil at this depth', '', 1.6],
  ]);
  row([['Remark', '', 1]]);
}

function drawName(pen: Pen, input: FieldSheetInput, rect: RectMm, probe: SheetProbe, stop: number): void {
  const left = rect.xMm + INSET_MM;
  const squareMm = rect.xMm + rect.widthMm - CODE_SQUARE_MM - 0.3;
  pen.nodes.push(drawCodeSquare(probe.code, squareMm, rect.yMm + 0.3));
  const right = squareMm - 0.5;
  const codePt = 13;
  const room = right - left - measureText(probe.code, 'semibold', codePt) - 4;
  const sizePt = fitSize(probe.label, 'semibold', 15, 8, room);
  pen.text(shortenText(probe.label, 'semibold', sizePt, room), left, rect.yMm + 7.4, {
    sizePt,
    face: 'semibold',
    role: 'label',
  });
  pen.text(probe.code, right, rect.yMm + 7.4, {
    sizePt: codePt,
    face: 'semibold',
    anchor: 'end',
    role: 'code',
  });
  const place = placeText(probe.native).join('   ');
  pen.text(`${place}  ${input.frame.unitLabel}`, left, rect.yMm + 13, { sizePt: 7.5, role: 'place' });
  pen.text(`stop ${stop} of ${input.probes.length}`, right, rect.yMm + 13, { sizePt: 7.5, anchor: 'end' });
  pen.line(rect.xMm, rect.yMm + NAME_MM - 2, rect.xMm + rect.widthMm, rect.yMm + NAME_MM - 2, RULE);
}

/** For a duplicate, a repeat, a blank, the control probe. */
function drawSpareName(pen: Pen, rect: RectMm): void {
  const inner = { xMm: rect.xMm + INSET_MM, widthMm: rect.widthMm - 2 * INSET_MM };
  pen.cells({ ...inner, yMm: rect.yMm + 1.5, heightMm: NAME_MM - 5 }, [
    ['Probe', '', 1],
    ['Code', '', 1],
  ]);
}
