/** One row a probe, to be filled in on the way. */
import type { PageLayout } from '../figure/layout.ts';
import type { RectMm } from '../figure/scene.ts';
import { fitSize, measureText, shortenText, wrapText } from '../figure/text.ts';
import { FRAME, type Pen, TINT } from './pen.ts';
import type { FieldSheetInput, SheetProbe } from './sheet-model.ts';
import { depthText, placeText, sheetUnits } from './sheet-words.ts';

/** A little over the least, so that two lines of print and a line of handwriting fit. */
const ROW_MM = 10;
const HEAD_MM = 11;
const KEY_MM = 7;
const LETTER_BOX_MM = 4.1;
/** Rows without a probe at the end: duplicates, repeats, blanks, the control probe. */
const LEAST_SPARE_ROWS = 4;

interface ListColumn {
  readonly heads: readonly string[];
  readonly share: number;
  readonly draw?: (pen: Pen, cell: RectMm, probe: SheetProbe | null, input: FieldSheetInput) => void;
}

function columnsOf(input: FieldSheetInput): ListColumn[] {
  const { length, suction, volume, flow } = sheetUnits(input.frame);
  return [
    { heads: ['Probe', 'code'], share: 31, draw: drawName },
    { heads: ['Planned place', input.frame.unitLabel], share: 20, draw: drawPlace },
    { heads: ['Driven, refused,', 'abandoned'], share: 18, draw: ticks([['D', 'R', 'A']]) },
    { heads: ['As driven, off', `plan: E, N (${length})`], share: 20 },
    { heads: ['Depth', `(${length})`], share: 14, draw: drawDepth },
    { heads: ['Start', '(time)'], share: 12 },
    { heads: ['End', '(time)'], share: 12 },
    { heads: ['Pumped', `(${volume})`], share: 12 },
    { heads: ['Suction', `(${suction})`], share: 13 },
    { heads: ['Flow', `(${flow})`], share: 12 },
    { heads: ['O2', '(%)'], share: 9.5 },
    { heads: ['CO2', '(%)'], share: 9.5 },
    { heads: ['Instru-', 'ment'], share: 12 },
    { heads: ['Water,', 'tight'], share: 10, draw: ticks([['W'], ['T']]) },
    {
      heads: ['Tape, leak,', 'purge, dryer'],
      share: 14.5,
      draw: ticks([
        ['F', 'L'],
        ['P', 'G'],
      ]),
    },
    { heads: ['Readings by interval,', `or value (${input.radonUnit})`], share: 32 },
    { heads: ['Remark,', 'soil'], share: 24 },
  ];
}

/** Pages that hold all probes and a few rows to spare. */
export function countListPages(input: FieldSheetInput, layout: PageLayout): number {
  return Math.ceil((input.probes.length + LEAST_SPARE_ROWS) / rowsOn(layout));
}

function rowsOn(layout: PageLayout): number {
  return Math.floor((layout.body.heightMm - HEAD_MM - KEY_MM) / ROW_MM);
}

export function drawListPage(pen: Pen, input: FieldSheetInput, layout: PageLayout, page: number): void {
  const { body } = layout;
  const rows = rowsOn(layout);
  const rowMm = (body.heightMm - HEAD_MM - KEY_MM) / rows;
  const columns = columnsOf(input);
  const all = columns.reduce((sum, c) => sum + c.share, 0);
  let xMm = body.xMm;
  const places = columns.map((column) => {
    const widthMm = (body.widthMm * column.share) / all;
    const place = { column, xMm, widthMm };
    xMm += widthMm;
    return place;
  });
  const topMm = body.yMm + HEAD_MM;
  const bottomMm = topMm + rows * rowMm;
  pen.box({ ...body, heightMm: HEAD_MM }, { fill: TINT });
  for (const { column, xMm: left, widthMm } of places) {
    column.heads.forEach((head, i) => {
      const sizePt = fitSize(head, 'semibold', 7, 5.2, widthMm - 1.4);
      pen.text(head, left + 0.8, body.yMm + 4.3 + 3.6 * i, {
        sizePt,
        face: i === 0 ? 'semibold' : 'regular',
      });
    });
    if (left > body.xMm) pen.line(left, body.yMm, left, bottomMm);
  }
  for (let i = 0; i < rows; i++) {
    const probe = input.probes[page * rows + i] ?? null;
    const yMm = topMm + i * rowMm;
    if (i > 0) pen.line(body.xMm, yMm, body.xMm + body.widthMm, yMm);
    for (const { column, xMm: left, widthMm } of places)
      column.draw?.(pen, { xMm: left, yMm, widthMm, heightMm: rowMm }, probe, input);
  }
  pen.line(body.xMm, topMm, body.xMm + body.widthMm, topMm, FRAME);
  pen.box({ ...body, heightMm: bottomMm - body.yMm }, { stroke: FRAME });
  KEY.forEach((line, i) => {
    pen.text(line, body.xMm, bottomMm + 3.4 + 3 * i, { sizePt: 6.8 });
  });
}

const KEY: readonly string[] = [
  'No cross: still planned.  D driven, R refused, A abandoned.  W water seen, T tight ground: then no value.  F fresh tape, L leak check held, P purged, G dryer good.',
  'Duplicates, repeats, blanks and the control probe: a free row, with the code of the probe and what it is.',
];

function drawName(pen: Pen, cell: RectMm, probe: SheetProbe | null): void {
  if (probe === null) return;
  const room = cell.widthMm - 1.6;
  const left = cell.xMm + 0.8;
  const codeMm = cell.yMm + cell.heightMm - 1.6;
  pen.text(probe.code, left, codeMm, { sizePt: 8.5, face: 'semibold', role: 'code' });
  const sizePt = fitSize(probe.label, 'semibold', 10.5, 7.5, room);
  if (measureText(probe.label, 'semibold', sizePt) <= room) {
    pen.text(probe.label, left, cell.yMm + 4.4, { sizePt, face: 'semibold', role: 'label' });
    return;
  }
  const [first = '', ...rest] = wrapText(probe.label, 'semibold', 6.5, room);
  pen.text(first, left, cell.yMm + 2.7, { sizePt: 6.5, face: 'semibold', role: 'label' });
  const second = shortenText(rest.join(' '), 'semibold', 6.5, room);
  pen.text(second, left, cell.yMm + 5.3, { sizePt: 6.5, face: 'semibold', role: 'label' });
}

function drawPlace(pen: Pen, cell: RectMm, probe: SheetProbe | null): void {
  if (probe === null) return;
  placeText(probe.native).forEach((text, i) => {
    const sizePt = fitSize(text, 'regular', 7.2, 5.5, cell.widthMm - 1.4);
    pen.text(text, cell.xMm + 0.8, cell.yMm + 4.2 + 3.6 * i, { sizePt, role: 'place' });
  });
}

function drawDepth(pen: Pen, cell: RectMm, probe: SheetProbe | null, input: FieldSheetInput): void {
  if (probe === null) return;
  pen.text(`plan ${depthText(probe.depthM, input.frame)}`, cell.xMm + 0.6, cell.yMm + 2.5, { sizePt: 5.4 });
}

function ticks(rows: readonly (readonly string[])[]): NonNullable<ListColumn['draw']> {
  return (pen, cell) => {
    rows.forEach((row, r) => {
      const middle = cell.yMm + (cell.heightMm * (r + 0.5)) / rows.length;
      const stepMm = cell.widthMm / row.length;
      row.forEach((letter, i) => {
        pen.letterBox(letter, cell.xMm + (i + 0.5) * stepMm, middle, LETTER_BOX_MM);
      });
    });
  };
}
